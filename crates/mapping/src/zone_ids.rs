//! Ids that zones keep from one visit to the next.
//!
//! A zone takes the id of the earlier zone it shares most ground with, if that is at least half of the
//! smaller of the two. Ground is counted in cells of the map whose middle lies in the field. The greatest
//! shared ground is settled first, each id goes to one zone, and zones without an earlier one get numbers
//! above the highest.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Coord, MapCoords, MultiPolygon, Polygon};
use survey::{Field, LonLat};

use crate::cut::CutField;
use crate::error::MappingError;
use crate::grid_labels::{self, NO_AREA};
use crate::zone_members::ZoneMembers;
use crate::zones::Zone;

/// The most zones of an earlier visit that are compared.
pub const MOST_EARLIER_ZONES: usize = 10_000;

/// A zone of an earlier visit.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierZone {
    /// Its id, one of a kind.
    pub id: String,
    /// Rings in degrees, longitude first.
    pub polygons: MultiPolygon,
}

/// What became of the ids of an earlier visit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct KeptIds {
    /// Ids that a zone of this map has too, in the map's order.
    pub kept: Vec<String>,
    /// Ids of zones that were none before, in the map's order.
    pub new: Vec<String>,
    /// Earlier ids that no zone has now, in the earlier file's order.
    pub gone: Vec<String>,
}

/// Gives zones the ids they had on an earlier visit.
pub(crate) fn keep(
    zones: &mut [Zone],
    earlier: &[EarlierZone],
    members: &ZoneMembers,
    cut: &CutField,
    field: &Field,
) -> Result<KeptIds, MappingError> {
    if earlier.len() > MOST_EARLIER_ZONES {
        return Err(MappingError::TooManyEarlierZones { most: MOST_EARLIER_ZONES });
    }
    let ground = shared_ground(zones.len(), earlier, members, cut, field)?;
    if ground.of_earlier.iter().all(|&cells| cells == 0) {
        return Err(MappingError::EarlierZonesElsewhere);
    }
    let matches = matched(&ground);
    let mut numbers = Numbers::above(earlier);
    let mut ids = KeptIds::default();
    for (zone, earlier_zone) in zones.iter_mut().zip(&matches) {
        let (id, list) = match earlier_zone {
            Some(k) => (earlier[*k].id.clone(), &mut ids.kept),
            None => (numbers.next(), &mut ids.new),
        };
        list.push(id.clone());
        zone.id = id;
    }
    let taken: BTreeSet<usize> = matches.into_iter().flatten().collect();
    let is_gone = |(k, _): &(usize, &EarlierZone)| !taken.contains(k);
    ids.gone =
        earlier.iter().enumerate().filter(is_gone).map(|(_, zone)| zone.id.clone()).collect();
    Ok(ids)
}

/// Cells of zones, and cells that a zone shares with an earlier one.
struct SharedGround {
    of_zone: Vec<usize>,
    of_earlier: Vec<usize>,
    /// By zone and earlier zone.
    shared: BTreeMap<(usize, usize), usize>,
}

fn shared_ground(
    zones: usize,
    earlier: &[EarlierZone],
    members: &ZoneMembers,
    cut: &CutField,
    field: &Field,
) -> Result<SharedGround, MappingError> {
    let mut areas: Vec<(u16, Polygon)> = Vec::new();
    for (k, zone) in earlier.iter().enumerate() {
        let wrong = |problem| MappingError::EarlierZone { id: zone.id.clone(), problem };
        let polygons = zone.polygons.try_map_coords(|Coord { x, y }| {
            let place = LonLat { lon_deg: x, lat_deg: y };
            field.utm().project(place).map(Coord::from).map_err(|error| wrong(error.to_string()))
        })?;
        areas.extend(polygons.into_iter().map(|polygon| (k as u16 + 1, polygon)));
    }
    let areas: Vec<(u16, &Polygon)> = areas.iter().map(|(label, area)| (*label, area)).collect();
    let of_field: Vec<(u16, &Polygon)> = field.polygons().iter().map(|area| (1, area)).collect();
    let label = |count, areas: &[_]| grid_labels::label(cut.grid(), count, areas).of_cell;
    let (before, in_field) = (label(earlier.len(), &areas), label(1, &of_field));
    let mut ground = SharedGround {
        of_zone: vec![0; zones],
        of_earlier: vec![0; earlier.len()],
        shared: BTreeMap::new(),
    };
    for cell in (0..before.len()).filter(|&cell| in_field[cell] != NO_AREA) {
        let now = members.of_cell(cell);
        let then = usize::from(before[cell]).checked_sub(1);
        now.into_iter().for_each(|zone| ground.of_zone[zone] += 1);
        then.into_iter().for_each(|zone| ground.of_earlier[zone] += 1);
        if let (Some(now), Some(then)) = (now, then) {
            *ground.shared.entry((now, then)).or_default() += 1;
        }
    }
    Ok(ground)
}

/// The earlier zone of each zone: the greatest shared ground first, of equals the earlier pair.
fn matched(ground: &SharedGround) -> Vec<Option<usize>> {
    let mut pairs: Vec<(usize, (usize, usize))> =
        ground.shared.iter().map(|(&pair, &cells)| (cells, pair)).collect();
    pairs.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut matches = vec![None; ground.of_zone.len()];
    let mut is_taken = vec![false; ground.of_earlier.len()];
    for (cells, (now, then)) in pairs {
        let smaller = ground.of_zone[now].min(ground.of_earlier[then]);
        if matches[now].is_none() && !is_taken[then] && 2 * cells >= smaller {
            matches[now] = Some(then);
            is_taken[then] = true;
        }
    }
    matches
}

/// Ids that no earlier zone has: `Z` and a number above the highest.
struct Numbers<'a> {
    last: u64,
    taken: BTreeSet<&'a str>,
}

impl<'a> Numbers<'a> {
    fn above(earlier: &'a [EarlierZone]) -> Self {
        // A number of more digits is someone's own name.
        let number = |id: &str| {
            let digits = id.strip_prefix('Z')?;
            let is_number = digits.bytes().all(|byte| byte.is_ascii_digit());
            (is_number && digits.len() <= 9).then(|| digits.parse().ok())?
        };
        let ids = || earlier.iter().map(|zone| zone.id.as_str());
        Numbers { last: ids().filter_map(number).max().unwrap_or(0), taken: ids().collect() }
    }

    fn next(&mut self) -> String {
        loop {
            self.last += 1;
            let id = format!("Z{}", self.last);
            if !self.taken.contains(id.as_str()) {
                return id;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ground(
        of_zone: &[usize],
        of_earlier: &[usize],
        shared: &[(usize, usize, usize)],
    ) -> SharedGround {
        SharedGround {
            of_zone: of_zone.to_vec(),
            of_earlier: of_earlier.to_vec(),
            shared: shared.iter().map(|&(now, then, cells)| ((now, then), cells)).collect(),
        }
    }

    #[test]
    fn the_greatest_shared_ground_is_settled_first_and_an_id_goes_once() {
        // Zone 0 shares 30 with earlier 0, but zone 1 shares 60 with it; zone 0 falls back on earlier 1.
        let found = matched(&ground(&[50, 60], &[100, 40], &[(0, 0, 30), (0, 1, 20), (1, 0, 60)]));
        assert_eq!(found, [Some(1), Some(0)]);
    }

    #[test]
    fn half_of_the_smaller_is_enough_and_less_is_not() {
        assert_eq!(matched(&ground(&[100], &[40], &[(0, 0, 20)])), [Some(0)]);
        assert_eq!(matched(&ground(&[100], &[40], &[(0, 0, 19)])), [None]);
        assert_eq!(matched(&ground(&[40], &[1_000], &[(0, 0, 20)])), [Some(0)]);
    }

    /// A zone that parts in two: the larger part keeps the id. Two that join: the id of the larger stays.
    #[test]
    fn parted_and_joined_zones_keep_the_id_of_the_larger_part() {
        let parted = matched(&ground(&[30, 70], &[100], &[(0, 0, 30), (1, 0, 70)]));
        assert_eq!(parted, [None, Some(0)]);
        let joined = matched(&ground(&[100], &[30, 70], &[(0, 0, 30), (0, 1, 70)]));
        assert_eq!(joined, [Some(1)]);
    }

    #[test]
    fn of_equal_pairs_the_earlier_is_taken() {
        let found =
            matched(&ground(&[9, 9], &[9, 9], &[(0, 0, 5), (0, 1, 5), (1, 0, 5), (1, 1, 5)]));
        assert_eq!(found, [Some(0), Some(1)]);
    }

    #[test]
    fn new_numbers_stand_above_the_highest_and_never_meet_an_id() {
        let zone = |id: &str| EarlierZone { id: id.into(), polygons: MultiPolygon(vec![]) };
        let next = |ids: &[&str]| {
            let earlier: Vec<EarlierZone> = ids.iter().map(|id| zone(id)).collect();
            let mut numbers = Numbers::above(&earlier);
            [numbers.next(), numbers.next()]
        };
        assert_eq!(next(&["Z2", "Z10", "knoll", "Zx", "Z"]), ["Z11", "Z12"]);
        assert_eq!(next(&["knoll"]), ["Z1", "Z2"]);
        assert_eq!(next(&["Z999999999", "Z1000000000"]), ["Z1000000001", "Z1000000002"]);
        assert_eq!(next(&["Z99999999999999999999999"]), ["Z1", "Z2"]);
    }
}
