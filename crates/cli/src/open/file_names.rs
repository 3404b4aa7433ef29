//! Names of dropped files, as they may stand in the field's folder.

use crate::terminal;

/// The longest name, in bytes.
const LONGEST: usize = 120;

/// Names that are devices on some systems whatever their ending.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "com", "lpt"];

/// A name without path, control characters and leading dots, with a letter or digit in it.
///
/// # Errors
/// When nothing is left, or what is left is no name on every system.
pub fn clean(given: &str) -> Result<String, String> {
    let last = given.rsplit(['/', '\\']).next().unwrap_or_default();
    let shown = terminal::one_line(last);
    let plain: String =
        shown.chars().map(|c| if r#"<>:"|?*"#.contains(c) { '-' } else { c }).collect();
    let name = plain.trim().trim_start_matches(['.', '-', ' ', '~']).trim_end_matches(['.', ' ']);
    let refuse = |problem: &str| Err(format!("{:?} {problem}", terminal::one_line(given)));
    let stem = name.split('.').next().unwrap_or_default().to_lowercase();
    let is_device = DEVICES.contains(&stem.trim_end_matches(|c: char| c.is_ascii_digit()));
    match name.chars().any(char::is_alphanumeric) {
        false => refuse("is no name of a file; give it one"),
        true if name.len() > LONGEST => refuse("is too long a name; give it a shorter one"),
        true if is_device => refuse("is no name of a file on every system; give it another"),
        true => Ok(name.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_leads_nowhere() {
        for (given, name) in [
            ("2025-04-14.geojson", "2025-04-14.geojson"),
            ("../../etc/passwd", "passwd"),
            (r"C:\data\Feld Süd.csv", "Feld Süd.csv"),
            (".loosedepth.toml", "loosedepth.toml"),
            ("a\u{1b}[31m\u{202e}b.csv", "a[31mb.csv"),
            ("--out=x.csv", "out=x.csv"),
            ("a:b?.csv", "a-b-.csv"),
        ] {
            assert_eq!(clean(given).unwrap(), name, "{given:?}");
        }
        for given in
            ["", "..", "/", "...", "a/..", "\u{0}", "nul.csv", "COM1.csv", &"a".repeat(300)]
        {
            assert!(clean(given).is_err(), "{given:?}");
        }
    }
}
