//! One line a probe: its outcome and tight layer at each threshold, its greatest reading, its mean in
//! each layer. RFC 4180 with line feeds; every unit stands in its column's name. What was not reached
//! is an empty field beside an outcome of `not_reached`, never a depth.

use survey::units::tidy;
use survey::{Depth, Profile, Threshold, TightLayer, UnitSystem};

use crate::profiles::{Probe, ProfileRequest, Profiles};

/// Decimals of depths and pressures: a tenth of the step of any rod or dial.
const DECIMALS: usize = 2;

/// The layers whose mean is given, in the reader's unit.
fn layers(units: UnitSystem) -> [(f64, f64); 3] {
    match units {
        UnitSystem::Us => [(0.0, 6.0), (6.0, 12.0), (12.0, 18.0)],
        UnitSystem::Si => [(0.0, 15.0), (15.0, 30.0), (30.0, 45.0)],
    }
}

/// The table, in file order, with its header. A mean is empty where the readings do not cover the
/// layer: see [`Profile::mean_between`].
pub fn per_probe(profiles: &Profiles, request: &ProfileRequest) -> String {
    let mut lines = vec![header(request)];
    lines.extend(profiles.probes.iter().map(|probe| row(probe, request)));
    let mut text = String::new();
    for fields in lines {
        let fields: Vec<String> = fields.iter().map(|field| quoted(field)).collect();
        text.push_str(&fields.join(","));
        text.push('\n');
    }
    text
}

fn header(request: &ProfileRequest) -> Vec<String> {
    let depth = request.units.depth_unit();
    let pressure = request.units.pressure_unit().to_lowercase();
    let mut names: Vec<String> =
        ["probe", "feature", "longitude_deg", "latitude_deg", "date", "group", "moisture_pct"]
            .map(str::to_owned)
            .into();
    names.extend([
        format!("probed_to_{depth}"),
        format!("peak_{pressure}"),
        format!("peak_depth_{depth}"),
    ]);
    for (from, to) in layers(request.units) {
        names.push(format!("mean_{from}_{to}_{depth}_{pressure}"));
    }
    for threshold in &request.thresholds {
        let at = threshold.in_a_name();
        names.extend([
            format!("outcome_{at}"),
            format!("top_{at}_{depth}"),
            format!("bottom_outcome_{at}"),
            format!("bottom_{at}_{depth}"),
            format!("thickness_{at}_{depth}"),
        ]);
    }
    names
}

fn row(probe: &Probe, request: &ProfileRequest) -> Vec<String> {
    let units = request.units;
    let Probe { insertion, profile } = *probe;
    let depth = |depth: Depth| tidy(units.depth(depth), DECIMALS);
    let peak = profile.peak();
    let mut fields = vec![
        insertion.id.clone().unwrap_or_default(),
        insertion.number.to_string(),
        insertion.place.lon_deg.to_string(),
        insertion.place.lat_deg.to_string(),
        insertion.date.map(|date| date.to_string()).unwrap_or_default(),
        insertion.group.clone().unwrap_or_default(),
        insertion.moisture_pct.map(|pct| pct.to_string()).unwrap_or_default(),
        depth(profile.probed_to()),
        tidy(units.pressure(peak.pressure), DECIMALS),
        depth(peak.depth),
    ];
    for (from, to) in layers(units) {
        let mean = profile.mean_between(units.depth_from(from), units.depth_from(to));
        fields.push(mean.map(|mean| tidy(units.pressure(mean), DECIMALS)).unwrap_or_default());
    }
    for threshold in &request.thresholds {
        fields.extend(of_threshold(profile, threshold, request));
    }
    fields
}

/// Outcome and top, outcome and depth of the bottom, thickness.
fn of_threshold(profile: &Profile, threshold: &Threshold, request: &ProfileRequest) -> [String; 5] {
    const REACHED: &str = "reached";
    const NOT_REACHED: &str = "not_reached";
    let text = |depth: Depth| tidy(request.units.depth(depth), DECIMALS);
    let found = profile.tight_layer(threshold.pressure(), request.sustained);
    let words = |is_reached| if is_reached { REACHED } else { NOT_REACHED };
    let bottom = found.map(|layer| words(layer.bottom.is_some()));
    [
        words(found.is_some()).to_owned(),
        found.map(|layer| text(layer.top)).unwrap_or_default(),
        bottom.unwrap_or_default().to_owned(),
        found.and_then(|layer| layer.bottom).map(text).unwrap_or_default(),
        found.as_ref().and_then(TightLayer::thickness).map(text).unwrap_or_default(),
    ]
}

/// A field as RFC 4180, section 2, writes it.
fn quoted(field: &str) -> String {
    match field.contains([',', '"', '\n', '\r']) {
        true => format!("\"{}\"", field.replace('"', "\"\"")),
        false => field.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profiles::tests::{request, survey};

    #[test]
    fn each_probe_has_a_line_and_each_number_a_unit() {
        let mut survey = survey();
        survey.insertions[1].id = Some("a, \"b\"".into());
        let profiles = Profiles::of(&survey, &request()).unwrap();
        let text = per_probe(&profiles, &request());
        let lines: Vec<&str> = text.lines().collect();
        let expected = [
            "probe,feature,longitude_deg,latitude_deg,date,group,moisture_pct,probed_to_in,peak_psi,\
             peak_depth_in,mean_0_6_in_psi,mean_6_12_in_psi,mean_12_18_in_psi,\
             outcome_200psi,top_200psi_in,bottom_outcome_200psi,bottom_200psi_in,thickness_200psi_in,\
             outcome_300psi,top_300psi_in,bottom_outcome_300psi,bottom_300psi_in,thickness_300psi_in",
            // Mean of 0 to 6 in from the first reading at 1 in: (2 × 200 + 3 × 300) / 5.
            "P1,1,-95.62,41.93,2025-06-14,ripped,,11,300,3,260,,,reached,2,reached,10,8,\
             reached,3,reached,9,6",
            "\"a, \"\"b\"\"\",2,-95.62,41.93,2025-06-14,,,8,300,8,100,,,reached,7,not_reached,,,\
             reached,8,not_reached,,",
            "P4,4,-95.62,41.93,2025-06-14,check,,18,100,1,100,100,100,not_reached,,,,,not_reached,,,,",
        ];
        assert_eq!(lines, expected);
    }

    #[test]
    fn si_columns_are_centimetres_and_kilopascals() {
        let survey = survey();
        let request = ProfileRequest { units: UnitSystem::Si, ..request() };
        let profiles = Profiles::of(&survey, &request).unwrap();
        let text = per_probe(&profiles, &request);
        assert!(text.contains("peak_kpa,peak_depth_cm,mean_0_15_cm_kpa"));
        // 2 in, 10 in, 8 in; 300 psi.
        assert!(text.contains("reached,5.08,reached,25.4,20.32"), "{text}");
        assert!(text.contains("2068.43"), "{text}");
    }
}
