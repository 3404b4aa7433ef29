//! The command that a result came from, as its page tells it: what matters to the result, and nothing of where
//! things lie on the machine.

use std::any::TypeId;
use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};

use clap::parser::ValueSource;
use clap::{Arg, ArgMatches, Command, CommandFactory};
use formats::is_archive;

use crate::args::Cli;

/// What stands for a field's folder or its archive: both give the same.
const FIELD: &str = "FIELD";

/// Options that say where a result goes.
const PLACES: [&str; 2] = ["out", "replace"];

/// The command this program was started with.
pub fn text() -> String {
    told(std::env::args_os(), |path| path.is_dir() || is_archive(path))
}

/// A command as it was understood: without where its result goes, files without their folders, and a field's folder or
/// archive as `FIELD`. Only what is meant as a file or folder is taken for one.
fn told(words: impl IntoIterator<Item = OsString>, is_field: impl Fn(&Path) -> bool) -> String {
    let mut command = Cli::command();
    let Ok(matches) = command.try_get_matches_from_mut(words) else { return "loosedepth".into() };
    let Some((name, given)) = matches.subcommand() else { return "loosedepth".into() };
    let mut parts: Vec<(usize, String)> = command
        .find_subcommand(name)
        .into_iter()
        .flat_map(Command::get_arguments)
        .filter(|arg| !PLACES.contains(&arg.get_id().as_str()))
        .flat_map(|arg| parts_of(arg, given, &is_field))
        .collect();
    parts.sort_by_key(|(at, _)| *at);
    let parts = parts.into_iter().map(|(_, part)| part);
    ["loosedepth".to_owned(), name.to_owned()]
        .into_iter()
        .chain(parts)
        .collect::<Vec<_>>()
        .join(" ")
}

/// An argument as it was given, each time with its place on the command line; nothing where it was not.
fn parts_of(
    arg: &Arg,
    given: &ArgMatches,
    is_field: impl Fn(&Path) -> bool,
) -> Vec<(usize, String)> {
    let id = arg.get_id().as_str();
    if given.value_source(id) != Some(ValueSource::CommandLine) {
        return Vec::new();
    }
    let places: Vec<usize> = given.indices_of(id).into_iter().flatten().collect();
    let is_option = arg.get_long().is_some();
    let option = arg.get_long().map(|long| format!("--{long}"));
    if !arg.get_action().takes_values() {
        return places.first().copied().zip(option).into_iter().collect();
    }
    let is_path = arg.get_value_parser().type_id() == TypeId::of::<PathBuf>();
    let text = |value: &OsStr| match is_path {
        true if !is_option && is_field(Path::new(value)) => FIELD.to_owned(),
        true => quoted(&file_name(value)),
        false => quoted(&value.to_string_lossy()),
    };
    let mut places = places.into_iter();
    let occurrences = given.get_raw_occurrences(id).into_iter().flatten();
    match option {
        // Options may stand between the values of what has no name.
        None => places.zip(occurrences.flatten().map(text)).collect(),
        Some(option) => occurrences
            .filter_map(|values| {
                let values: Vec<String> = values.map(text).collect();
                let at = places.by_ref().take(values.len()).min()?;
                let between = arg.get_value_delimiter().unwrap_or(' ').to_string();
                Some((at, format!("{option} {}", values.join(&between))))
            })
            .collect(),
    }
}

/// The name of a file without its folder.
fn file_name(path: &OsStr) -> String {
    Path::new(path).file_name().unwrap_or(path).to_string_lossy().into_owned()
}

/// A word as a shell takes it for one.
fn quoted(word: &str) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || "-_./:=,+%@".contains(c);
    match !word.is_empty() && word.chars().all(is_plain) {
        true => word.to_owned(),
        false => format!("'{}'", word.replace('\'', r"'\''")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(words: &[&str]) -> String {
        let words = ["loosedepth"].iter().chain(words).map(OsString::from);
        told(words, |path| path == Path::new("fields/north"))
    }

    #[test]
    fn where_a_result_goes_is_not_told() {
        let words =
            ["report", "fields/north", "--out", "x/y", "--replace", "--units=si", "--strict"];
        assert_eq!(of(&words), "loosedepth report FIELD --units si --strict");
        assert_eq!(of(&["report", "fields/north", "--out=z"]), "loosedepth report FIELD");
    }

    #[test]
    fn options_may_come_before_the_field_and_among_its_days() {
        let words = [
            "report",
            "--strict",
            "fields/north",
            "2025-04-14",
            "--title",
            "Bob's field",
            "2025-08-24",
        ];
        assert_eq!(
            of(&words),
            r"loosedepth report --strict FIELD 2025-04-14 --title 'Bob'\''s field' 2025-08-24"
        );
    }

    #[test]
    fn only_what_is_meant_as_a_place_is_taken_for_one() {
        // A title that is also the name of a folder or a file that is there.
        let file = concat!(env!("CARGO_MANIFEST_DIR"), "/src/main.rs");
        let words = ["report", "--title", "fields/north", "fields/north"];
        assert_eq!(of(&words), "loosedepth report --title fields/north FIELD");
        let words = ["report", "--title", file, "fields/north"];
        assert_eq!(of(&words), format!("loosedepth report --title {file} FIELD"));
    }

    #[test]
    fn a_file_keeps_its_name_alone_and_a_list_its_commas() {
        let words = [
            "report",
            "there/is none/survey.geojson",
            "--boundary=../b.geojson",
            "--threshold",
            "200psi",
            "--classes",
            "4,6,9.5",
        ];
        let expected = "loosedepth report survey.geojson --boundary b.geojson --threshold 200psi --classes 4,6,9.5";
        assert_eq!(of(&words), expected);
    }
}
