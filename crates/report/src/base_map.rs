//! What all maps of a field share: frame, graticule, outline, scale bar and north arrow.

use survey::{Field, UnitSystem};

use crate::frame::Rect;
use crate::labels::Taken;
use crate::outline;
use crate::palette::{HAIRLINE, HATCH, INK, PAPER, SURROUNDINGS};
use crate::svg::{Paint, Svg};
use crate::view::View;
use crate::{compass, graticule, scale_bar};

/// Id of the pattern of ground without a value; legends use it too.
pub(crate) const NO_VALUE: &str = "no-value";
/// Id of the clip path of the field on the map.
pub(crate) const FIELD: &str = "field-on-map";

/// Height of the strip inside the frame that the scale bar and the arrow stand in.
const STRIP: f64 = 92.0;

/// A field in its frame.
pub(crate) struct BaseMap<'a> {
    field: &'a Field,
    units: UnitSystem,
    frame: Rect,
    /// From the field to the page.
    pub view: View,
    /// The field's outline on the page.
    pub outline: Vec<Vec<(f64, f64)>>,
}

impl<'a> BaseMap<'a> {
    /// The field as large as it fits into a rectangle, with its frame and labels around it.
    pub fn new(field: &'a Field, units: UnitSystem, place: Rect) -> Self {
        let frame = place.trim(graticule::MARGIN, 0.0, 0.0, graticule::MARGIN);
        let view = View::fit(field.polygons(), frame.trim(26.0, 26.0, 26.0, STRIP));
        let outline = outline::rings(field.polygons(), &view);
        BaseMap { field, units, frame, view, outline }
    }

    /// Draws what lies below the field, and defines the clip path [`FIELD`].
    pub fn draw_below(&self, svg: &mut Svg) {
        svg.rect(self.frame, Paint::fill(SURROUNDINGS));
        graticule::draw(svg, self.frame, &self.view, self.field.utm());
        let field = outline::path(&self.outline);
        svg.raw(&format!(
            r#"<clipPath id="{FIELD}"><path d="{field}" clip-rule="evenodd"/></clipPath>"#
        ));
    }

    /// Draws what lies over the field.
    pub fn draw_above(&self, svg: &mut Svg) {
        svg.path(&outline::path(&self.outline), Paint::stroke(INK, 3.4));
        svg.rect(self.frame, Paint::stroke(HAIRLINE, 1.6));
        let foot = self.frame.bottom() - 16.0;
        let room = (self.frame.width * 0.3).min(340.0);
        let left = (self.frame.left + 26.0, foot);
        scale_bar::draw(svg, left, room, self.view.scale, self.units);
        let middle = self.view.in_plane(self.frame.middle());
        let right = (self.frame.right() - 30.0, foot);
        compass::draw(svg, right, self.field.utm(), middle);
    }

    /// The ground that labels may take.
    pub fn free_ground(&self) -> Taken {
        Taken::new(self.frame.trim(3.0, 3.0, 3.0, STRIP - 12.0))
    }
}

/// The pattern [`NO_VALUE`].
pub(crate) fn hatch_pattern() -> String {
    format!(
        "<pattern id=\"{NO_VALUE}\" width=\"11\" height=\"11\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"11\" height=\"11\" fill=\"{PAPER}\"/>\
         <rect width=\"2.2\" height=\"11\" fill=\"{HATCH}\"/></pattern>"
    )
}
