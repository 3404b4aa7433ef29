//! Names of archived files: paths below a folder that every system can write, inside of it, and of which
//! none takes the place of another.

use std::collections::{BTreeMap, BTreeSet};

use crate::plain_text::{cut, is_plain, plain};

/// The longest name, and the longest part of one, bytes: what the common file systems take.
const LONGEST_NAME: usize = 1_000;
const LONGEST_PART: usize = 255;
/// The most folders within each other.
const DEEPEST: usize = 16;
/// How much of a name is shown.
const SHOWN: usize = 120;
/// Names of devices on Windows, with any extension.
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];
const NUMBERED_DEVICES: [&str; 2] = ["com", "lpt"];

/// Names that were accepted.
#[derive(Default)]
pub(crate) struct Names {
    /// As some systems compare them, and as they are written.
    files: BTreeMap<String, String>,
    folders: BTreeSet<String>,
}

impl Names {
    /// Accepts a name, or says what is wrong with it.
    pub fn accept(&mut self, name: &str) -> Result<(), String> {
        fault(name).map_or(Ok(()), |fault| Err(format!("file name {} {fault}", shown(name))))?;
        let compared = name.to_lowercase();
        if let Some(taken) = self.files.get(&compared) {
            return Err(match taken == name {
                true => format!("file {} stands there twice", shown(name)),
                false => format!(
                    "files {} and {} differ only in case, which some systems take for one",
                    shown(taken),
                    shown(name)
                ),
            });
        }
        let folders: Vec<&str> =
            compared.match_indices('/').map(|(end, _)| &compared[..end]).collect();
        let both = folders.iter().any(|folder| self.files.contains_key(*folder));
        if both || self.folders.contains(&compared) {
            return Err(format!("{} would have to be a file and a folder", shown(name)));
        }
        self.folders.extend(folders.into_iter().map(str::to_owned));
        self.files.insert(compared, name.to_owned());
        Ok(())
    }
}

/// A name as a message shows it.
pub(super) fn shown(name: &str) -> String {
    format!("{:?}", cut(&plain(name), SHOWN))
}

/// What is wrong with a name by itself.
fn fault(name: &str) -> Option<&'static str> {
    let parts = || name.split('/');
    let any = |is: fn(&str) -> bool| parts().any(is);
    if name.is_empty() {
        return Some("is empty");
    }
    if name.len() > LONGEST_NAME || any(|part| part.len() > LONGEST_PART) {
        return Some("is too long");
    }
    if !name.chars().all(is_plain) {
        return Some("has a control character");
    }
    if name.starts_with('/') {
        return Some("begins at the root of the disk; it must lie below the field's folder");
    }
    if name.contains('\\') {
        return Some("has a backslash; folders are separated by /");
    }
    if name.contains(':') {
        return Some("has a colon, which is for drives on some systems");
    }
    if any(|part| part == "..") {
        return Some("leads out of its folder with ..");
    }
    if any(|part| part.is_empty() || part == ".") {
        return Some("has an empty part between two /");
    }
    if any(|part| part.ends_with(['.', ' '])) {
        return Some("has a part that ends in a dot or a blank, which some systems drop");
    }
    if any(is_device) {
        return Some("is the name of a device on some systems");
    }
    (parts().count() > DEEPEST).then_some("lies in too many folders within each other")
}

fn is_device(part: &str) -> bool {
    let stem = part.split('.').next().unwrap_or_default().trim_end().to_lowercase();
    let numbered = |device: &str| {
        stem.strip_prefix(device).is_some_and(|rest| {
            let mut digits = rest.chars();
            matches!((digits.next(), digits.next()), (Some('0'..='9' | '¹' | '²' | '³'), None))
        })
    };
    DEVICES.contains(&stem.as_str()) || NUMBERED_DEVICES.into_iter().any(numbered)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_that_lead_elsewhere_are_refused() {
        let long = "a/".repeat(DEEPEST) + "b";
        for (name, expected) in [
            ("", "is empty"),
            ("..", "leads out"),
            ("visits/../../x", "leads out"),
            ("/etc/passwd", "root of the disk"),
            ("C:/x", "colon"),
            ("c:x", "colon"),
            ("x.csv:stream", "colon"),
            ("visits\\x", "backslash"),
            ("\\\\server\\x", "backslash"),
            ("a\nb", "control character"),
            ("a\0", "control character"),
            ("a\u{202e}gpj.exe", "control character"),
            ("visits//x", "empty part"),
            ("visits/", "empty part"),
            ("./x", "empty part"),
            (".. /x", "dot or a blank"),
            ("x.", "dot or a blank"),
            ("visits/NUL", "device"),
            ("com1.csv", "device"),
            (long.as_str(), "too many folders"),
            (&"n".repeat(256), "too long"),
        ] {
            let problem = Names::default().accept(name).unwrap_err();
            assert!(problem.contains(expected), "{name:?}: {problem}");
        }
    }

    #[test]
    fn ordinary_names_are_accepted() {
        let mut names = Names::default();
        for name in [
            "loosedepth.toml",
            "visits/2025-04-14.geojson",
            "visits/Åker nord.csv",
            "a..b",
            "..hidden",
            "console.csv",
            "com12",
            "com",
        ] {
            assert_eq!(names.accept(name), Ok(()), "{name}");
        }
    }

    #[test]
    fn no_name_takes_the_place_of_another() {
        let second = |first: &str, second: &str| {
            let mut names = Names::default();
            names.accept(first).unwrap();
            names.accept(second).unwrap_err()
        };
        assert!(second("a/b", "a/b").contains("twice"));
        assert!(second("Visits/Å.csv", "visits/å.CSV").contains("differ only in case"));
        assert!(second("a", "A/b").contains("a file and a folder"));
        assert!(second("a/b/c", "A/b").contains("a file and a folder"));
    }

    proptest! {
        /// Whatever is accepted lies below the folder it is joined to.
        #[test]
        fn an_accepted_name_stays_inside(name in "[a.:/\\\\ ~\\PC]{0,12}") {
            if Names::default().accept(&name).is_ok() {
                let joined = std::path::Path::new("folder").join(&name);
                let inside = joined.components().all(|part| matches!(part, std::path::Component::Normal(_)));
                prop_assert!(inside && joined.starts_with("folder"), "{name:?}");
            }
        }
    }
}
