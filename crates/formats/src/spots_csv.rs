//! Planned spots as a table to be filled in: RFC 4180 (IETF, October 2005), section 2, with line feeds. UTF-8,
//! comma, decimal point, a header; degrees with eight decimals.
//!
//! One line for each insertion, in walking order: several insertions at one place are one spot to `map`. Columns that are
//! to be filled in are empty, and the names are those that `map` knows, so the filled table is a survey. A line that
//! stays empty counts as skipped.

use sampling::PlannedSpot;

use crate::plan_csv::field;
use crate::spots_file::SpotsFile;

/// The table.
pub fn spots_table_csv(file: &SpotsFile) -> String {
    let (threshold, pressure) = file.threshold();
    let depth = file.depth_name();
    let stratum = if file.has_strata() { ",stratum" } else { "" };
    let header = format!(
        "point_id,push,latitude,longitude,date,{depth},at_least,{threshold},moisture_pct,note{stratum}\n"
    );
    let line = |(spot, push): (&PlannedSpot, usize)| {
        let place = file.place(spot);
        let stratum = match file.has_strata() {
            true => format!(",{}", field(spot.stratum.as_deref().unwrap_or_default())),
            false => String::new(),
        };
        format!(
            "{},{push},{:.8},{:.8},,,,{},,{stratum}\n",
            field(&spot.id),
            place.lat_deg,
            place.lon_deg,
            pressure.as_deref().unwrap_or_default(),
        )
    };
    let lines = file.spots.iter().flat_map(|spot| (1..=file.insertions).map(move |k| (spot, k)));
    header + &lines.map(line).collect::<String>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spots_file::tests::{spots, utm};
    use survey::{Threshold, UnitSystem};

    #[test]
    fn a_line_for_each_insertion_with_what_is_known() {
        let threshold: Threshold = "1379kPa".parse().unwrap();
        let spots = spots();
        let text = spots_table_csv(&SpotsFile {
            field_name: "Field",
            units: UnitSystem::Si,
            utm: utm(),
            threshold: Some(&threshold),
            insertions: 2,
            spots: &spots,
        });
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(
            lines[0],
            "point_id,push,latitude,longitude,date,depth_cm,at_least,threshold_kpa,moisture_pct,note,stratum"
        );
        assert_eq!(lines.len(), 5);
        assert!(
            lines[1].starts_with("P001,1,41.93") && lines[1].ends_with(",,,,1379,,,"),
            "{}",
            lines[1]
        );
        assert!(lines[2].starts_with("P001,2,"), "{}", lines[2]);
        assert!(lines[4].ends_with(",,,,1379,,,\"3–6 in, \"\"low\"\"\""), "{}", lines[4]);
    }
}
