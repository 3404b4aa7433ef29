//! Numbers, yes and no, days and times, as files write them.

use jiff::civil::{Date, Time};
use serde_json::Value;

use crate::record::{Comma, Numbers};

/// What a JSON value is, in words.
pub(crate) fn kind(value: &Value) -> String {
    match value {
        Value::Null => "null".into(),
        Value::Bool(value) => value.to_string(),
        Value::Number(number) => format!("the number {number}"),
        Value::String(text) => format!("the text {}", shown(text)),
        Value::Array(_) => "a list".into(),
        Value::Object(_) => "an object".into(),
    }
}

/// A text in quotes, at most 40 characters of it.
pub(crate) fn shown(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{:?}…", &text[..end]),
        None => format!("{text:?}"),
    }
}

/// Whether there is nothing: null, and in formats of text also nothing but spaces or a common mark
/// for a missing value.
pub(crate) fn is_missing(value: &Value, numbers: Numbers) -> bool {
    const MARKS: [&str; 7] = ["", "na", "n/a", "nan", "null", "-", "--"];
    match (value, numbers) {
        (Value::Null, _) => true,
        (Value::String(text), Numbers::Text { .. }) => {
            let text = text.trim();
            text.len() <= 4 && MARKS.contains(&text.to_ascii_lowercase().as_str())
        }
        _ => false,
    }
}

/// A number, or nothing where it is missing.
pub(crate) fn number(key: &str, value: &Value, numbers: Numbers) -> Result<Option<f64>, String> {
    match (value, numbers) {
        (value, numbers) if is_missing(value, numbers) => Ok(None),
        (Value::Number(number), _) => match number.as_f64().filter(|number| number.is_finite()) {
            Some(number) => Ok(Some(number)),
            None => Err(format!("{key} is {number}, too large for a number")),
        },
        (Value::String(text), Numbers::Text { .. }) => match number_in(text, numbers) {
            Some(number) => Ok(Some(number)),
            None if is_doubtful(text, numbers) => {
                Err(format!("{key} is {}: a decimal or a thousands comma?", text.trim()))
            }
            None => Err(format!("{key} is the text {}, not a number", shown(text))),
        },
        (other, _) => Err(format!("{key} is {}, not a number", kind(other))),
    }
}

/// The number that a text is, and nothing else; digits, sign, point (or comma), exponent.
pub(crate) fn number_in(text: &str, numbers: Numbers) -> Option<f64> {
    let text = text.trim();
    let comma = matches!(numbers, Numbers::Text { comma: Comma::Decimal | Comma::Doubtful });
    let ordinary = |c: char| c.is_ascii_digit() || "+-.eE".contains(c) || (comma && c == ',');
    if text.is_empty() || text.len() > 400 || !text.chars().all(ordinary) {
        return None;
    }
    let parsed = match text.contains(',') {
        true if text.contains('.') || is_doubtful(text, numbers) => None,
        true => text.replacen(',', ".", 1).parse().ok(),
        false => text.parse().ok(),
    };
    parsed.filter(|number: &f64| number.is_finite())
}

/// Whether it cannot be told what a number's comma is: `1,379` may be 1379 or 1.379.
fn is_doubtful(text: &str, numbers: Numbers) -> bool {
    numbers == Numbers::Text { comma: Comma::Doubtful } && may_be_thousands(text)
}

/// Whether all commas of a text stand where marks of thousands do: `1,379`, but not `0,379`.
pub(crate) fn may_be_thousands(text: &str) -> bool {
    let mut groups = text.trim().trim_start_matches(['-', '+']).split(',');
    let is_number = |group: &str| group.bytes().all(|byte| byte.is_ascii_digit());
    let first = groups.next().unwrap_or_default();
    let mut rest = groups.peekable();
    (1..=3).contains(&first.len())
        && is_number(first)
        && !first.starts_with('0')
        && rest.peek().is_some()
        && rest.all(|group| group.len() == 3 && is_number(group))
}

/// Yes or no, or nothing where it is missing.
pub(crate) fn flag(key: &str, value: &Value, numbers: Numbers) -> Result<Option<bool>, String> {
    let wrong = || Err(format!("{key} is {}, not true or false", kind(value)));
    match (value, numbers) {
        (value, numbers) if is_missing(value, numbers) => Ok(None),
        (Value::Bool(value), _) => Ok(Some(*value)),
        (Value::String(text), Numbers::Text { .. }) => {
            match text.trim().to_ascii_lowercase().as_str() {
                "true" | "t" | "yes" | "y" | "1" => Ok(Some(true)),
                "false" | "f" | "no" | "n" | "0" => Ok(Some(false)),
                _ => wrong(),
            }
        }
        _ => wrong(),
    }
}

/// The day that a text begins with, ISO 8601: `2025-04-14` or `20250414`, and what follows it.
pub(crate) fn day(text: &str) -> Option<(Date, &str)> {
    let text = text.trim();
    if let Some(Ok(date)) = text.get(..10).map(str::parse) {
        return Some((date, &text[10..]));
    }
    let basic = text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit());
    basic.then(|| text.parse().ok()).flatten().map(|date| (date, ""))
}

/// The time of day that a text is, ISO 8601: `09:30`, `T9:30:15`, `09:30:15.2Z`, `09:30+02:00`. A
/// time stands as it is written: a zone behind it changes nothing.
pub(crate) fn time(text: &str) -> Option<Time> {
    let text = text.trim().trim_start_matches(['T', 't']);
    let end = text.find(|c: char| !c.is_ascii_digit() && !":.".contains(c)).unwrap_or(text.len());
    let (clock, zone) = text.split_at(end);
    if !is_zone(zone.trim()) || !clock.contains(':') {
        return None;
    }
    match clock.find(':') {
        Some(1) => format!("0{clock}").parse().ok(),
        _ => clock.parse().ok(),
    }
}

/// Nothing, `Z`, `UTC`, or an offset such as `+02:00`, `+0200`, `-06`.
fn is_zone(text: &str) -> bool {
    let offset = |text: &str| {
        let digits = text.chars().filter(char::is_ascii_digit).count();
        matches!(digits, 2 | 4) && text.chars().all(|c| c.is_ascii_digit() || c == ':')
    };
    match text {
        "" | "Z" | "z" | "UTC" => true,
        _ => text.strip_prefix(['+', '-', '\u{2212}']).is_some_and(offset),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const COMMA: Numbers = Numbers::Text { comma: Comma::Decimal };
    const DOUBT: Numbers = Numbers::Text { comma: Comma::Doubtful };
    const POINT: Numbers = Numbers::Text { comma: Comma::Separator };

    #[test]
    fn a_comma_is_a_decimal_one_only_where_it_is_told() {
        assert_eq!(number_in(" 3,5 ", COMMA), Some(3.5));
        assert_eq!(number_in("3.5", COMMA), Some(3.5));
        assert_eq!(number_in("1.234,5", COMMA), None);
        assert_eq!(number_in("1,234,5", COMMA), None);
        assert_eq!(number_in("3,5", POINT), None);
        for text in ["inf", "nan", "0x9", "9 in", "1e999", ""] {
            assert_eq!(number_in(text, POINT), None, "{text}");
        }
    }

    #[test]
    fn a_comma_of_thousands_is_not_taken_for_a_decimal_one() {
        assert_eq!(number_in("1,379", COMMA), Some(1.379));
        assert_eq!(number_in("1,379", DOUBT), None);
        assert_eq!(number_in("12,5", DOUBT), Some(12.5));
        assert_eq!(number_in("0,379", DOUBT), Some(0.379));
        let problem = number("ci", &Value::from("-1,379"), DOUBT).unwrap_err();
        assert_eq!(problem, "ci is -1,379: a decimal or a thousands comma?");
    }

    #[test]
    fn a_time_stands_as_it_is_written() {
        let half_past_nine: Time = "09:30:00".parse().unwrap();
        for text in ["09:30", "9:30", "T09:30:00Z", "09:30:00+02:00", "09:30:00.000-0600"] {
            assert_eq!(time(text), Some(half_past_nine), "{text}");
        }
        for text in ["", "930", "25:00", "9:30 PM", "09:30 local"] {
            assert_eq!(time(text), None, "{text}");
        }
        assert_eq!(day("2025-04-14T09:30").unwrap().1, "T09:30");
        assert_eq!(day("20250414").unwrap().0, "2025-04-14".parse().unwrap());
        assert!(day("14/04/2025").is_none());
    }
}
