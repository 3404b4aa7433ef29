//! How zones are drawn from the classes of a surface.

use geo::BoundingRect;
use survey::Field;

use crate::error::MappingError;
use crate::narrow::{LONG_IN_WIDTHS, Narrowest};
use crate::zone_frame::field_in_frame;
use crate::zone_ids::EarlierZone;

/// Settings of the zones. `None` lets the field decide, by the rule stated, or leaves the rule out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ZoneSettings {
    /// Patches of less ground than this join a neighbour, square metres; 0 keeps every patch; `None`
    /// is [`SMALLEST_ZONE_M2`], or [`SMALLEST_ZONE_SHARE`] of the field where that is less.
    pub smallest_m2: Option<f64>,
    /// Width of one pass of the machine, metres.
    pub swath_m: Option<f64>,
    /// Ground of a zone narrower than this goes to its neighbours, metres; 0 leaves the rule out; `None` is
    /// [`PASSES_OF_NARROWEST`] swaths, and leaves it out without a swath.
    pub narrowest_m: Option<f64>,
    /// Direction of the passes, degrees clockwise from north, 0 to 360: zones are drawn along it.
    pub heading_deg: Option<f64>,
    /// Side of the cells that zones are made of, metres, rounded to a tenth of a millimetre; `None` is the
    /// map's.
    pub cells_m: Option<f64>,
    /// While there are more zones than this, the smallest joins a neighbour.
    pub most: Option<usize>,
    /// Zones of an earlier visit, whose ids this map's zones keep: see
    /// [`KeptIds`](crate::KeptIds). Empty gives ids anew.
    pub earlier: Vec<EarlierZone>,
    /// How far borders may leave the edges of the cells, metres: they are smoothed within that; 0 keeps
    /// them along the cells; `None` is the side of a cell, or 0 with [`ZoneSettings::cells_m`].
    pub border_tolerance_m: Option<f64>,
}

/// Ground of the smallest zone: 0.1 ha, about a quarter of an acre, a few machine widths square
/// (common practice: smaller specks cannot be worked apart).
pub const SMALLEST_ZONE_M2: f64 = 1_000.0;

/// The narrowest zone in passes of the machine (common practice: one pass cannot be steered apart).
pub const PASSES_OF_NARROWEST: f64 = 2.0;

/// More zones than this cause trouble: three to seven are good, ten to twelve are not (a published
/// conference study).
pub const GOOD_ZONES: usize = 7;

/// Share of a small field that is the least a zone may have.
pub const SMALLEST_ZONE_SHARE: f64 = 0.01;

/// Borders may leave the edges of cells by no more than this many sides of a cell.
pub const MOST_BORDER_TOLERANCE_CELLS: f64 = 20.0;

/// The settings for one field.
pub(crate) struct ZoneRules {
    pub smallest_m2: f64,
    pub narrowest: Option<Narrowest>,
    pub heading_deg: Option<f64>,
    pub cells_m: Option<f64>,
    pub most: Option<usize>,
    pub border_tolerance_m: Option<f64>,
}

impl ZoneSettings {
    /// The rules for a field.
    ///
    /// # Errors
    /// When a setting means nothing, or nothing in the field.
    pub(crate) fn rules(&self, field: &Field) -> Result<ZoneRules, MappingError> {
        let smallest_m2 = self.smallest_of(field.ground_area_m2());
        if smallest_m2.is_nan() || smallest_m2 < 0.0 {
            return Err(MappingError::SmallestZone { area_m2: smallest_m2 });
        }
        if let Some(heading_deg) = self.heading_deg.filter(|deg| !(0.0..=360.0).contains(deg)) {
            return Err(MappingError::Heading { heading_deg });
        }
        if self.most == Some(0) {
            return Err(MappingError::NoZones);
        }
        Ok(ZoneRules {
            smallest_m2,
            narrowest: self.narrowest(field)?,
            heading_deg: self.heading_deg,
            cells_m: self.cells_of(field)?,
            most: self.most,
            border_tolerance_m: self.border_tolerance_m,
        })
    }

    /// The smallest zone of a field of so much ground: see [`ZoneSettings::smallest_m2`].
    pub(crate) fn smallest_of(&self, field_area_m2: f64) -> f64 {
        let usual = SMALLEST_ZONE_M2.min(SMALLEST_ZONE_SHARE * field_area_m2);
        self.smallest_m2.unwrap_or(usual)
    }

    /// The narrowest zone of a field, across its passes and, with a heading, along them.
    fn narrowest(&self, field: &Field) -> Result<Option<Narrowest>, MappingError> {
        let sound = |width_m: f64| width_m.is_finite() && width_m >= 0.0;
        if let Some(width_m) = self.swath_m.filter(|m| !sound(*m) || *m == 0.0) {
            return Err(MappingError::Swath { width_m });
        }
        let passes = self.swath_m.map(|swath_m| PASSES_OF_NARROWEST * swath_m);
        let Some(width_m) = self.narrowest_m.or(passes) else { return Ok(None) };
        if !sound(width_m) {
            return Err(MappingError::Narrowest { width_m });
        }
        let polygons = field_in_frame(field, self.heading_deg);
        let frame = polygons.bounding_rect().expect("a field has ground");
        let field_m = match self.heading_deg {
            None => frame.width().min(frame.height()),
            Some(_) => frame.width(),
        };
        if width_m > field_m {
            return Err(MappingError::NarrowestBeyondField { width_m, field_m });
        }
        // In a field shorter than that, zones may still run from end to end.
        let length_m = (f64::from(LONG_IN_WIDTHS) * width_m).min(frame.height());
        let length_m = self.heading_deg.map(|_| length_m);
        Ok((width_m > 0.0).then_some(Narrowest { width_m, length_m }))
    }

    fn cells_of(&self, field: &Field) -> Result<Option<f64>, MappingError> {
        let Some(cells_m) = self.cells_m else { return Ok(None) };
        let frame = field.polygons().bounding_rect().expect("a field has ground");
        let field_m = frame.width().max(frame.height());
        match (LEAST_ZONE_CELL_M..=field_m).contains(&cells_m) {
            // Whole tenths of a millimetre: whole feet and inches stay what they are.
            true => Ok(Some((cells_m * 1e4).round() / 1e4)),
            false => Err(MappingError::ZoneCells { cells_m, least_m: LEAST_ZONE_CELL_M, field_m }),
        }
    }
}

/// Least side of a zone's cell, metres.
const LEAST_ZONE_CELL_M: f64 = 0.1;

impl ZoneRules {
    /// Squares smaller than the map's cells would have the mean of no cell.
    ///
    /// # Errors
    /// When zones are asked for in such squares.
    pub fn refuse_finer_than(&self, map_cell_m: f64, field: &Field) -> Result<(), MappingError> {
        let frame = field.polygons().bounding_rect().expect("a field has ground");
        match self.cells_m {
            Some(cells_m) if cells_m < map_cell_m * (1.0 - 1e-9) => Err(MappingError::ZoneCells {
                cells_m,
                least_m: map_cell_m,
                field_m: frame.width().max(frame.height()),
            }),
            _ => Ok(()),
        }
    }

    /// How far borders may move from the edges of cells of such a side, metres.
    ///
    /// # Errors
    /// When that is less than nothing or more than [`MOST_BORDER_TOLERANCE_CELLS`].
    pub fn border_tolerance_of(&self, cell_m: f64) -> Result<f64, MappingError> {
        // Zones of cells of their own are to follow those.
        let usual_m = if self.cells_m.is_some() { 0.0 } else { cell_m };
        let tolerance_m = self.border_tolerance_m.unwrap_or(usual_m);
        let most_m = MOST_BORDER_TOLERANCE_CELLS * cell_m;
        match (0.0..=most_m).contains(&tolerance_m) {
            true => Ok(tolerance_m),
            false => Err(MappingError::BorderTolerance { tolerance_m, most_m, cell_m }),
        }
    }
}
