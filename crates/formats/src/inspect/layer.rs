//! A sheet of rows as a layer, with what a reader should know of it.

use geo::orient::Direction;
use geo::{Coord, GeodesicArea, Geometry, MultiPolygon, Orient};
use serde_json::Value;
use survey::units::{M2_PER_AC, M2_PER_HA, tidy};

use super::columns::Columns;
use super::overlap::overlaps;
use super::places::Places;
use super::sheet::{Row, Shape, Sheet};
use crate::inspected::{Inspected, InspectedLayer, InspectedZone};
use crate::plain_text::{cut, plain};
use crate::ring_faults::{Patience, RingFault, ring_fault};

/// The most notes about single rows of a layer.
const MOST_ROW_NOTES: usize = 8;

/// Stated and true area may differ by this share, or by so little.
const AREA_TOLERANCE: f64 = 0.02;
const LEAST_DIFFERENCE_M2: f64 = 50.0;

/// Adds a sheet to what is found.
pub(super) fn add(sheet: &Sheet, found: &mut Inspected) {
    let layer = format!("layer {}", plain(&sheet.name));
    if sheet.rows.is_empty() {
        found.notes.push(format!("{layer} is empty"));
    }
    if sheet.left_out > 0 {
        let all = sheet.rows.len() + sheet.left_out;
        found
            .notes
            .push(format!("{layer}: only {} of {all} records are looked at", sheet.rows.len()));
    }
    let places = Places::of(sheet);
    found.notes.extend(places.notes.iter().map(|note| format!("{layer} {note}")));
    let mut row_notes = Vec::new();
    let mut patience = Patience::of_a_reader();
    let (zones, outlines): (Vec<InspectedZone>, Vec<Option<&MultiPolygon>>) = sheet
        .rows
        .iter()
        .zip(&places.shapes)
        .enumerate()
        .map(|(k, (row, shape))| {
            let mut note = |note: String| row_notes.push(note);
            let outline = polygons_of(shape);
            let fault = outline.and_then(|outline| ring_fault(outline, &mut patience));
            let zone = zone(k + 1, row, outline, fault.as_ref(), &mut note);
            (zone, outline.filter(|_| fault.is_none()))
        })
        .unzip();
    let names: Vec<&str> = zones.iter().map(|zone| zone.name.as_str()).collect();
    row_notes.extend(overlaps(&names, &outlines));
    let more = row_notes.len().saturating_sub(MOST_ROW_NOTES);
    row_notes.truncate(MOST_ROW_NOTES);
    found.notes.extend(row_notes.into_iter().map(|note| format!("{layer}: {note}")));
    if more > 0 {
        found.notes.push(format!("{layer}: {more} more notes of this kind"));
    }
    let columns = Columns::of(sheet);
    if let Some(note) = columns.note.as_ref().filter(|_| !sheet.rows.is_empty()) {
        found.notes.push(format!("{layer} {note}"));
    }
    let quantities = columns.quantities(sheet);
    let zones = zones
        .into_iter()
        .zip(&sheet.rows)
        .map(|(zone, row)| InspectedZone { values: columns.values(row), ..zone });
    if let Some(stamps) = text(sheet, "stamps").or_else(|| text(sheet, "stamp")) {
        found.notes.insert(0, format!("it is stamped: {stamps}"));
    }
    found.field = found.field.take().or_else(|| field(sheet));
    found.extent_deg = joined(found.extent_deg, places.extent());
    found.layers.push(InspectedLayer {
        name: plain(&sheet.name),
        quantities,
        zones: zones.collect(),
        defaults: Vec::new(),
    });
}

/// A frame around two others.
pub(super) fn joined(a: Option<[f64; 4]>, b: Option<[f64; 4]>) -> Option<[f64; 4]> {
    match (a, b) {
        (Some(a), Some(b)) => {
            Some([a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])])
        }
        (one, other) => one.or(other),
    }
}

fn polygons_of(shape: &Option<Geometry>) -> Option<&MultiPolygon> {
    match shape {
        Some(Geometry::MultiPolygon(polygons)) => Some(polygons),
        _ => None,
    }
}

/// The field's name, where a row says it.
fn field(sheet: &Sheet) -> Option<String> {
    text(sheet, "field").or_else(|| text(sheet, "field_name"))
}

/// A text of the first row.
fn text(sheet: &Sheet, name: &str) -> Option<String> {
    let text = sheet.rows.first()?.values.get(name)?.as_str().map(plain)?;
    (!text.is_empty()).then_some(text)
}

/// One row without its values.
fn zone(
    number: usize,
    row: &Row,
    outline: Option<&MultiPolygon>,
    fault: Option<&RingFault>,
    note: &mut dyn FnMut(String),
) -> InspectedZone {
    let name = name(number, row);
    let mut note = |problem: String| note(format!("record {number} ({name}) {problem}"));
    match &row.shape {
        Shape::Bad(problem) => note(problem.clone()),
        Shape::Other(kind) => note(format!("is a {kind}, which is no zone")),
        Shape::None => note("has no place".into()),
        Shape::Polygons(_) | Shape::Point(_) => {}
    }
    let Some(polygons) = outline else {
        return InspectedZone { name, ..InspectedZone::default() };
    };
    if let Some(RingFault { problem, at: Coord { x, y } }) = fault {
        note(format!("is no valid polygon: {problem} near longitude {x:.6}, latitude {y:.6}"));
    }
    let area_m2 = ground_area_m2(polygons);
    if let Some(stated_m2) = stated_area_m2(row)
        && (stated_m2 / area_m2 - 1.0).abs() > AREA_TOLERANCE
        && (stated_m2 - area_m2).abs() > LEAST_DIFFERENCE_M2
    {
        note(format!("states {}, its outline has {}", both(stated_m2), both(area_m2)));
    }
    let holes = polygons.iter().map(|polygon| polygon.interiors().len()).sum();
    InspectedZone { name, area_m2: Some(area_m2), holes, values: Vec::new() }
}

/// An area for readers of either unit.
pub(super) fn both(area_m2: f64) -> String {
    format!("{} ac ({} ha)", tidy(area_m2 / M2_PER_AC, 2), tidy(area_m2 / M2_PER_HA, 3))
}

/// True area of polygons in degrees: Karney (2013), "Algorithms for geodesics", J. Geodesy 87:43–55.
pub(super) fn ground_area_m2(polygons: &MultiPolygon) -> f64 {
    polygons.orient(Direction::Default).geodesic_area_signed().abs()
}

fn stated_area_m2(row: &Row) -> Option<f64> {
    let of = |wanted: &str| {
        let column = row.values.iter().find(|(name, _)| name.eq_ignore_ascii_case(wanted));
        column.and_then(|(_, value)| value.as_f64())
    };
    of("area_ha").map(|ha| ha * M2_PER_HA).or_else(|| of("area_ac").map(|ac| ac * M2_PER_AC))
}

/// A row's name: its own, or what its columns call it, or else its number.
fn name(number: usize, row: &Row) -> String {
    const NAMES: [&str; 8] =
        ["part_id", "part", "zone_id", "name", "id", "zone", "point_id", "fid"];
    let called = |wanted: &&str| {
        let (_, value) = row.values.iter().find(|(name, _)| name.eq_ignore_ascii_case(wanted))?;
        match value {
            Value::String(text) => Some(plain(text)),
            Value::Number(number) => Some(number.to_string()),
            _ => None,
        }
        .filter(|name| !name.is_empty())
    };
    let own = row.name.as_deref().map(plain).filter(|name| !name.is_empty());
    let name = own.or_else(|| NAMES.iter().find_map(called)).unwrap_or_else(|| number.to_string());
    cut(&name, 60).to_owned()
}
