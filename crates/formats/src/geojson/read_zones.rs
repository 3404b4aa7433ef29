//! Zones from a zone file, as [`super::zones_geojson`] writes it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use geo::orient::Direction;
use geo::{BoundingRect, Centroid, Coord, CoordsIter, LinesIter, MapCoords, MultiPolygon, Orient};
use plan::{MappedZone, ZoneMap};
use serde_json::Value;
use survey::units::tidy;
use survey::{EastNorth, LonLat, Utm};

use super::bounded_value::Bounded;
use super::collection::read_features;
use super::polygon::{MOST_POSITIONS, polygons};
use super::zone_reading::{First, Said};
use crate::error::FormatError;
use crate::input::{InputFile, read_bytes, text};
use crate::overlap::{LEAST_M2, each_meeting};
use crate::plain_text::{is_plain, plain};
use crate::recognise::{Format, recognise};
use crate::ring_faults::{Patience, ring_fault};
use crate::values::{kind, shown};

/// The most zones that a file may have, and the most positions of all of them.
const MOST_ZONES: usize = 10_000;
const MOST_POSITIONS_IN_ALL: usize = 1_000_000;

/// The most lines that a straight way across all zones meets on average. Zones of ten cells in a field of
/// a thousand cells make some hundred.
const MOST_LINES_ACROSS: f64 = 2_000.0;

/// The widest field, metres, as for a boundary.
const MAX_SPAN_M: f64 = 100_000.0;

/// Reads the zones that the command `map` wrote, with their evidence. Places go from degrees to the UTM
/// zone of the centroid of all zones.
///
/// # Errors
/// When the file is something else, a zone lacks its id, class or depth, two have one id, or a polygon is
/// not valid: see [`FormatError::NotZones`].
pub fn read_zones(path: &Path) -> Result<(InputFile, ZoneMap), FormatError> {
    refuse_folder(path)?;
    let (input, bytes) = read_bytes(path)?;
    if bytes.is_empty() {
        return Err(FormatError::Empty { file: path.to_path_buf() });
    }
    refuse_other_format(path, &bytes)?;
    let mut reading = Reading::default();
    let text = text(path, &bytes)?;
    let take = &mut |feature| reading.take(feature);
    let collection = match read_features(path, text, Bounded::POLYGON, take) {
        Err(FormatError::NotACollection { found, .. }) => {
            return Err(not_zones(
                path,
                format!("{found}, not a FeatureCollection of zones; {GIVE}"),
            ));
        }
        read => read?,
    };
    if collection.crs.is_some() {
        return Err(not_zones(path, "its crs member is not WGS 84".into()));
    }
    let Reading { zones, first, problem, .. } = reading;
    let Some(first) = first.filter(|_| problem.is_none()) else {
        return Err(not_zones(path, problem.unwrap_or_else(|| "holds no zones".into())));
    };
    let name = collection.name.map(|name| plain(name.trim_end_matches(" zones")));
    let map = ZoneMap {
        field_name: first.field.or(name).unwrap_or_else(|| input.name()),
        source: input.name(),
        utm: utm_of(&zones).map_err(|problem| not_zones(path, problem))?,
        units: first.units,
        visit: first.visit,
        threshold: first.threshold,
        unmapped_m2: first.unmapped_m2,
        zones,
    };
    let map = in_plane(map).map_err(|problem| not_zones(path, problem))?;
    Ok((input, map))
}

/// What is wrong with a text that no file for a machine can carry.
pub(super) const ODD_TEXT: &str =
    "holds a line break, a tab or another control character; take it out";

/// What to do where a file is something else.
pub(super) const GIVE: &str = "give the zones.geojson that the command map wrote";

fn not_zones(path: &Path, problem: String) -> FormatError {
    FormatError::NotZones { file: path.to_path_buf(), problem }
}

fn refuse_folder(path: &Path) -> Result<(), FormatError> {
    if !path.is_dir() {
        return Ok(());
    }
    let inside: PathBuf = path.join("zones.geojson");
    let next = match inside.is_file() {
        true => format!("is a folder; give {}", inside.display()),
        false => format!("is a folder; {GIVE}"),
    };
    Err(not_zones(path, next))
}

fn refuse_other_format(path: &Path, bytes: &[u8]) -> Result<(), FormatError> {
    const PICTURES: [&[u8]; 4] = [b"\x89PNG", b"<svg", b"%PDF", b"\xff\xd8\xff"];
    const RASTERS: [&[u8]; 4] = [b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"];
    let starts = |starts: &[&[u8]]| starts.iter().any(|start| bytes.starts_with(start));
    let what = match () {
        () if starts(&PICTURES) => "is a picture",
        () if starts(&RASTERS) => "is a raster",
        () => match recognise(path, bytes)? {
            Format::GeoJson => return Ok(()),
            _ => "is no GeoJSON",
        },
    };
    Err(not_zones(path, format!("{what}; {GIVE} beside it")))
}

/// Zones in the making; their polygons in degrees.
#[derive(Default)]
struct Reading {
    zones: Vec<MappedZone>,
    /// The feature of each id.
    ids: BTreeMap<String, usize>,
    positions: usize,
    first: Option<First>,
    /// What is wrong with the first feature that is wrong.
    problem: Option<String>,
    features: usize,
}

impl Reading {
    fn take(&mut self, feature: Option<Value>) {
        self.features += 1;
        if self.problem.is_some() {
            return;
        }
        let number = self.features;
        let zone = match feature {
            None => Err(format!("feature {number}: has more than {MOST_POSITIONS} positions")),
            Some(feature) => self.zone(number, &feature),
        };
        match zone {
            Ok(zone) => self.zones.push(zone),
            Err(problem) => self.problem = Some(problem),
        }
    }

    fn zone(&mut self, number: usize, feature: &Value) -> Result<MappedZone, String> {
        let id = feature.pointer("/properties/zone_id").and_then(Value::as_str);
        let Some(id) = id.filter(|id| !id.trim().is_empty()) else {
            return Err(no_id(number, feature));
        };
        let here = |problem: String| format!("feature {number} ({}): {problem}", shown(id));
        if !id.chars().all(is_plain) {
            return Err(here(format!("zone_id {ODD_TEXT}")));
        }
        if self.zones.len() == MOST_ZONES {
            return Err(here(format!("a zone file holds at most {MOST_ZONES} zones")));
        }
        if let Some(other) = self.ids.insert(id.to_owned(), number) {
            let problem = format!("zone_id is that of feature {other} too; give each zone its own");
            return Err(here(problem));
        }
        let said = Said(feature.get("properties").unwrap_or(&Value::Null));
        let units = match &self.first {
            Some(first) => first.units,
            None => {
                let first = said.first().map_err(here)?;
                self.first.insert(first).units
            }
        };
        let polygons = polygons(feature.get("geometry")).map_err(here)?;
        self.positions += polygons.coords_count();
        if self.positions > MOST_POSITIONS_IN_ALL {
            return Err(here(format!(
                "a zone file holds at most {MOST_POSITIONS_IN_ALL} positions"
            )));
        }
        said.zone(id, units, polygons).map_err(here)
    }
}

/// Why a feature is no zone, in words that tell what the file may be instead.
fn no_id(number: usize, feature: &Value) -> String {
    let kind_of = |value: Option<&Value>| value.map_or_else(|| "missing".into(), kind);
    match feature.pointer("/geometry/type").and_then(Value::as_str) {
        Some("Point") => format!(
            "feature {number} is a Point; these may be readings, of which `loosedepth map` makes zones"
        ),
        _ => format!(
            "feature {number}: zone_id is {}, and a zone needs its id as text; {GIVE}",
            kind_of(feature.pointer("/properties/zone_id"))
        ),
    }
}

/// The UTM zone that holds the centroid of all zones, whose polygons are in degrees.
fn utm_of(zones: &[MappedZone]) -> Result<Utm, String> {
    let all = MultiPolygon::new(zones.iter().flat_map(|zone| zone.polygons.0.clone()).collect());
    let middle = all.centroid().ok_or("the zones hold no ground")?;
    let place = LonLat { lon_deg: middle.x(), lat_deg: middle.y() };
    Utm::for_place(place).map_err(|error| error.to_string())
}

/// The same zones with their polygons in the plane, where they are found valid and measured.
fn in_plane(mut map: ZoneMap) -> Result<ZoneMap, String> {
    let utm = map.utm;
    let mut patience = Patience::of_a_reader();
    for (k, zone) in map.zones.iter_mut().enumerate() {
        let here = |problem: String| format!("feature {} ({}): {problem}", k + 1, shown(&zone.id));
        let polygons = zone
            .polygons
            .try_map_coords(|Coord { x, y }| {
                utm.project(LonLat { lon_deg: x, lat_deg: y }).map(Coord::from)
            })
            .map_err(|error| here(error.to_string()))?;
        if let Some(fault) = ring_fault(&polygons, &mut patience) {
            let LonLat { lon_deg, lat_deg } = utm.unproject(EastNorth::from(fault.at));
            return Err(here(format!(
                "{} near longitude {lon_deg:.6}, latitude {lat_deg:.6}; mend the polygon",
                fault.problem
            )));
        }
        let polygons = polygons.orient(Direction::Default);
        zone.ground_area_m2 = utm.ground_area_m2(&polygons);
        zone.polygons = polygons;
    }
    let all =
        MultiPolygon::new(map.zones.iter().flat_map(|zone| zone.polygons.0.clone()).collect());
    let span_m = all.bounding_rect().map_or(0.0, |frame| frame.width().max(frame.height()));
    match span_m > MAX_SPAN_M {
        true => Err(format!("the zones span {:.0} km; they must be of one field", span_m / 1e3)),
        false => refuse_combs(&all).and_then(|()| refuse_overlaps(&map)).map(|()| map),
    }
}

/// Refuses zones whose lines run to and fro so often that a raster of them would fill the memory: by how
/// many of them a straight way across meets on average, northwards or eastwards, whichever is more.
fn refuse_combs(polygons: &MultiPolygon) -> Result<(), String> {
    let Some(frame) = polygons.bounding_rect() else { return Ok(()) };
    let (east_m, north_m) = polygons.lines_iter().fold((0.0, 0.0), |(east_m, north_m), line| {
        (east_m + line.dx().abs(), north_m + line.dy().abs())
    });
    let across = (east_m / frame.width()).max(north_m / frame.height());
    match across > MOST_LINES_ACROSS {
        true => Err(format!(
            "a straight way across the zones meets {across:.0} lines on average, more than \
             {MOST_LINES_ACROSS:.0}; draw fewer or plainer zones"
        )),
        false => Ok(()),
    }
}

/// Refuses zones that share ground: it would be counted twice and get the dose of either.
fn refuse_overlaps(map: &ZoneMap) -> Result<(), String> {
    let outlines: Vec<_> = map.zones.iter().map(|zone| &zone.polygons).collect();
    let mut first = None;
    each_meeting(&outlines, |one, other, ground| {
        let area_m2 = map.utm.ground_area_m2(&ground);
        if area_m2 > LEAST_M2 && first.is_none() {
            first = Some((one, other, area_m2));
        }
    });
    let Some((one, other, area_m2)) = first else {
        return Ok(());
    };
    Err(format!(
        "feature {} ({}) lies over feature {} ({}) on {} {}; mend the zones so that each piece of ground \
         lies in one",
        other + 1,
        shown(&map.zones[other].id),
        one + 1,
        shown(&map.zones[one].id),
        tidy(map.units.area(area_m2), 2),
        map.units.area_unit()
    ))
}
