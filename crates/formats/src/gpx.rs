//! Waypoints of GPX 1.1 (<http://www.topografix.com/GPX/1/1>), and of 1.0, which has the same ones.
//!
//! Only what is needed is read: `wpt` with `lat`, `lon`, and in it `name`, `cmt`, `desc`, `time`.
//! Anything else may stand there, as makers of receivers put their own elements everywhere. The
//! reading stands in the name, the comment or the description: see [`crate::gpx_reading`]. Times are
//! UTC and stay so.

use std::path::Path;

use geojson::JsonObject;
use quick_xml::Reader;
use quick_xml::events::{BytesRef, BytesStart, Event};
use serde_json::Value;

use crate::error::FormatError;
use crate::gpx_reading::{is_bare_number, readings_in, without_readings};
use crate::outcome_words::no_reading;
use crate::record::{Comma, Numbers, Record, RecordSink};
use crate::values::{number_in, shown};

/// How GPX's values are given on.
pub(crate) const NUMBERS: Numbers = Numbers::Text { comma: Comma::Separator };

/// What a file of waypoints holds.
#[derive(Default)]
pub(crate) struct Waypoints {
    pub waypoints: usize,
    pub with_reading: usize,
    /// Routes and tracks, which are not read.
    pub lines: usize,
}

/// A waypoint's texts.
#[derive(Default)]
struct Waypoint {
    coordinates: Option<Result<(f64, f64), String>>,
    name: String,
    comment: String,
    description: String,
    time: String,
}

/// Reads the waypoints. With `positions_only`, no reading is looked for in their texts.
pub(crate) fn read_waypoints(
    path: &Path,
    text: &str,
    positions_only: bool,
    sink: &mut dyn RecordSink,
) -> Result<Waypoints, FormatError> {
    let mut reader = Reader::from_str(text);
    let mut found = Waypoints::default();
    // Names of the open elements matter down to the third only: gpx, wpt, name.
    let mut depth = 0_usize;
    let mut waypoint: Option<Waypoint> = None;
    let mut element: Option<Element> = None;
    loop {
        let event = reader.read_event();
        let event = event.map_err(|error| not_xml(path, text, reader.error_position(), &error))?;
        match event {
            Event::Start(start) => {
                depth += 1;
                match (depth, start.local_name().as_ref()) {
                    (2, b"wpt") => waypoint = Some(Waypoint::at(&start)),
                    (2, b"rte" | b"trk") => found.lines += 1,
                    (3, name) if waypoint.is_some() => element = Element::from_name(name),
                    _ => {}
                }
            }
            Event::Empty(start) if depth == 1 && start.local_name().as_ref() == b"wpt" => {
                found.take(Waypoint::at(&start), positions_only, sink);
            }
            Event::Empty(start) if depth == 1 => {
                let is_line = matches!(start.local_name().as_ref(), b"rte" | b"trk");
                found.lines += usize::from(is_line);
            }
            Event::End(_) => {
                match (depth, waypoint.take()) {
                    (2, Some(complete)) => found.take(complete, positions_only, sink),
                    (_, other) => waypoint = other,
                }
                if depth == 3 {
                    element = None;
                }
                depth = depth.saturating_sub(1);
            }
            Event::Text(part) if depth == 3 => {
                append(&mut waypoint, element, &String::from_utf8_lossy(&part));
            }
            Event::CData(part) if depth == 3 => {
                append(&mut waypoint, element, &String::from_utf8_lossy(&part));
            }
            Event::GeneralRef(part) if depth == 3 => {
                append(&mut waypoint, element, &reference(&part));
            }
            Event::Eof if depth > 0 => {
                let problem = "it ends within an element";
                return Err(not_xml(path, text, text.len() as u64, &problem));
            }
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

impl Waypoints {
    fn take(&mut self, waypoint: Waypoint, positions_only: bool, sink: &mut dyn RecordSink) {
        self.waypoints += 1;
        let number = self.waypoints;
        match waypoint.record(number, positions_only) {
            Ok(record) => {
                self.with_reading += 1;
                sink.record(record);
            }
            Err(problem) => sink.fault(number, problem),
        }
    }
}

/// The elements of a waypoint that are read.
#[derive(Clone, Copy)]
enum Element {
    Name,
    Comment,
    Description,
    Time,
}

impl Element {
    fn from_name(name: &[u8]) -> Option<Element> {
        match name {
            b"name" => Some(Element::Name),
            b"cmt" => Some(Element::Comment),
            b"desc" => Some(Element::Description),
            b"time" => Some(Element::Time),
            _ => None,
        }
    }
}

fn append(waypoint: &mut Option<Waypoint>, element: Option<Element>, text: &str) {
    let (Some(waypoint), Some(element)) = (waypoint, element) else {
        return;
    };
    match element {
        Element::Name => waypoint.name.push_str(text),
        Element::Comment => waypoint.comment.push_str(text),
        Element::Description => waypoint.description.push_str(text),
        Element::Time => waypoint.time.push_str(text),
    }
}

impl Waypoint {
    fn at(start: &BytesStart) -> Waypoint {
        let number = |name: &str| {
            let value = start.try_get_attribute(name).ok().flatten();
            let value = value.ok_or_else(|| format!("has no {name}"))?;
            let text = String::from_utf8_lossy(&value.value).into_owned();
            number_in(&text, NUMBERS)
                .ok_or_else(|| format!("{name} is the text {}, not a number", shown(&text)))
        };
        let coordinates = number("lon").and_then(|lon| Ok((lon, number("lat")?)));
        Waypoint { coordinates: Some(coordinates), ..Waypoint::default() }
    }

    fn record(self, number: usize, positions_only: bool) -> Result<Record, String> {
        let coordinates = self.coordinates.clone().unwrap_or(Err("has no place".into()));
        let (id, said) = match positions_only {
            true => (self.name.trim().to_owned(), JsonObject::new()),
            false => (without_readings(&self.name).to_owned(), self.reading()?),
        };
        let mut properties = said;
        let mut put = |key: &str, text: &str| {
            if !text.trim().is_empty() {
                properties.insert(key.into(), Value::String(text.trim().into()));
            }
        };
        put("time", &self.time);
        let note = [self.comment.trim(), self.description.trim()];
        let note: Vec<&str> = note.into_iter().filter(|text| !text.is_empty()).collect();
        put("note", &note.join("; "));
        let id = Some(id).filter(|id| !id.is_empty());
        Ok(Record { number, id, coordinates, properties })
    }

    /// The reading as properties, or why there is none.
    fn reading(&self) -> Result<JsonObject, String> {
        let texts = [("name", &self.name), ("cmt", &self.comment), ("desc", &self.description)];
        let mut properties = JsonObject::new();
        let readings: Vec<_> = texts.iter().flat_map(|(_, text)| readings_in(text)).collect();
        for reading in &readings {
            let number = match reading.or_deeper {
                true => format!(">={}", reading.number),
                false => reading.number.to_string(),
            };
            let key = format!("depth_{}", reading.unit.name());
            let other = properties.insert(key, Value::String(number.clone()));
            if other.is_some_and(|other| other != number) {
                return Err("its texts give two depths that differ".into());
            }
        }
        if !readings.is_empty() {
            return Ok(properties);
        }
        if let Some(word) = texts.iter().find(|(_, text)| no_reading(text).is_some()) {
            properties.insert("depth_in".into(), Value::String(word.1.clone()));
            return Ok(properties);
        }
        match texts[1..].iter().find(|(_, text)| is_bare_number(text)) {
            Some((element, text)) => Err(format!(
                "{element} is {}: a depth without a unit; write it like 9in or 23cm",
                shown(text.trim())
            )),
            None => Err("has no reading in its name, comment or description".into()),
        }
    }
}

/// What a reference to a character stands for; itself where that is not known.
pub(crate) fn reference(part: &BytesRef) -> String {
    let name = String::from_utf8_lossy(part).into_owned();
    let character = part.resolve_char_ref().ok().flatten().map(String::from);
    let meant = character.or_else(|| entity(&name).map(str::to_owned));
    meant.unwrap_or_else(|| format!("&{name};"))
}

/// The five entities of XML 1.0, section 4.6.
fn entity(name: &str) -> Option<&'static str> {
    match name {
        "lt" => Some("<"),
        "gt" => Some(">"),
        "amp" => Some("&"),
        "quot" => Some("\""),
        "apos" => Some("'"),
        _ => None,
    }
}

pub(crate) fn not_xml(
    path: &Path,
    text: &str,
    at: u64,
    problem: &dyn std::fmt::Display,
) -> FormatError {
    let at = usize::try_from(at).unwrap_or(usize::MAX).min(text.len());
    let line = text.as_bytes()[..at].iter().filter(|&&byte| byte == b'\n').count() + 1;
    FormatError::NotXml { file: path.to_path_buf(), problem: problem.to_string(), line }
}
