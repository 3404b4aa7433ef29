//! A cleaned survey as CSV: RFC 4180 (IETF, October 2005), section 2, with line feeds.
//!
//! UTF-8, comma, decimal point, a header; `latitude` and `longitude` in degrees, to the last digit
//! read. An empty field is missing. A column is there where one record has it. A field with a comma, a
//! quote, a semicolon, a tab or a line's end is in quotes. A profile takes a line for each reading, and
//! the column `insertion` tells which lines are one profile. The readers make the same insertions of it
//! again; see `survey_records` for the names and the rules of texts. One thing a table cannot say: a
//! NUL, which makes a file binary, is dropped.

use serde_json::Value;
use survey::Survey;

use crate::exact_number::value;
use crate::survey_records::{InsertionRecord, NAMES, records};

/// A survey as a table that reads back to the same insertions exactly.
pub fn survey_csv(survey: &Survey) -> String {
    let records = records(survey);
    let is_used = |name: &&str| records.iter().any(|r| r.said.iter().any(|(said, _)| said == name));
    let names: Vec<&str> = NAMES.into_iter().filter(is_used).collect();
    let has_profile = records.iter().any(|record| lines_of(record) > 0);
    let first = [Some("latitude"), Some("longitude"), has_profile.then_some(INSERTION)];
    let header = first.into_iter().flatten().chain(names.iter().copied());
    let mut text = header.collect::<Vec<_>>().join(",") + "\n";
    for (index, record) in records.iter().enumerate() {
        let number = |number: usize| has_profile.then(|| number.to_string());
        match lines_of(record) {
            0 => text.push_str(&line(record, &names, number(0).map(|_| String::new()), 0)),
            lines => {
                for reading in 0..lines {
                    text.push_str(&line(record, &names, number(index + 1), reading));
                }
            }
        }
    }
    text
}

/// The column that keeps profiles apart.
const INSERTION: &str = "insertion";

/// How many readings a record's lists have; 0 where it has none.
fn lines_of(record: &InsertionRecord) -> usize {
    let lists = record.said.iter().filter_map(|(_, value)| value.as_array());
    lists.map(Vec::len).max().unwrap_or(0)
}

/// One line: of a list, the value of one reading.
fn line(
    record: &InsertionRecord,
    names: &[&str],
    number: Option<String>,
    reading: usize,
) -> String {
    let said = |name: &&str| record.said.iter().find(|(said, _)| said == name);
    let fields = names.iter().map(|name| match said(name) {
        Some((_, Value::Array(list))) => list.get(reading).map_or(String::new(), field),
        Some((_, one)) => field(one),
        None => String::new(),
    });
    let place = [record.place.lat_deg, record.place.lon_deg].map(|degrees| field(&value(degrees)));
    place.into_iter().chain(number).chain(fields).collect::<Vec<_>>().join(",") + "\n"
}

fn field(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) if text.contains('\0') => {
            let text = text.replace('\0', "");
            field(&Value::from(text.trim()))
        }
        Value::String(text) if text.contains(|c: char| ",;\"\t".contains(c) || c.is_control()) => {
            format!("\"{}\"", text.replace('"', "\"\""))
        }
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey_records::tests::every_kind;

    #[test]
    fn a_field_is_quoted_where_it_must_be() {
        let text = |text: &str| field(&Value::from(text));
        assert_eq!(text("no-till; é"), "\"no-till; é\"");
        assert_eq!(text("a \"b\""), "\"a \"\"b\"\"\"");
        assert_eq!(text("plain 7"), "plain 7");
        assert_eq!(text("\0 x\0"), "x");
    }

    #[test]
    fn one_line_a_record_and_empty_is_missing() {
        let expected = "\
latitude,longitude,insertion,point_id,date,time,depth_in,depth_cm,cone_index_psi,outcome,at_least,threshold_psi,threshold_mpa,moisture_pct,accuracy_m,cone_mm,cone_in,instrument,operator,group,note
41.93,-95.61999999999999,,P1,2025-04-14,09:30:00,7.5,,,reached,,200,,21.5,0.02,12.83,,dial,Åsa,\"strip, no-till\",\"dry
and \"\"loose\"\"\"
42,-95.5,,,,,,45,,not_reached,true,,2,,,,,,,,
42,-95.5,,,,,,,,stone,,,,,,,0.75,,,,
42,-95.5,,,,,,,,skipped,,,,,,,,,,,gate
42,-95.5,5,P5,,,1,,50,,,,,,,,,,,,
42,-95.5,5,P5,,,2,,125,,,,,,,,,,,,
";
        assert_eq!(survey_csv(&every_kind()), expected);
    }
}
