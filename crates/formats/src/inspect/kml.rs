//! Placemarks of KML 2.2 or 2.3 with their polygons, points and data.

use std::path::Path;

use geo::{Coord, LineString, MultiPolygon, Polygon};
use geojson::JsonObject;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use serde_json::Value;

use super::layer;
use super::sheet::{Row, Shape, Sheet};
use crate::error::FormatError;
use crate::gpx::{not_xml, reference};
use crate::inspected::Inspected;
use crate::plain_text::plain;

/// How deep elements may lie in each other.
const MOST_DEPTH: usize = 64;

pub(super) fn inspect(path: &Path, text: &str) -> Result<Inspected, FormatError> {
    let mut reading = Reading { sheet: Sheet::new("placemarks"), ..Reading::default() };
    let mut reader = Reader::from_str(text);
    reader.config_mut().expand_empty_elements = true;
    loop {
        let wrong = |problem: &dyn std::fmt::Display, at: u64| not_xml(path, text, at, problem);
        let event = reader.read_event().map_err(|error| wrong(&error, reader.error_position()))?;
        match event {
            Event::Start(start) => {
                if reading.open.len() == MOST_DEPTH {
                    return Err(wrong(
                        &"elements lie too deep in each other",
                        reader.buffer_position(),
                    ));
                }
                reading.start(&start);
            }
            Event::End(_) => reading.end(),
            Event::Text(part) => reading.text.push_str(&String::from_utf8_lossy(&part)),
            Event::CData(part) => reading.text.push_str(&String::from_utf8_lossy(&part)),
            Event::GeneralRef(part) => reading.text.push_str(&reference(&part)),
            Event::Eof if !reading.open.is_empty() => {
                return Err(wrong(&"it ends within an element", text.len() as u64));
            }
            Event::Eof => break,
            _ => {}
        }
    }
    let mut found = Inspected { format: "KML".into(), ..Inspected::default() };
    layer::add(&reading.sheet, &mut found);
    Ok(found)
}

/// The document as far as it is read.
#[derive(Default)]
struct Reading {
    sheet: Sheet,
    /// Names of the open elements, without prefix.
    open: Vec<String>,
    /// Text since the last tag.
    text: String,
    placemark: Option<Placemark>,
}

/// A placemark in the making.
#[derive(Default)]
struct Placemark {
    name: Option<String>,
    values: JsonObject,
    /// Name of the data that is open.
    data: String,
    rings: Vec<LineString>,
    polygons: Vec<Polygon>,
    point: Option<Coord>,
    other: Option<String>,
    problem: Option<String>,
}

impl Reading {
    fn start(&mut self, start: &BytesStart) {
        let name = String::from_utf8_lossy(start.local_name().as_ref()).into_owned();
        self.text.clear();
        if name == "Placemark" {
            self.placemark = Some(Placemark::default());
        }
        if let Some(placemark) = &mut self.placemark {
            match name.as_str() {
                "Data" | "SimpleData" => {
                    let called = start.try_get_attribute("name").ok().flatten();
                    let called = called.map(|a| String::from_utf8_lossy(&a.value).into_owned());
                    placemark.data = called.unwrap_or_default();
                }
                "LineString" | "Model" | "Track" => placemark.other = Some(name.clone()),
                _ => {}
            }
        }
        self.open.push(name);
    }

    fn end(&mut self) {
        let Some(name) = self.open.pop() else { return };
        let parent = self.open.last().map_or("", String::as_str);
        let text = std::mem::take(&mut self.text);
        match (&mut self.placemark, name.as_str()) {
            (Some(placemark), "Placemark") => {
                let row = std::mem::take(placemark).row();
                self.sheet.push(row);
                self.placemark = None;
            }
            (Some(placemark), name) => placemark.end(parent, name, &text),
            (None, "name") if parent == "Document" => self.sheet.name = plain(&text),
            _ => {}
        }
    }
}

impl Placemark {
    fn end(&mut self, parent: &str, name: &str, text: &str) {
        match (parent, name) {
            ("Placemark", "name") => self.name = Some(text.to_owned()),
            ("Data", "value") | (_, "SimpleData") => {
                let text = text.trim();
                let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
                let value = number.map_or_else(|| Value::from(text), Value::from);
                self.values.insert(std::mem::take(&mut self.data), value);
            }
            ("LinearRing", "coordinates") => match places(text) {
                Ok(places) => self.rings.push(LineString::new(places)),
                Err(problem) => self.problem = Some(problem),
            },
            ("Point", "coordinates") => match places(text) {
                Ok(places) => self.point = places.first().copied(),
                Err(problem) => self.problem = Some(problem),
            },
            (_, "Polygon") => {
                let mut rings = std::mem::take(&mut self.rings).into_iter();
                match rings.next() {
                    Some(outer) => self.polygons.push(Polygon::new(outer, rings.collect())),
                    None => self.problem = Some("has a polygon without a ring".into()),
                }
            }
            _ => {}
        }
    }

    fn row(self) -> Row {
        let shape = match (self.problem, self.polygons, self.point, self.other) {
            (Some(problem), ..) => Shape::Bad(problem),
            (None, polygons, ..) if !polygons.is_empty() => {
                Shape::Polygons(MultiPolygon::new(polygons))
            }
            (None, _, Some(point), _) => Shape::Point(point),
            (None, _, None, Some(other)) => Shape::Other(other),
            (None, _, None, None) => Shape::None,
        };
        Row { name: self.name, shape, values: self.values }
    }
}

/// Longitude, latitude and perhaps a height of each place.
fn places(text: &str) -> Result<Vec<Coord>, String> {
    text.split_whitespace()
        .map(|place| {
            let mut numbers = place.split(',').map(|number| number.parse::<f64>().ok());
            match (numbers.next().flatten(), numbers.next().flatten()) {
                (Some(x), Some(y)) if x.is_finite() && y.is_finite() => Ok(Coord { x, y }),
                _ => Err("has coordinates that are not longitude,latitude".to_owned()),
            }
        })
        .collect()
}
