//! A rates file: what to do in which zones, as the user decides it.
//!
//! The file is TOML 1.0 in a plain schema of our own; see `rates_tables.rs` for its keys. No key takes
//! a depth of the tool, and none takes the loose-layer depth: see [`PlanError::DepthOfTop`].

use serde::de::DeserializeOwned;
use survey::{Date, Depth, UnitSystem};
use toml::Table;

use crate::action::Action;
use crate::error::PlanError;
use crate::rates_tables::{RatesTables, UnitsWord};
use crate::refused::{refuse_odd_text, refuse_set_depths};

/// The largest rates file that is read.
const MOST_BYTES: usize = 64 << 10;

/// A rates file that makes sense in itself; whether it fits the zones is seen by
/// [`make_plan`](crate::make_plan).
#[derive(Debug, Clone, PartialEq)]
pub struct RatesFile {
    /// The file's name.
    pub file: String,
    /// Name of the plan, where it is given.
    pub name: Option<String>,
    /// The farm's name.
    pub farm: Option<String>,
    /// The grower's name.
    pub grower: Option<String>,
    /// Units of the plan; else those of the zones.
    pub units: Option<UnitSystem>,
    /// Width of a pass, metres.
    pub swath_m: Option<f64>,
    /// Heading of the passes, degrees clockwise from north.
    pub heading_deg: Option<f64>,
    /// Currency of all prices.
    pub currency: Option<String>,
    /// Hazards on the field, in the user's words.
    pub hazards: Vec<String>,
    /// The ticket for buried lines.
    pub buried_lines: Option<BuriedLines>,
    /// When the soil is dry enough to be loosened.
    pub moisture: Option<MoistureWindow>,
    /// Whether the field has been in no-till for long.
    pub long_term_no_till: bool,
    /// Depth of the tool where the position is lost, where it is given.
    pub signal_lost: Option<Depth>,
    /// Depth of the tool outside the field, where it is given.
    pub out_of_field: Option<Depth>,
    /// The actions, in the file's order. Never empty.
    pub actions: Vec<Action>,
}

/// A ticket of the one-call centre, by which buried lines were marked.
#[derive(Debug, Clone, PartialEq)]
pub struct BuriedLines {
    /// Its number.
    pub ticket: String,
    /// Its last day.
    pub valid_until: Date,
}

/// Moisture at which soil may be loosened, in percent of field capacity.
#[derive(Debug, Clone, PartialEq)]
pub struct MoistureWindow {
    /// Not below this; 0 for no lower limit.
    pub above_pct: f64,
    /// Below this.
    pub below_pct: f64,
    /// Where the limits come from.
    pub source: String,
}

impl RatesFile {
    /// Reads a rates file's text; the name of the file is for messages.
    ///
    /// # Errors
    /// When it is not TOML, has unknown keys or values, or says what makes no sense.
    pub fn parse(file: &str, text: &str) -> Result<RatesFile, PlanError> {
        if text.len() > MOST_BYTES {
            return Err(PlanError::TooLarge { file: file.into(), most: MOST_BYTES >> 10 });
        }
        let plain: Table = from_toml(file, text)?;
        refuse_set_depths(file, &plain)?;
        refuse_odd_text(file, &plain)?;
        let tables: RatesTables = from_toml(file, text)?;
        RatesFile::from_tables(file, tables)
    }

    /// A fault of an action.
    pub(crate) fn at(&self, action: &Action, problem: String) -> PlanError {
        PlanError::Place { file: self.file.clone(), place: action.place(), problem }
    }

    fn from_tables(file: &str, tables: RatesTables) -> Result<RatesFile, PlanError> {
        let RatesTables { plan, field, tillage, action } = tables;
        if action.is_empty() {
            return Err(PlanError::NoAction { file: file.into() });
        }
        let at = |place: &str, problem: String| PlanError::Place {
            file: file.into(),
            place: place.into(),
            problem,
        };
        let moisture = field.moisture.map(|table| MoistureWindow {
            above_pct: table.above_pct,
            below_pct: table.below_pct,
            source: table.source,
        });
        if let Some(window) = &moisture {
            window.check().map_err(|problem| at("[field], key `moisture`", problem))?;
        }
        let buried_lines = field
            .buried_lines
            .map(|table| BuriedLines { ticket: table.ticket, valid_until: table.valid_until.0 });
        if buried_lines.as_ref().is_some_and(|lines| lines.ticket.trim().is_empty()) {
            let problem = "the ticket has no number; write it down, or leave the key out".into();
            return Err(at("[field], key `buried_lines`", problem));
        }
        let actions = action
            .into_iter()
            .enumerate()
            .map(|(index, table)| {
                Action::from_table(index + 1, table)
                    .map_err(|problem| at(&format!("[[action]] {}", index + 1), problem))
            })
            .collect::<Result<Vec<_>, _>>()?;
        let is_given = tillage.signal_lost.is_some() || tillage.out_of_field.is_some();
        if is_given && !actions.iter().any(Action::is_tillage) {
            let problem = "no action loosens, so the table does nothing; leave it out".into();
            return Err(at("[tillage]", problem));
        }
        Ok(RatesFile {
            file: file.into(),
            name: said(plan.name),
            farm: said(plan.farm),
            grower: said(plan.grower),
            units: plan.units.map(|word| match word {
                UnitsWord::Us => UnitSystem::Us,
                UnitsWord::Si => UnitSystem::Si,
            }),
            swath_m: plan.swath.map(|width| width.0.m()),
            heading_deg: plan.heading,
            currency: plan.currency.map(|currency| currency.0.0),
            hazards: field.hazards.into_iter().filter_map(|text| said(Some(text))).collect(),
            buried_lines,
            moisture,
            long_term_no_till: field.long_term_no_till,
            signal_lost: tillage.signal_lost.map(|depth| depth.0),
            out_of_field: tillage.out_of_field.map(|depth| depth.0),
            actions,
        })
    }
}

impl MoistureWindow {
    fn check(&self) -> Result<(), String> {
        let is_window =
            0.0 <= self.above_pct && self.above_pct < self.below_pct && self.below_pct <= 150.0;
        match (is_window, self.source.trim().is_empty()) {
            (false, _) => Err(format!(
                "{} to {} % of field capacity is no window; above_pct must be below below_pct",
                self.above_pct, self.below_pct
            )),
            (true, true) => Err("no source; say where the limit comes from, such as your state's \
                                 copy of NRCS Code 324"
                .into()),
            (true, false) => Ok(()),
        }
    }
}

/// A text that says something, without the blanks around it.
pub(crate) fn said(text: Option<String>) -> Option<String> {
    text.map(|text| text.trim().to_owned()).filter(|text| !text.is_empty())
}

/// Reads TOML; an error says line, table and what stands there.
fn from_toml<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, PlanError> {
    toml::from_str(text).map_err(|error| {
        let start = error.span().map_or(0, |span| span.start).min(text.len());
        let start = (0..=start).rev().find(|&k| text.is_char_boundary(k)).unwrap_or(0);
        let line = text[..start].matches('\n').count() + 1;
        let shown: String =
            text.lines().nth(line - 1).unwrap_or("").trim().chars().take(60).collect();
        PlanError::Line {
            file: file.into(),
            line,
            table: table_at(text, line),
            text: shown,
            problem: in_plain_words(&error.message().trim().replace('\n', ", ")),
        }
    })
}

/// The TOML reader speaks of its own types; a rates file has keys, numbers and lists.
fn in_plain_words(message: &str) -> String {
    const WORDS: [(&str, &str); 8] = [
        ("unknown field", "unknown key"),
        ("missing field", "missing key"),
        ("unknown variant", "unknown word"),
        ("expected usize", "expected a whole number"),
        ("expected f64", "expected a number without quotes"),
        ("expected a sequence", "expected a list in brackets, such as [1, 2] or [\"Z3\"]"),
        ("expected a boolean", "expected true or false"),
        ("expected a string", "expected text in quotes"),
    ];
    WORDS.iter().fold(message.to_owned(), |text, (own, plain)| text.replacen(own, plain, 1))
}

/// The table a line stands in, as a reader counts them: `, [[action]] 2`.
fn table_at(text: &str, line: usize) -> String {
    let headers = text.lines().take(line).map(str::trim).filter(|line| line.starts_with('['));
    let headers: Vec<&str> =
        headers.map(|header| header.split('#').next().unwrap_or("").trim()).collect();
    let Some(last) = headers.last() else { return String::new() };
    match last.starts_with("[[") {
        true => {
            let number = headers.iter().filter(|header| *header == last).count();
            format!(", {last} {number}")
        }
        false => format!(", {last}"),
    }
}
