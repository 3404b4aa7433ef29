//! Strata: ground that is probed and judged apart from the rest of the field, such as headlands and haul
//! lanes (Univ. of Kentucky extension on probing compacted fields: entrances, lanes and end rows are
//! sampled apart). Readings of one stratum say nothing about another.

use geo::{Coord, MapCoords, MultiPolygon, Polygon};
use survey::{Depth, EastNorth, Field, LonLat, Spot};

use crate::areas::areas_of_cells_m2;
use crate::cut::CutField;
use crate::error::MappingError;
use crate::grid_labels::{self, GridLabels, NO_AREA};
use crate::method::Method;
use crate::patches::{Ground, Patches, StratumClass};
use crate::settings::MapSettings;
use crate::zones::smallest_double_um2;

/// The most strata of one field.
pub const MOST_STRATA: usize = 50;

/// The stratum of the rest of the field.
pub(crate) const MAIN: u8 = 0;

/// A part of a stratum as a file gives it. Parts of one name make one stratum; where parts of two
/// strata overlap, the ground belongs to the earlier part.
#[derive(Debug, Clone, PartialEq)]
pub struct StratumPart {
    /// The stratum's name.
    pub name: String,
    /// Rings in degrees, longitude first.
    pub polygons: MultiPolygon,
}

/// What was found in one stratum.
#[derive(Debug, Clone, PartialEq)]
pub struct StratumMap {
    /// Its name.
    pub name: String,
    /// True area on the ground, square metres: cells by their middle, as far as they lie in the field,
    /// with scraps of main ground that it cuts off.
    pub ground_area_m2: f64,
    /// Its spots.
    pub probed: Probed,
    /// How its surface was made from its own spots; `None` without any, when it has no value.
    pub method: Option<Method>,
}

/// Spots of some ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probed {
    /// How many spots have a reading.
    pub spots: usize,
    /// How many of them did not reach the threshold.
    pub not_reached: usize,
    /// Mean of the readings, "not reached" as its lower bound; `None` without any.
    pub mean_at_least: Option<Depth>,
}

impl Probed {
    /// What some spots come to.
    pub fn of<'a>(spots: impl Iterator<Item = &'a Spot> + Clone) -> Probed {
        let count = spots.clone().count();
        let sum_m: f64 = spots.clone().map(|spot| spot.reading.at_least().m()).sum();
        Probed {
            spots: count,
            not_reached: spots.filter(|spot| spot.reading.is_not_reached()).count(),
            mean_at_least: (count > 0).then(|| Depth::from_m(sum_m / count as f64)),
        }
    }
}

/// The strata of a field on its grid.
#[derive(Debug, Clone, Default)]
pub(crate) struct Strata {
    names: Vec<String>,
    parts: Vec<(u16, Polygon)>,
    /// Of each cell; empty where the field has no strata.
    of_cell: Vec<u8>,
    /// True area on the ground, square metres, of the main ground and of each.
    areas_m2: Vec<f64>,
    /// What is odd about them.
    pub notes: Vec<String>,
}

impl Strata {
    /// Brings strata into the field's plane and onto its grid.
    pub fn new(
        settings: &MapSettings,
        field: &Field,
        cut: &CutField,
    ) -> Result<Self, MappingError> {
        let (parts, units) = (&settings.strata, settings.classes.units());
        let grid = cut.grid();
        let mut strata = Strata::default();
        if parts.is_empty() {
            return Ok(strata);
        }
        for part in parts {
            strata.take(part, field)?;
        }
        let areas: Vec<(u16, &Polygon)> =
            strata.parts.iter().map(|(label, polygon)| (*label, polygon)).collect();
        let GridLabels { of_cell, lost_to_earlier } =
            grid_labels::label(grid, strata.names.len(), &areas);
        strata.of_cell = of_cell.into_iter().map(|label| label as u8).collect();
        for (name, cells) in strata.names.iter().zip(lost_to_earlier) {
            if cells > 0 {
                let area = units.area(cells as f64 * grid.cell_m() * grid.cell_m());
                strata.notes.push(format!(
                    "stratum {name:?} overlaps others on {area:.2} {}, which belong to those that stand \
                     earlier in the file",
                    units.area_unit()
                ));
            }
        }
        strata.give_away_scraps(settings, field, cut);
        strata.measure(field, cut)?;
        Ok(strata)
    }

    /// Main ground that strata cut off from the rest, and that is too small for a zone, goes to the stratum
    /// beside it: a stratum drawn by hand never follows the field's outline to the last metre.
    fn give_away_scraps(&mut self, settings: &MapSettings, field: &Field, cut: &CutField) {
        let ground: Vec<Ground> = (0..self.of_cell.len())
            .map(|cell| match cut.is_in_field(cell) {
                true => Ground::Class(StratumClass { stratum: MAIN, class: self.of_cell[cell] }),
                false => Ground::OutsideField,
            })
            .collect();
        let smallest_m2 = settings.zones.smallest_of(field.ground_area_m2());
        let joined = Patches::new(cut, &ground, smallest_double_um2(field, smallest_m2));
        for (stratum, patch) in self.of_cell.iter_mut().zip(&joined.of_cell) {
            let beside = patch.map(|patch| joined.ground[patch as usize]);
            if let (MAIN, Some(Ground::Class(beside))) = (*stratum, beside) {
                *stratum = beside.class;
            }
        }
    }

    fn measure(&mut self, field: &Field, cut: &CutField) -> Result<(), MappingError> {
        let labels = self.of_cell.iter().map(|&label| usize::from(label)).enumerate();
        self.areas_m2 = areas_of_cells_m2(cut, field, self.names.len() + 1, labels);
        if self.areas_m2[1..].iter().all(|&area_m2| area_m2 == 0.0) {
            return Err(MappingError::StrataElsewhere);
        }
        Ok(())
    }

    fn take(&mut self, part: &StratumPart, field: &Field) -> Result<(), MappingError> {
        let wrong = |problem| MappingError::Stratum { name: part.name.clone(), problem };
        let project = |Coord { x, y }| {
            let place = LonLat { lon_deg: x, lat_deg: y };
            field.utm().project(place).map(Coord::from).map_err(|error| wrong(error.to_string()))
        };
        let polygons = part.polygons.try_map_coords(project)?;
        let known = self.names.iter().position(|name| *name == part.name);
        let number = known.unwrap_or(self.names.len());
        if number == MOST_STRATA {
            return Err(MappingError::TooManyStrata { most: MOST_STRATA });
        }
        if known.is_none() {
            self.names.push(part.name.clone());
        }
        let label = number as u16 + 1;
        self.parts.extend(polygons.into_iter().map(|polygon| (label, polygon)));
        Ok(())
    }

    /// Whether there is none: all ground is main ground.
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// Their names; the first is stratum 1.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// True area on the ground of a stratum, square metres, by its number from 1.
    pub fn area_m2(&self, stratum: usize) -> f64 {
        self.areas_m2[stratum]
    }

    /// The stratum of a cell, [`MAIN`] or its number from 1.
    pub fn of_cell(&self, cell: usize) -> u8 {
        self.of_cell.get(cell).copied().unwrap_or(MAIN)
    }

    /// The stratum of a place.
    pub fn of_place(&self, place: EastNorth) -> u8 {
        match grid_labels::label_at(place, &self.parts) {
            NO_AREA => MAIN,
            label => label as u8,
        }
    }

    /// The name of a stratum; `None` of the main ground.
    pub fn name(&self, stratum: u8) -> Option<&str> {
        usize::from(stratum).checked_sub(1).map(|k| self.names[k].as_str())
    }
}
