//! What is chosen on the page, kept in the field's folder.

use std::collections::BTreeMap;
use std::fs;

use clap::CommandFactory;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};
use survey::Date;

use formats::{Output, write_files};

use super::App;
use super::answer::Refused;
use super::command_line::{self, COMMANDS, stays_below};
use super::field::Field;
use crate::args::{Cli, Units};
use crate::config::Config;
use crate::terminal;

/// Visits and flags that are chosen.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Choices {
    /// Day of the visit that is mapped and planned.
    pub visit: Option<String>,
    /// Days of the two that are compared.
    pub earlier: Option<String>,
    /// The later of them.
    pub later: Option<String>,
    /// The units that limits without a unit are in: `us` or `si`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub units: Option<String>,
    /// The flags of each command, without their dashes; an empty value is that of a flag without one.
    pub flags: BTreeMap<String, BTreeMap<String, String>>,
}

/// What a flag of the page takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Nothing.
    Switch,
    /// A value.
    Value,
    /// A file of the field's folder, told relative to it.
    File,
}

/// How readings are read and checked.
const READ: [&str; 8] =
    ["units", "threshold", "sustained", "group", "edge-tolerance", "rod", "strict", "crs"];
/// How a surface is made.
const SURFACE: [&str; 8] =
    ["method", "power", "neighbours", "direction", "sectors", "smoothing", "reach", "cell"];
/// How classes and zones are drawn; with these alone a surface stays as it is.
pub const ZONES: [&str; 10] = [
    "classes",
    "title",
    "smallest-zone",
    "border-tolerance",
    "swath",
    "narrowest-zone",
    "heading",
    "zone-cells",
    "most-zones",
    "earlier-zones",
];
/// Flags of which the value is in the field's units without saying so.
const IN_UNITS: [&str; 2] = ["classes", "marks"];
/// Flags of which the value is a file of the field's folder.
const FILES: [(&str, &str); 3] =
    [("map", "earlier-zones"), ("report", "earlier-zones"), ("trial", "areas")];
/// The longest value.
const LONGEST_VALUE: usize = 200;
/// The largest file of choices.
const MOST_BYTES: u64 = 64 << 10;

/// The flags that the page may give a command: none says where results go or which settings file counts.
pub fn flags_of(command: &str) -> Vec<&'static str> {
    let own: &[&str] = match command {
        "map" => &["thinner-than", "probability", "realisations", "seed"],
        "report" => &["thinner-than", "probability"],
        "plan" => &[
            "swath",
            "heading",
            "check-strips",
            "strip-passes",
            "seed",
            "taskdata",
            "taskdata-version",
            "taskdata-cell",
        ],
        "compare" => {
            &["classes", "confidence", "pair-within", "moisture-within", "adjust-moisture"]
        }
        "season" => &["no-maps", "classes", "marks", "since", "visits-every"],
        "trial" => &[
            "areas",
            "treated",
            "check",
            "strip-field",
            "randomised",
            "matters",
            "confidence",
            "seed",
            "moisture-within",
            "pair-within",
        ],
        "calendar" => &[
            "planted",
            "crop",
            "from",
            "visits-every",
            "to-stage",
            "observed",
            "until",
            "today",
            "soaking-rain",
            "remind-days",
            "units",
        ],
        "profile" => &["units", "threshold", "sustained", "group", "crs"],
        "spots" => &[
            "grid",
            "random",
            "stratified",
            "at-least",
            "transects",
            "along",
            "swath",
            "heading",
            "again",
            "least-sure",
            "sure-by",
            "precision",
            "confidence",
            "from-edge",
            "start",
            "insertions",
            "seed",
            "rod",
            "title",
            "units",
            "threshold",
        ],
        _ => &[],
    };
    let has_readings =
        ["map", "report", "compare", "season", "trial", "clean", "raster"].contains(&command);
    let has_surface = ["map", "report", "compare", "season", "raster"].contains(&command);
    let shared = READ.iter().filter(|_| has_readings);
    let surface = SURFACE.iter().filter(|_| has_surface);
    let zones = ZONES.iter().filter(|_| ["map", "report"].contains(&command));
    own.iter().chain(shared).chain(surface).chain(zones).copied().collect()
}

/// What a flag takes, where the page may give it to the command.
pub fn kind_of(command: &str, flag: &str) -> Option<Kind> {
    if !flags_of(command).contains(&flag) {
        return None;
    }
    let cli = Cli::command();
    let mut arguments = cli.find_subcommand(command)?.get_arguments();
    let argument = arguments.find(|argument| argument.get_long() == Some(flag))?;
    Some(match argument.get_action().takes_values() {
        false => Kind::Switch,
        true if FILES.contains(&(command, flag)) => Kind::File,
        true => Kind::Value,
    })
}

/// What is chosen, as it came: all of it, or what of it changed.
#[derive(Debug)]
pub struct Chosen {
    change: Change,
    /// Whether a file of choices that is not understood goes.
    replace: bool,
}

#[derive(Debug)]
enum Change {
    All(Choices),
    Some(Map<String, Value>),
}

impl Chosen {
    /// What a request sends.
    ///
    /// # Errors
    /// When it is neither of the two.
    pub fn of(mut sent: Map<String, Value>) -> Result<Self, String> {
        let replace = match sent.remove("replace") {
            None => false,
            Some(Value::Bool(replace)) => replace,
            Some(_) => return Err("replace is true or false".into()),
        };
        let change = match sent.remove("set") {
            Some(Value::Object(set)) if sent.is_empty() => Change::Some(set),
            Some(_) => return Err("choices come as a whole, or as what is set of them".into()),
            None => {
                let whole = serde_json::from_value(Value::Object(sent));
                Change::All(whole.map_err(|error| error.to_string())?)
            }
        };
        Ok(Chosen { change, replace })
    }
}

/// Keeps what is chosen. Answers with the choices, what was set aside of the earlier ones, and why they are not kept.
///
/// # Errors
/// When it is no choice of the page.
pub fn choose(
    app: &App,
    chosen: Chosen,
) -> Result<(Choices, Vec<String>, Option<Refused>), Refused> {
    let _held = app.changing();
    let units = units_of(&app.field);
    let (before, notes, problem) = current(app);
    let (mut choices, notes) = match chosen.change {
        Change::All(choices) => (choices, Vec::new()),
        Change::Some(set) => (before.with(set)?, notes),
    };
    choices.refuse_odd()?;
    choices.units = Some(units.to_owned());
    let kept = match problem {
        Some(problem) if !chosen.replace => Err(problem),
        _ => choices.keep(&app.field),
    };
    // What the disk does not take is known until the page ends.
    *app.unsaved() = kept.is_err().then(|| choices.clone());
    Ok((choices, notes, kept.err()))
}

/// The choices as they are now, what was set aside of them, and why those of the folder are not understood.
pub fn current(app: &App) -> (Choices, Vec<String>, Option<Refused>) {
    let (kept, problem) = match Choices::kept(&app.field) {
        Ok(kept) => (kept, None),
        Err(refused) => (Choices::default(), Some(refused)),
    };
    let unsaved = app.unsaved().clone();
    let (choices, notes) = unsaved.unwrap_or(kept).in_units(units_of(&app.field));
    (choices, notes, problem)
}

fn units_of(field: &Field) -> &'static str {
    match field.config().unwrap_or_default().units {
        Some(Units::Si) => "si",
        _ => "us",
    }
}

impl Choices {
    /// The choices with what is set of them; null takes away.
    fn with(mut self, set: Map<String, Value>) -> Result<Self, String> {
        let text = |value: Value| match value {
            Value::Null => Ok(None),
            Value::String(text) => Ok(Some(text)),
            _ => Err("a choice is a text or null".to_owned()),
        };
        for (key, value) in set {
            match (key.as_str(), value) {
                ("visit", value) => self.visit = text(value)?,
                ("earlier", value) => self.earlier = text(value)?,
                ("later", value) => self.later = text(value)?,
                ("flags", Value::Object(commands)) => {
                    for (command, flags) in commands {
                        let Value::Object(flags) = flags else {
                            return Err(format!("the flags of {} are no table", quoted(&command)));
                        };
                        let of_command = self.flags.entry(command).or_default();
                        for (flag, value) in flags {
                            match text(value)? {
                                Some(value) => drop(of_command.insert(flag, value)),
                                None => drop(of_command.remove(&flag)),
                            }
                        }
                    }
                }
                _ => return Err(format!("{} is no choice of this page", quoted(&key))),
            }
        }
        self.flags.retain(|command, flags| !(flags.is_empty() && COMMANDS.contains(&&command[..])));
        Ok(self)
    }

    /// The choices for a field in these units. Limits that were chosen in others are set aside, never read as if
    /// they were in these; a command that says its own units keeps them.
    fn in_units(mut self, units: &str) -> (Self, Vec<String>) {
        let mut notes = Vec::new();
        let unit = |units: &str| if units == "si" { "centimetres" } else { "inches" };
        let other = self.units.take().filter(|other| other != units);
        let (Some(other), true) = (other, self.flags.values().any(|flags| !flags.is_empty()))
        else {
            return (self, notes);
        };
        for (command, flags) in &mut self.flags {
            if flags.contains_key("units") {
                continue;
            }
            for flag in IN_UNITS {
                if let Some(value) = flags.remove(flag) {
                    notes.push(format!(
                        "--{flag} {} of {command} was chosen in {}, and the field is in {} now: it is set \
                         aside; choose limits again",
                        terminal::one_line(&value),
                        unit(&other),
                        unit(units),
                    ));
                }
            }
        }
        (self, notes)
    }

    /// The choices that are kept in the field's folder; none where there are none.
    ///
    /// # Errors
    /// When the file says what is not understood.
    pub fn kept(field: &Field) -> Result<Self, Refused> {
        let path = field.page_file();
        let shown = path.display();
        let Ok(about) = fs::metadata(&path) else { return Ok(Choices::default()) };
        if !about.is_file() || about.len() > MOST_BYTES {
            return Err(format!("{shown}: not the choices of a page; move it away").into());
        }
        let text = fs::read_to_string(&path)
            .map_err(|error| format!("{shown}: cannot be read ({error})"))?;
        let choices: Choices = toml::from_str(&text)
            .map_err(|error| format!("{shown}: {error}").trim_end().to_owned())?;
        choices.refuse_odd().map_err(|problem| format!("{shown}: {problem}"))?;
        Ok(choices)
    }

    /// Keeps them.
    ///
    /// # Errors
    /// When they cannot be written.
    pub fn keep(&self, field: &Field) -> Result<(), Refused> {
        let start = "# What was last chosen on the page of `loosedepth open`.\n";
        let text = toml::to_string(self).map_err(|error| error.to_string())?;
        let name = field.page_file().file_name().unwrap_or_default().to_string_lossy().into_owned();
        let file = Output { name, bytes: format!("{start}{text}").into() };
        Ok(write_files(field.typed(), &[file], true)?)
    }

    /// Refuses what the page cannot have meant.
    ///
    /// # Errors
    /// When a day is none, or a flag is not one of the page's or has an odd value.
    pub fn refuse_odd(&self) -> Result<(), String> {
        if let Some(other) = self.units.as_deref().filter(|units| !["us", "si"].contains(units)) {
            return Err(format!("{} are no units; us or si", quoted(other)));
        }
        for day in [&self.visit, &self.earlier, &self.later].into_iter().flatten() {
            let is_day = day.len() == 10 && day.parse::<Date>().is_ok();
            if !is_day {
                return Err(format!("{} is not a day like 2025-07-08", quoted(day)));
            }
        }
        for (command, flags) in &self.flags {
            if !COMMANDS.contains(&command.as_str()) {
                return Err(format!("{} is no command of this page", quoted(command)));
            }
            for (flag, value) in flags {
                refuse_odd_flag(command, flag, value)?;
            }
        }
        Ok(())
    }

    /// The choices with days that are there: those chosen, else the last visit, and the first and the last.
    pub fn with_days(mut self, days: &[String]) -> Self {
        let is_there = |day: &String| days.contains(day);
        self.visit = self.visit.filter(is_there).or_else(|| days.last().cloned());
        let (first, last) = match days {
            [first, .., last] => (Some(first.clone()), Some(last.clone())),
            _ => (None, None),
        };
        let chosen = self.earlier.clone().filter(is_there).zip(self.later.clone().filter(is_there));
        (self.earlier, self.later) = match chosen.filter(|(earlier, later)| earlier < later) {
            Some((earlier, later)) => (Some(earlier), Some(later)),
            None => (first, last),
        };
        self
    }

    /// The choices with a table of flags for every command.
    pub fn json(&self) -> Value {
        let flags: Map<String, Value> = COMMANDS
            .iter()
            .map(|&command| {
                let flags = self.flags.get(command).cloned().unwrap_or_default();
                (command.to_owned(), json!(flags))
            })
            .collect();
        json!({
            "visit": self.visit, "earlier": self.earlier, "later": self.later, "flags": flags,
        })
    }

    /// What each command is typed as; why not, where a choice is missing.
    pub fn commands(&self, field: &Field, config: &Config) -> Value {
        let told = |command: &&str| {
            let list = command_line::arguments(command, self, field, config, false);
            let text = list.map_or(Value::Null, |list| json!(command_line::text(&list)));
            ((*command).to_owned(), text)
        };
        Value::Object(COMMANDS.iter().map(told).collect())
    }
}

fn quoted(text: &str) -> String {
    format!("{:?}", terminal::one_line(text))
}

fn refuse_odd_flag(command: &str, flag: &str, value: &str) -> Result<(), String> {
    let kind = kind_of(command, flag)
        .ok_or_else(|| format!("{command} has no flag {} on this page", quoted(flag)))?;
    let is_odd = |c: char| c.is_control();
    let refuse = |problem: &str| Err(format!("--{flag} of {command}: {problem}"));
    match kind {
        Kind::Switch if !value.is_empty() => refuse("takes no value"),
        Kind::Value | Kind::File if value.is_empty() => refuse("needs a value"),
        _ if value.len() > LONGEST_VALUE || value.contains(is_odd) => {
            refuse("its value is no plain text of at most 200 letters")
        }
        Kind::File if !stays_below(value.as_ref()) => {
            refuse("the file is told by its path below the field's folder")
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use std::any::TypeId;
    use std::path::PathBuf;

    use super::*;

    #[test]
    fn the_flags_of_the_page_are_flags_of_the_command_and_none_is_a_path_of_the_machine() {
        let cli = Cli::command();
        for command in COMMANDS {
            let arguments: Vec<_> = cli.find_subcommand(command).unwrap().get_arguments().collect();
            for flag in flags_of(command) {
                let argument = arguments.iter().find(|it| it.get_long() == Some(flag));
                let argument = argument.unwrap_or_else(|| panic!("{command} has no --{flag}"));
                let is_path = argument.get_value_parser().type_id() == TypeId::of::<PathBuf>();
                assert_eq!(is_path, kind_of(command, flag) == Some(Kind::File), "{command} {flag}");
            }
        }
        for flag in ["out", "config", "boundary", "strata", "edits", "join", "replace", "rates"] {
            assert!(COMMANDS.iter().all(|command| kind_of(command, flag).is_none()), "{flag}");
        }
    }

    #[test]
    fn odd_choices_are_refused() {
        let of = |command: &str, flag: &str, value: &str| {
            let flags = BTreeMap::from([(flag.to_owned(), value.to_owned())]);
            let flags = BTreeMap::from([(command.to_owned(), flags)]);
            Choices { flags, ..Choices::default() }.refuse_odd()
        };
        assert!(of("map", "classes", "3,6").is_ok());
        assert!(of("map", "heading", "-5").is_ok());
        assert!(of("season", "no-maps", "").is_ok());
        for (command, flag, value) in [
            ("map", "out", "/tmp"),
            ("map", "config", "x"),
            ("map", "classes", ""),
            ("map", "strict", "yes"),
            ("map", "title", "a\nb"),
            ("map", "earlier-zones", "../zones.geojson"),
            ("map", "earlier-zones", "/etc/passwd"),
            ("inspect", "units", "us"),
            ("open", "port", "1"),
        ] {
            assert!(of(command, flag, value).is_err(), "{command} --{flag} {value}");
        }
        let day = |text: &str| Choices { visit: Some(text.into()), ..Choices::default() };
        assert!(day("2025-04-14").refuse_odd().is_ok());
        assert!(day("--out=/tmp").refuse_odd().is_err());
        assert!(day("2025-02-30").refuse_odd().is_err());
    }
}
