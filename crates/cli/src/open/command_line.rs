//! From choices to the arguments of a command, and to the text that a person types.

use std::path::Path;

use axum::http::StatusCode;
use clap::Parser;

use super::answer::Refused;
use super::choices::{Choices, Kind, kind_of};
use super::field::Field;
use crate::args::{Cli, Command};
use crate::config::Config;

/// Where results that have no folder of their own go, within that of the visit or of the season.
const PROFILE: &str = "profile";
const TRIAL: &str = "trial";
const CALENDAR: &str = "calendar";
const RASTER: &str = "raster/depth.tif";

/// The commands that the page types, in the order it shows them.
pub const COMMANDS: [&str; 11] = [
    "map", "plan", "compare", "report", "season", "trial", "calendar", "spots", "clean", "raster",
    "profile",
];

/// The arguments of a command, without the program's name.
///
/// # Errors
/// When a choice it needs was not made, or names a file that is not in the field's folder.
pub fn arguments(
    command: &str,
    choices: &Choices,
    field: &Field,
    config: &Config,
    replace: bool,
) -> Result<Vec<String>, Refused> {
    let folder = field.typed_text();
    let needed = |day: &Option<String>, what: &str| {
        day.clone().ok_or_else(|| Refused::unusable(&format!("choose {what} first")))
    };
    let of_visit = || needed(&choices.visit, "a visit");
    let of_two = || -> Result<[String; 2], Refused> {
        let earlier = needed(&choices.earlier, "the earlier visit")?;
        Ok([earlier, needed(&choices.later, "the later visit")?])
    };
    let results = field.results(config);
    let in_results = |parts: &[&str]| {
        parts.iter().fold(results.clone(), |path, part| path.join(part)).display().to_string()
    };
    let mut list = vec![command.to_owned(), folder];
    match command {
        "map" | "plan" | "clean" => list.extend(["--visit".to_owned(), of_visit()?]),
        "profile" | "raster" => {
            let day = of_visit()?;
            let name = if command == "profile" { PROFILE } else { RASTER };
            let out = in_results(&[&day, name]);
            list.extend(["--visit".to_owned(), day, "--out".to_owned(), out]);
        }
        "compare" => list.extend(of_two()?),
        "trial" => {
            let [earlier, later] = of_two()?;
            let out = in_results(&[&format!("{earlier}_to_{later}"), TRIAL]);
            list.extend([earlier, later, "--out".to_owned(), out]);
        }
        "calendar" => list.extend(["--out".to_owned(), in_results(&[CALENDAR])]),
        "spots" if needs_earlier_visit(choices) => {
            list.extend(["--visit".to_owned(), of_visit()?]);
        }
        // Of all visits, or of none.
        "season" | "report" | "spots" => {}
        _ => return Err(unknown(command)),
    }
    for (flag, value) in choices.flags.get(command).into_iter().flatten() {
        let value = match kind_of(command, flag) {
            Some(Kind::File) => file_of(field, value)?,
            Some(Kind::Value) => value.clone(),
            Some(Kind::Switch) => String::new(),
            None => return Err(Refused::unusable(&format!("{command} has no --{flag} here"))),
        };
        match (value.is_empty(), value.starts_with('-')) {
            (true, _) => list.push(format!("--{flag}")),
            // Never read as another flag.
            (false, true) => list.push(format!("--{flag}={value}")),
            (false, false) => list.extend([format!("--{flag}"), value]),
        }
    }
    if replace {
        list.push("--replace".to_owned());
    }
    Ok(list)
}

/// Whether spots are planned from an earlier visit; other ways to place them refuse one.
fn needs_earlier_visit(choices: &Choices) -> bool {
    let flags = choices.flags.get("spots");
    ["again", "least-sure", "precision"]
        .iter()
        .any(|flag| flags.is_some_and(|it| it.contains_key(*flag)))
}

/// The page has no such command.
pub fn unknown(command: &str) -> Refused {
    let what = format!("{command:?} is no command of this page");
    Refused::new(StatusCode::NOT_FOUND, &what)
}

/// A file of the field's folder, as a command names it.
fn file_of(field: &Field, name: &str) -> Result<String, Refused> {
    let path = field.typed().join(name);
    let refuse = |problem: &str| Refused::unusable(&format!("{}: {problem}", path.display()));
    let real = path.canonicalize().map_err(|_| refuse("there is no such file"))?;
    match real.starts_with(field.absolute()) && real.is_file() {
        true => Ok(path.display().to_string()),
        false => Err(refuse("not a file of the field's folder")),
    }
}

/// The command that arguments are.
///
/// # Errors
/// When the command line would refuse them.
pub fn parsed(arguments: &[String]) -> Result<Command, Refused> {
    let all = std::iter::once("loosedepth").chain(arguments.iter().map(String::as_str));
    Ok(Cli::try_parse_from(all).map_err(|error| Refused::of_arguments(&error))?.command)
}

/// The text that a person types, quoted as a POSIX shell takes it (POSIX.1-2017, Shell Command Language, 2.2.2).
pub fn text(arguments: &[String]) -> String {
    let quoted: Vec<String> = arguments.iter().map(|argument| quoted(argument)).collect();
    format!("loosedepth {}", quoted.join(" "))
}

fn quoted(argument: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "-_=+,./:%@".contains(c);
    match !argument.is_empty() && argument.chars().all(is_plain) {
        true => argument.to_owned(),
        false => format!("'{}'", argument.replace('\'', r"'\''")),
    }
}

/// Whether a path stays below the folder it is joined to, by its words alone.
pub fn stays_below(path: &Path) -> bool {
    use std::path::Component;
    let mut parts = path.components().peekable();
    parts.peek().is_some() && parts.all(|part| matches!(part, Component::Normal(_)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shell_takes_an_argument_as_it_is() {
        assert_eq!(quoted("2025-04-14"), "2025-04-14");
        assert_eq!(quoted("my field"), "'my field'");
        assert_eq!(quoted("it's; rm -rf ~"), r"'it'\''s; rm -rf ~'");
        assert_eq!(quoted("$HOME`x`"), "'$HOME`x`'");
        assert_eq!(quoted("~me"), "'~me'");
        assert_eq!(quoted(""), "''");
    }
}
