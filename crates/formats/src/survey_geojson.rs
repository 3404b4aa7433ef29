//! A cleaned survey as GeoJSON: RFC 7946 (IETF, August 2016).
//!
//! One feature a line, positions as they were read, to the last digit (section 11.2 leaves the
//! precision to the writer), longitude first (section 3.1.1), no `crs` member (section 4). The readers
//! make the same insertions of it again; see `survey_records` for the names and the rules of texts.

use serde_json::{Map, Value};
use survey::Survey;

use crate::exact_number::value;
use crate::survey_records::{InsertionRecord, records};

/// A survey as a FeatureCollection of points that reads back to the same insertions exactly.
pub fn survey_geojson(survey: &Survey) -> String {
    let name = match survey.name.as_deref() {
        Some(name) => format!("\"name\":{},", Value::from(name)),
        None => String::new(),
    };
    let features: Vec<String> = records(survey).into_iter().map(feature).collect();
    format!(
        "{{\"type\":\"FeatureCollection\",{name}\"features\":[\n{}\n]}}\n",
        features.join(",\n")
    )
}

fn feature(record: InsertionRecord) -> String {
    let position = [value(record.place.lon_deg), value(record.place.lat_deg)];
    let said = record.said.into_iter().map(|(name, value)| (name.to_owned(), value));
    let properties = Value::Object(said.collect::<Map<String, Value>>());
    format!(
        "{{\"type\":\"Feature\",\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{},{}]}},\
         \"properties\":{properties}}}",
        position[0], position[1]
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey_records::tests::every_kind;

    #[test]
    fn one_feature_a_line_with_what_is_known() {
        let expected = r#"{"type":"FeatureCollection","name":"North \"Bench\"","features":[
{"type":"Feature","geometry":{"type":"Point","coordinates":[-95.61999999999999,41.93]},"properties":{"point_id":"P1","date":"2025-04-14","time":"09:30:00","depth_in":7.5,"outcome":"reached","threshold_psi":200,"moisture_pct":21.5,"accuracy_m":0.02,"cone_mm":12.83,"instrument":"dial","operator":"Åsa","group":"strip, no-till","note":"dry\nand \"loose\""}},
{"type":"Feature","geometry":{"type":"Point","coordinates":[-95.5,42]},"properties":{"depth_cm":45,"outcome":"not_reached","at_least":true,"threshold_mpa":2}},
{"type":"Feature","geometry":{"type":"Point","coordinates":[-95.5,42]},"properties":{"depth_in":null,"outcome":"stone","cone_in":0.75}},
{"type":"Feature","geometry":{"type":"Point","coordinates":[-95.5,42]},"properties":{"depth_in":null,"outcome":"skipped","note":"gate"}},
{"type":"Feature","geometry":{"type":"Point","coordinates":[-95.5,42]},"properties":{"point_id":"P5","depth_in":[1,2],"cone_index_psi":[50,125]}}
]}
"#;
        assert_eq!(survey_geojson(&every_kind()), expected);
    }

    #[test]
    fn an_empty_survey_is_still_geojson() {
        let text = survey_geojson(&Survey::default());
        assert_eq!(text, "{\"type\":\"FeatureCollection\",\"features\":[\n\n]}\n");
    }
}
