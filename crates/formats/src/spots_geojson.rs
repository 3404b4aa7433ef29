//! Planned spots as GeoJSON: RFC 7946 (IETF, August 2016), a point each, in walking order. What is to be read is
//! null; filled in, the file is a survey.

use serde_json::{Value, json};

use crate::spots_file::SpotsFile;

/// The spots as a FeatureCollection, one feature a line.
pub fn spots_geojson(file: &SpotsFile) -> String {
    let feature = |(index, spot): (usize, &sampling::PlannedSpot)| {
        let place = file.place(spot);
        json!({
            "type": "Feature",
            "geometry": { "type": "Point", "coordinates": [place.lon_deg, place.lat_deg] },
            "properties": file.properties(index + 1, spot),
        })
        .to_string()
    };
    let features: Vec<String> = file.spots.iter().enumerate().map(feature).collect();
    let name = Value::from(format!("{} spots", file.field_name));
    format!(
        "{{\"type\":\"FeatureCollection\",\"name\":{name},\"features\":[\n{}\n]}}\n",
        features.join(",\n")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spots_file::tests::{spots, utm};
    use survey::{Threshold, UnitSystem};

    #[test]
    fn what_is_to_be_read_is_null() {
        let threshold: Threshold = "200psi".parse().unwrap();
        let spots = spots();
        let text = spots_geojson(&SpotsFile {
            field_name: "North \"Bench\"",
            units: UnitSystem::Us,
            utm: utm(),
            threshold: Some(&threshold),
            insertions: 4,
            spots: &spots[..1],
        });
        let value: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["name"], "North \"Bench\" spots");
        let expected = json!({
            "point_id": "P001", "walk_order": 1, "placed_by": "grid", "date": null, "depth_in": null,
            "at_least": null, "threshold_psi": 200.0, "moisture_pct": null, "note": null,
        });
        assert_eq!(value["features"][0]["properties"], expected);
        assert!(text.contains("\"coordinates\":[-95.6"), "longitude first: {text}");
    }
}
