//! The strips of a trial as a table: RFC 4180 (IETF, October 2005), section 2, with line feeds. UTF-8, comma,
//! decimal point, a header that names the units. A text that a spreadsheet would take for a formula has an
//! apostrophe before it.

use season::{Trial, TrialStrip};
use survey::Depth;

use crate::plan_csv::field;

const HEADER: &str = "strip,treatment,block,probes,effective_probes,not_reached_before,not_reached_after,\
depth_before_cm,depth_after_cm,change_cm,change_sd_cm,depth_before_in,depth_after_in,change_in,change_sd_in";

/// One line a strip; empty where something is not known.
pub fn trial_csv(trial: &Trial) -> String {
    let lines = trial.strips.iter().map(|strip| line(strip) + "\n");
    format!("{HEADER}\n{}", lines.collect::<String>())
}

fn line(strip: &TrialStrip) -> String {
    let number = |value: Option<f64>| value.map_or_else(String::new, |value| format!("{value:.2}"));
    let depths =
        [Some(strip.earlier_cm), Some(strip.later_cm), Some(strip.change_cm), strip.change_sd_cm];
    let inches = depths.map(|cm| cm.map(|cm| Depth::from_cm(cm).inches()));
    [
        field(&strip.name),
        strip.treatment.name().to_owned(),
        field(strip.block.as_deref().unwrap_or_default()),
        strip.probes.to_string(),
        number(strip.effective_probes),
        strip.not_reached[0].to_string(),
        strip.not_reached[1].to_string(),
    ]
    .into_iter()
    .chain(depths.map(number))
    .chain(inches.map(number))
    .collect::<Vec<_>>()
    .join(",")
}

#[cfg(test)]
mod tests {
    use super::*;
    use season::Treatment;

    #[test]
    fn a_strip_is_one_line_with_both_units() {
        let strip = TrialStrip {
            name: "=T1".into(),
            treatment: Treatment::Treated,
            block: Some("a, b".into()),
            polygons: geo::MultiPolygon::new(Vec::new()),
            probes: 1,
            not_reached: [1, 0],
            earlier_cm: 45.72,
            later_cm: 20.32,
            change_cm: -25.4,
            change_sd_cm: None,
            effective_probes: None,
        };
        let expected = "'=T1,treated,\"a, b\",1,,1,0,45.72,20.32,-25.40,,18.00,8.00,-10.00,";
        assert_eq!(line(&strip), expected);
        assert_eq!(HEADER.split(',').count(), 15);
    }
}
