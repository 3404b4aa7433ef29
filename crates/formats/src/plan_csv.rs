//! Places inside the parts of a plan as a table: RFC 4180 (IETF, October 2005), section 2, with line
//! feeds. UTF-8, comma, decimal point, a header; degrees with eight decimals.
//!
//! A text that a spreadsheet would take for a formula, because it begins with `=`, `+`, `-` or `@`, has an
//! apostrophe before it.

use survey::units::{M2_PER_AC, M2_PER_HA};

use crate::plain_text::plain;
use crate::plan_rows::{Row, Rows};

/// One line for each part, in the plan's order.
pub(crate) fn plan_csv(rows: &Rows) -> String {
    let before = ["latitude", "longitude", "part", "zone", "class_no", "class_name", "action"];
    let names = before.map(str::to_owned).into_iter().chain(rows.dose_names());
    let after = ["area_ha", "area_ac"].map(str::to_owned);
    let header: Vec<String> = names.chain(after).collect();
    let lines = rows.rows.iter().map(|row| line(rows, row) + "\n");
    header.join(",") + "\n" + &lines.collect::<String>()
}

fn line(rows: &Rows, row: &Row) -> String {
    let part = row.part;
    let place = [row.centre.lat_deg, row.centre.lon_deg].map(|degrees| format!("{degrees:.8}"));
    let said = [
        field(&part.id),
        field(&part.zone_id),
        part.class_no.to_string(),
        field(&part.class_name),
        field(&part.marked_action()),
    ];
    let doses = rows.dose_numbers(row).into_iter().map(|number| number.to_string());
    let areas =
        [M2_PER_HA, M2_PER_AC].map(|unit_m2| format!("{:.4}", part.ground_area_m2 / unit_m2));
    place.into_iter().chain(said).chain(doses).chain(areas).collect::<Vec<_>>().join(",")
}

/// A text as a field: guarded against formulas, quoted where it must be.
pub(crate) fn field(text: &str) -> String {
    let text = plain(text);
    let guarded = match text.starts_with(['=', '+', '-', '@']) {
        true => format!("'{text}"),
        false => text,
    };
    match guarded.contains([',', ';', '"']) {
        true => format!("\"{}\"", guarded.replace('"', "\"\"")),
        false => guarded,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_is_a_formula_or_two_fields() {
        assert_eq!(field("=1+1"), "'=1+1");
        assert_eq!(field("\t-2, \"b\""), "\"'-2, \"\"b\"\"\"");
        assert_eq!(field("loosen to 14 in\r\n"), "loosen to 14 in");
    }
}
