//! What is chosen on the page, kept in the field's folder.

use std::collections::BTreeMap;
use std::fs;

use clap::CommandFactory;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};
use survey::Date;

use formats::{Output, write_files};

use super::answer::Refused;
use super::command_line::{self, COMMANDS, stays_below};
use super::field::Field;
use crate::args::Cli;
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

impl Choices {
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
