//! The command that a result came from, as its page tells it: what matters to the result, and nothing of where
//! things lie on the machine.

use std::ffi::OsString;
use std::path::Path;

use formats::is_archive;

/// What stands for a field's folder or its archive: both give the same.
const FIELD: &str = "FIELD";

/// Options that say where a result goes, each with a value or without.
const PLACES: [(&str, bool); 2] = [("--out", true), ("--replace", false)];

/// The command this program was started with.
pub fn text() -> String {
    let is_field = |word: &str| Path::new(word).is_dir() || is_archive(Path::new(word));
    told(std::env::args_os().skip(1), is_field)
}

/// The words of a command: without where its result goes, files without their folders, and the first that names a field's
/// folder or archive as `FIELD`.
fn told(words: impl Iterator<Item = OsString>, is_field: impl Fn(&str) -> bool) -> String {
    let mut told = vec!["loosedepth".to_owned()];
    let mut words = words.map(|word| word.to_string_lossy().into_owned());
    told.extend(words.next());
    let mut has_field = false;
    while let Some(word) = words.next() {
        let name = word.split('=').next().unwrap_or_default();
        if let Some((_, has_value)) = PLACES.iter().find(|(place, _)| *place == name) {
            if *has_value && !word.contains('=') {
                words.next();
            }
            continue;
        }
        let is_first_field = !has_field && !word.starts_with("--") && is_field(&word);
        has_field |= is_first_field;
        told.push(if is_first_field { FIELD.into() } else { quoted(&without_folder(&word)) });
    }
    told.join(" ")
}

/// A word, of which a file's path keeps the file's name alone.
fn without_folder(word: &str) -> String {
    let (option, value) = match word.split_once('=') {
        Some((option, value)) if option.starts_with("--") => (format!("{option}="), value),
        _ => (String::new(), word),
    };
    let path = Path::new(value);
    match path.file_name().filter(|_| path.exists()) {
        Some(name) => format!("{option}{}", name.to_string_lossy()),
        None => word.to_owned(),
    }
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
        told(words.iter().map(OsString::from), |word| word == "fields/north")
    }

    #[test]
    fn where_a_result_goes_is_not_told() {
        let words =
            ["report", "fields/north", "--out", "x/y", "--replace", "--units=si", "--out=z"];
        assert_eq!(of(&words), "loosedepth report FIELD --units=si");
    }

    #[test]
    fn options_may_come_before_the_field() {
        let words = [
            "report",
            "--strict",
            "fields/north",
            "--visit",
            "2025-04-14",
            "--title",
            "Bob's field",
        ];
        assert_eq!(
            of(&words),
            r"loosedepth report --strict FIELD --visit 2025-04-14 --title 'Bob'\''s field'"
        );
    }

    #[test]
    fn a_file_keeps_its_name_alone() {
        let file = concat!(env!("CARGO_MANIFEST_DIR"), "/src/main.rs");
        let words = ["report", file, &format!("--boundary={file}"), "--threshold", "200psi"];
        let expected = "loosedepth report main.rs --boundary=main.rs --threshold 200psi";
        assert_eq!(of(&words), expected);
    }
}
