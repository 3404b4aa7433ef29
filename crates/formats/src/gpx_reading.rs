//! A reading in a waypoint's name, comment or description, where people write it by hand.
//!
//! ```text
//! reading = [ "d" | "depth" ] [ "=" | ":" ] [ ">=" | "≥" | ">" ] number [ "+" ] unit
//! number  = digits [ ( "." | "," ) digits ]
//! unit    = "in" | "inch" | "inches" | '"' | "cm" | "mm"
//! ```
//!
//! in any case, anywhere in the text, spaces between the parts or not: `d=9in`, `P12 9 in`,
//! `>=18in`, `18+ in`, `d: 23cm`, `9"`. Two things are no reading, for half of them would be read: a
//! number behind a slash, or behind another number and a blank, a dash, `to` or `or` (`1 1/2 in`,
//! `9 - 12 in`). And the word `in` behind a blank is a unit only at the end of the text, before
//! punctuation, or where `d` or `depth` stands before the number: `row 7 in the north` is none. Beside it the words of a note that say why there is no
//! reading: `stone`, `rock`, `root`, `refusal`, `skipped`, `missed`. A number without a unit is not a
//! depth, whatever stands before it; metres are not read, for they are mostly distances.

use survey::DepthUnit;

/// A depth in a text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ReadingInText {
    pub number: f64,
    pub unit: DepthUnit,
    pub or_deeper: bool,
    /// Where in the text it stands, in bytes.
    from: usize,
    to: usize,
}

/// The readings in a text.
pub(crate) fn readings_in(text: &str) -> Vec<ReadingInText> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = text[at..].find(|c: char| c.is_ascii_digit()).map(|k| at + k) {
        let end = number_end(text, start);
        at = end;
        if let Some(reading) = reading(text, start, end) {
            at = reading.to;
            found.push(reading);
        }
    }
    found
}

/// The text without its readings, as a name: `P12 d=9in` is `P12`.
pub(crate) fn without_readings(text: &str) -> &str {
    let cut = readings_in(text).first().map_or(text, |reading| {
        match text[..reading.from].trim().is_empty() {
            true => &text[reading.to..],
            false => &text[..reading.from],
        }
    });
    cut.trim_matches(|c: char| c.is_whitespace() || ",;:-/|()".contains(c))
}

/// Whether a text is a number alone, perhaps behind `d=`: a depth that lacks its unit.
pub(crate) fn is_bare_number(text: &str) -> bool {
    let text = text.trim().to_ascii_lowercase();
    let text = ["depth", "d"].iter().find_map(|word| text.strip_prefix(word)).unwrap_or(&text);
    let number =
        text.trim_start_matches(|c: char| " =:>≥".contains(c)).trim_end_matches(['+', ' ']);
    !number.is_empty() && number.replacen(',', ".", 1).parse::<f64>().is_ok()
}

/// Where the number ends that begins at a digit.
fn number_end(text: &str, start: usize) -> usize {
    let digits = |from: usize| {
        let rest = &text[from..];
        from + rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len())
    };
    let whole = digits(start);
    match text[whole..].starts_with(['.', ',']) {
        true if digits(whole + 1) > whole + 1 => digits(whole + 1),
        _ => whole,
    }
}

fn reading(text: &str, start: usize, end: usize) -> Option<ReadingInText> {
    let number: f64 = text[start..end].replacen(',', ".", 1).parse().ok()?;
    let after = text[end..].trim_start();
    let plus = after.strip_prefix('+').map(str::trim_start);
    let unit_from = text.len() - plus.unwrap_or(after).len();
    let (unit, rest) = unit(&text[unit_from..])?;
    let before = text[..start].trim_end();
    let sign = [">=", "≥", ">"].iter().find_map(|sign| before.strip_suffix(sign));
    let signed = sign.unwrap_or(&text[..start]);
    let before = signed.trim_end();
    // `ci=9in` and `ci:9in` are depths of something else, `P12: 9in` is not.
    let (equals, before) = match before.strip_suffix(['=', ':']) {
        Some(rest) => (before.ends_with('=') || signed == before, rest.trim_end()),
        None => (false, before),
    };
    let lower = before.to_ascii_lowercase();
    let word = ["depth", "d"].into_iter().find(|word| {
        lower.strip_suffix(word).is_some_and(|left| !left.ends_with(char::is_alphanumeric))
    });
    let from = before.len() - word.map_or(0, str::len);
    // `P12in` and `-9in` are no depths: a digit's neighbour must be a sign or a space, or `d`.
    let touches = text[..start].ends_with(|c: char| c.is_alphanumeric() || "-–—.,".contains(c));
    let named_otherwise = equals && word.is_none() && before.ends_with(char::is_alphanumeric);
    if (touches && word.is_none()) || named_otherwise || ends_in_number(signed) {
        return None;
    }
    if word.is_none() && !is_unit_here(text, end, unit_from, rest) {
        return None;
    }
    let or_deeper = sign.is_some() || plus.is_some();
    Some(ReadingInText { number, unit, or_deeper, from, to: text.len() - rest.len() })
}

/// Whether what stands before a number is the rest of a fraction or a range: `1/`, `9 -`, `7 `.
fn ends_in_number(before: &str) -> bool {
    let before = before.trim_end();
    if before.ends_with('/') {
        return true;
    }
    let joined = before.trim_end_matches(|c: char| "-–—".contains(c) || c.is_whitespace());
    let joined = [" to", " or"].iter().find_map(|word| joined.strip_suffix(word)).unwrap_or(joined);
    let last = joined.rsplit(char::is_whitespace).next().unwrap_or_default();
    last.starts_with(|c: char| c.is_ascii_digit())
        && last.chars().all(|c| c.is_ascii_digit() || ".,/+".contains(c))
}

/// Whether a unit is one where it stands: the word `in` behind a blank may be a preposition.
fn is_unit_here(text: &str, number_end: usize, unit_from: usize, rest: &str) -> bool {
    let unit = &text[unit_from..text.len() - rest.len()];
    let is_glued = !text[number_end..unit_from].contains(char::is_whitespace);
    let ends = || !rest.trim_start_matches(' ').starts_with(char::is_alphanumeric);
    is_glued || !unit.eq_ignore_ascii_case("in") || ends()
}

/// The unit that a text begins with, and what follows it.
fn unit(text: &str) -> Option<(DepthUnit, &str)> {
    if let Some(rest) = text.strip_prefix(['"', '″', '”']) {
        return Some((DepthUnit::Inches, rest));
    }
    let end = text.find(|c: char| !c.is_alphabetic()).unwrap_or(text.len());
    let unit = DepthUnit::from_name(&text[..end]).filter(|unit| *unit != DepthUnit::Metres)?;
    Some((unit, &text[end..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_people_write() {
        use DepthUnit::{Centimetres, Inches, Millimetres};
        for (text, number, unit, or_deeper) in [
            ("d=9in", 9.0, Inches, false),
            ("9 in", 9.0, Inches, false),
            ("D = 9 IN", 9.0, Inches, false),
            ("depth: 7.5 inches", 7.5, Inches, false),
            ("d=23cm", 23.0, Centimetres, false),
            ("22,5 cm", 22.5, Centimetres, false),
            ("230mm", 230.0, Millimetres, false),
            ("9\"", 9.0, Inches, false),
            (">=18in", 18.0, Inches, true),
            ("> 18 in", 18.0, Inches, true),
            ("≥18 in", 18.0, Inches, true),
            ("18+ in", 18.0, Inches, true),
            ("d>=18in", 18.0, Inches, true),
            ("d9in", 9.0, Inches, false),
            ("P12 9in, wet", 9.0, Inches, false),
            ("P12: 9in", 9.0, Inches, false),
            ("12: 9in", 9.0, Inches, false),
            ("P12 9 in, wet", 9.0, Inches, false),
            ("P12 9 in.", 9.0, Inches, false),
            ("depth 7 in in the north", 7.0, Inches, false),
            ("7 inches in the north", 7.0, Inches, false),
            ("P12 d=9in 12 m from the tree", 9.0, Inches, false),
        ] {
            let found = readings_in(text);
            assert_eq!(found.len(), 1, "{text}: {found:?}");
            let ReadingInText { number: n, unit: u, or_deeper: o, .. } = found[0];
            assert_eq!((n, u, o), (number, unit, or_deeper), "{text}");
        }
    }

    #[test]
    fn what_is_no_reading() {
        for text in
            ["9", "P012", "12 m", "ci=9in", "-9in", "9 indoors", "P12in", "stone", "", "18+"]
        {
            assert_eq!(readings_in(text), [], "{text}");
        }
        for text in [
            "1 1/2 in",
            "d=1 1/2 in",
            "1/2\"",
            "9 - 12 in",
            "9-12 in",
            "9 – 12 in",
            "9 to 12 in",
            "12 9in",
            "Row 7 in north part",
            "tree 12 in 3 m",
        ] {
            assert_eq!(readings_in(text), [], "{text}");
        }
        for text in ["9", "d=9", " 22,5 ", ">=18", "18+", "depth: 9"] {
            assert!(is_bare_number(text), "{text}");
        }
        for text in ["P9", "", "9in", "2025-04-14", "d"] {
            assert!(!is_bare_number(text), "{text}");
        }
        assert_eq!(readings_in("9in 12in").len(), 2);
    }

    #[test]
    fn a_name_is_what_is_left() {
        assert_eq!(without_readings("P12 d=9in"), "P12");
        assert_eq!(without_readings("P12: >=18 in"), "P12");
        assert_eq!(without_readings("9in P12"), "P12");
        assert_eq!(without_readings("9in"), "");
        assert_eq!(without_readings("P12"), "P12");
    }
}
