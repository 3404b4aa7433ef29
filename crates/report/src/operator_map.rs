//! The map of the operator's sheet: each part in the colour of its treatment, with what to set there.

use geo::BoundingRect;
use plan::{Part, Plan};

use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;
use crate::label_point::{is_inside, roomiest};
use crate::labels::{Taken, around};
use crate::operator_sheet::ground;
use crate::outline;
use crate::palette::{HAIRLINE, INK, PAPER, Rgb, SOFT_INK, SURROUNDINGS, ink_on};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::treatment::{Treatment, short_doses};
use crate::view::View;
use crate::{compass, scale_bar};

/// Id of the pattern of check strips.
pub(crate) const CHECK: &str = "check-strip";
/// Sizes of a part's dose, the largest that fits into it.
const DOSE: [f64; 5] = [46.0, 38.0, 32.0, 26.0, 22.0];
/// A zone's id over its dose.
const ID: f64 = 0.62;
/// Height of the strip inside the frame for the scale bar and the arrow.
const STRIP: f64 = 88.0;

/// The pattern [`CHECK`]: dark bars, which no other ground has.
pub(crate) fn check_pattern() -> String {
    format!(
        "<pattern id=\"{CHECK}\" width=\"14\" height=\"14\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"14\" height=\"14\" fill=\"{PAPER}\"/>\
         <rect width=\"5\" height=\"14\" fill=\"{SOFT_INK}\"/></pattern>"
    )
}

/// Draws the map with its frame into a rectangle.
pub(crate) fn draw(svg: &mut Svg, plan: &Plan, treatments: &[Treatment], place: Rect) {
    svg.rect(place, Paint::fill(SURROUNDINGS));
    let ground = ground(plan);
    if ground.bounding_rect().is_some() {
        let view = View::fit(&ground, place.trim(24.0, 24.0, 24.0, STRIP));
        draw_ground(svg, plan, treatments, &view);
        draw_labels(svg, plan, treatments, &view, place);
        let foot = place.bottom() - 18.0;
        scale_bar::draw(svg, (place.left + 26.0, foot), place.width * 0.3, view.scale, plan.units);
        compass::draw(svg, (place.right() - 34.0, foot), plan.utm, view.in_plane(place.middle()));
    }
    svg.rect(place, Paint::stroke(HAIRLINE, 1.6));
}

fn draw_ground(svg: &mut Svg, plan: &Plan, treatments: &[Treatment], view: &View) {
    for treatment in treatments {
        for &number in &treatment.parts {
            let path = outline::path(&outline::rings(&plan.parts[number].polygons, view));
            let paint = match treatment.is_check {
                true => Paint::pattern(CHECK),
                false => Paint::fill(treatment.colour),
            };
            svg.path(&path, paint.edge(INK, 2.2));
        }
    }
}

fn draw_labels(svg: &mut Svg, plan: &Plan, treatments: &[Treatment], view: &View, frame: Rect) {
    let mut taken = Taken::new(frame.trim(3.0, 3.0, 3.0, STRIP - 12.0));
    for treatment in treatments.iter().filter(|treatment| !treatment.is_check) {
        for &number in &treatment.parts {
            let part = &plan.parts[number];
            // Of a zone that check strips part, each piece large enough says what to set.
            for polygon in &part.polygons {
                let piece = geo::MultiPolygon(vec![polygon.clone()]);
                let rings = outline::rings(&piece, view);
                let Some(room) = roomiest(&rings, &[]) else { continue };
                let lines = lines_of(plan, part);
                let place =
                    LabelPlace { at: (room.x, room.y), rings: &rings, ground: treatment.colour };
                // Where there is no room for all of it, the zone alone.
                let drawn = draw_label(svg, &lines, &place, &mut taken);
                if !drawn {
                    draw_label(svg, &lines[lines.len() - 1..], &place, &mut taken);
                }
            }
        }
    }
}

/// Where a label may stand.
struct LabelPlace<'a> {
    /// Its middle.
    at: (f64, f64),
    /// The ground that it must lie in.
    rings: &'a [Vec<(f64, f64)>],
    ground: Rgb,
}

/// What stands in a part: its doses, then its zone.
fn lines_of(plan: &Plan, part: &Part) -> Vec<String> {
    let mut lines = short_doses(part, plan.units);
    let mark = if part.few_probes { "*" } else { "" };
    lines.push(format!("{}{mark}", part.zone_id));
    lines
}

/// Draws a label in the largest size that fits, and tells whether one does.
fn draw_label(svg: &mut Svg, lines: &[String], place: &LabelPlace, taken: &mut Taken) -> bool {
    let (ink, halo) = ink_on(place.ground);
    let (x, y) = place.at;
    let dosed = lines.len() > 1;
    for size in DOSE {
        let sized = |k: usize| match k + 1 == lines.len() {
            true => (size * if dosed { ID } else { 0.8 }, Weight::Regular),
            false => (size, Weight::SemiBold),
        };
        let width = (0..lines.len())
            .map(|k| fonts::width(&lines[k], sized(k).0, sized(k).1))
            .fold(0.0, f64::max);
        let height: f64 = (0..lines.len()).map(|k| sized(k).0 * 1.12).sum();
        let rect = around((x, y), width + 14.0, height + 10.0);
        let fits = rect.corners().into_iter().all(|corner| is_inside(place.rings, corner));
        if fits && taken.take_if_free(rect) {
            let mut base = y - height / 2.0;
            for (k, line) in lines.iter().enumerate() {
                let (size, weight) = sized(k);
                base += size * 1.12;
                let style = match weight {
                    Weight::SemiBold => Type::semi_bold(size),
                    Weight::Regular => Type::regular(size),
                };
                let foot = (x, base - size * (1.12 - CAP_HEIGHT) / 2.0);
                svg.text(line, foot, style.colour(ink).halo(halo, 3.0).anchor(Anchor::Middle));
            }
            return true;
        }
    }
    false
}
