//! A plan as text for the terminal: stamps first, then doses by part, totals, and all that must be known
//! before anybody acts on it.

use plan::{Operation, OperationKind, Part, Plan};
use survey::units::tidy;

/// The plan, block by block.
pub fn plan(plan: &Plan) -> String {
    let mut blocks: Vec<String> =
        plan.stamps.iter().map(|stamp| format!("*** {stamp} ***")).collect();
    blocks.push(head(plan));
    blocks.push(zones(plan));
    blocks.extend(strips(plan));
    blocks.push(operations(plan));
    for (title, sentences) in [
        ("warnings", &plan.warnings),
        ("hazards on this field", &plan.hazards),
        ("when to stop", &plan.stop_rules),
        ("how the figures came about", &plan.workings),
        ("cautions", &plan.cautions),
    ] {
        if !sentences.is_empty() {
            let lines = sentences.iter().map(|sentence| format!("  - {sentence}"));
            blocks.push(
                [format!("{title}:")].into_iter().chain(lines).collect::<Vec<_>>().join("\n"),
            );
        }
    }
    blocks.join("\n\n") + "\n"
}

fn head(plan: &Plan) -> String {
    let mut lines = vec![format!("{}: field {}", plan.name, plan.field_name)];
    let who = [("farm", &plan.farm), ("grower", &plan.grower)];
    let who: Vec<String> =
        who.iter().filter_map(|(role, name)| Some(format!("{role} {}", name.as_ref()?))).collect();
    if !who.is_empty() {
        lines.push(who.join(", "));
    }
    lines.push(match plan.visit {
        Some(date) => format!("zones of the visit of {date}"),
        None => "zones of a visit without a date".into(),
    });
    if let Some(swath_m) = plan.swath_m {
        let heading = plan.heading_deg;
        let heading =
            heading.map_or_else(String::new, |deg| format!(", heading {}°", tidy(deg, 2)));
        lines.push(format!("passes of {}{heading}", plan.units.distance_text(swath_m)));
    }
    lines.join("\n")
}

/// One row a zone without its check strips, one column an operation, then what is done in words.
fn zones(plan: &Plan) -> String {
    let heads = ["zone", "class", "area"].map(String::from).into_iter();
    let operations = plan.operations.iter().map(|operation| operation.name.clone());
    let header: Vec<String> = heads.chain(operations).chain(["what to do".into()]).collect();
    let zones = plan.parts.iter().filter(|part| part.check_strip.is_none());
    let rows = zones.map(|part| part_row(plan, part));
    table(&[header].into_iter().chain(rows).collect::<Vec<_>>())
}

/// One line a check strip, which lies in many zones.
fn strips(plan: &Plan) -> Option<String> {
    let count = plan.check_strips?.count;
    let line = |strip: usize| {
        let parts = || plan.parts.iter().filter(move |part| part.check_strip == Some(strip));
        let ground_m2 = parts().fold(0.0, |sum, part| sum + part.ground_area_m2);
        let zones: Vec<&str> = parts().map(|part| part.zone_id.as_str()).collect();
        format!("  check strip {strip}: leave {} in {}", area(plan, ground_m2), zones.join(", "))
    };
    Some((1..=count).map(line).collect::<Vec<_>>().join("\n"))
}

fn part_row(plan: &Plan, part: &Part) -> Vec<String> {
    let doses = part.doses.iter().map(|dose| match dose {
        Some(dose) => dose.text(plan.units),
        None => "-".into(),
    });
    [part.id.clone(), part.class_name.clone(), area(plan, part.ground_area_m2)]
        .into_iter()
        .chain(doses)
        .chain([part.marked_action()])
        .collect()
}

fn operations(plan: &Plan) -> String {
    let header = ["operation", "treated", "in all", "fills", "cost", "basis of the rate"];
    let header: Vec<String> = header.map(String::from).to_vec();
    let rows = plan.operations.iter().map(|operation| operation_row(plan, operation));
    table(&[header].into_iter().chain(rows).collect::<Vec<_>>())
}

fn operation_row(plan: &Plan, operation: &Operation) -> Vec<String> {
    let none = || "-".to_owned();
    let fills = operation.fills.zip(operation.hopper_text(plan.units));
    let cost = operation.cost.as_ref();
    let basis = match (&operation.kind, &operation.basis) {
        (OperationKind::Loosen, _) => none(),
        (_, None) => "NOT ON RECORD".into(),
        (_, Some(basis)) => format!("{}, {}", basis.lab, basis.date),
    };
    vec![
        operation.name.clone(),
        area(plan, operation.treated_m2),
        operation.total_text(plan.units).unwrap_or_else(none),
        fills.map_or_else(none, |(fills, hopper)| format!("{fills} of {hopper}")),
        cost.map_or_else(none, |(cost, currency)| format!("{cost:.2} {currency}")),
        basis,
    ]
}

fn area(plan: &Plan, area_m2: f64) -> String {
    format!("{:.2} {}", plan.units.area(area_m2), plan.units.area_unit())
}

/// Rows with columns as wide as their widest cell; the first and last from the left, the others from the
/// right, as numbers are.
pub fn table(rows: &[Vec<String>]) -> String {
    let columns = rows.first().map_or(0, Vec::len);
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max();
    let widths: Vec<usize> = (0..columns).map(|column| width(column).unwrap_or(0)).collect();
    let line = |row: &Vec<String>| {
        let cells =
            row.iter().zip(&widths).enumerate().map(|(column, (cell, &width))| {
                match column == 0 || column + 1 == columns {
                    true => format!("{cell:<width$}"),
                    false => format!("{cell:>width$}"),
                }
            });
        format!("  {}", cells.collect::<Vec<_>>().join("  ")).trim_end().to_owned()
    };
    rows.iter().map(line).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{MultiPolygon, polygon};
    use plan::{CheckStrips, Dose, MassRate};
    use survey::{Depth, LonLat, UnitSystem, Utm};

    fn part(id: &str, check_strip: Option<usize>, doses: Vec<Option<Dose>>, action: &str) -> Part {
        let square =
            polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 0.0), (x: 1.0, y: 1.0), (x: 0.0, y: 1.0)];
        Part {
            id: id.into(),
            zone_id: id[..2].into(),
            class_no: 2,
            class_name: "10–20 cm".into(),
            check_strip,
            action: action.into(),
            polygons: MultiPolygon::from(square),
            ground_area_m2: 12_345.0,
            doses,
            few_probes: id == "Z2",
        }
    }

    fn operation(name: &str, kind: OperationKind) -> Operation {
        let none = Dose::Depth(Depth::from_m(0.0));
        Operation {
            slug: name.to_lowercase(),
            name: name.into(),
            kind,
            basis: None,
            treated_m2: 24_690.0,
            total: None,
            hopper: None,
            fills: None,
            cost: None,
            out_of_field: none,
            signal_lost: none,
        }
    }

    fn sample() -> Plan {
        let loosen = operation("Loosen", OperationKind::Loosen);
        let gypsum = OperationKind::AmendMass { product: "gypsum".into() };
        let gypsum = Operation {
            total: Some(4_938.0),
            hopper: Some(2_000.0),
            fills: Some(3),
            cost: Some((197.52, "EUR".into())),
            ..operation("Gypsum", gypsum)
        };
        let deep = Some(Dose::Depth(Depth::from_cm(35.0)));
        let rate = Some(Dose::Mass(MassRate::from_kg_per_ha(2_000.0)));
        Plan {
            name: "Autumn".into(),
            field_name: "Home".into(),
            farm: None,
            grower: Some("R. Example".into()),
            utm: Utm::for_place(LonLat { lon_deg: 10.0, lat_deg: 50.0 }).unwrap(),
            units: UnitSystem::Si,
            visit: None,
            operations: vec![loosen, gypsum],
            parts: vec![
                part("Z1", None, vec![deep, rate], "loosen to 35 cm; 2 t/ha gypsum"),
                part("Z2", None, vec![None, rate], "2 t/ha gypsum"),
                part("Z1 check 1", Some(1), vec![None, None], "leave, check strip 1"),
                part("Z2 check 1", Some(1), vec![None, None], "leave, check strip 1"),
            ],
            swath_m: Some(9.0),
            heading_deg: Some(12.5),
            stamps: vec!["RATES NOT BACKED BY A SOIL TEST".into()],
            warnings: vec!["few probes in Z2".into()],
            stop_rules: vec!["Stop.".into()],
            hazards: Vec::new(),
            workings: vec!["1 + 1 = 2".into()],
            cautions: vec!["Dig a pit.".into()],
            check_strips: Some(CheckStrips { count: 1, passes: 1, seed: 1 }),
        }
    }

    #[test]
    fn the_plan_is_told_from_its_stamp_to_its_cautions() {
        let expected = "\
*** RATES NOT BACKED BY A SOIL TEST ***

Autumn: field Home
grower R. Example
zones of a visit without a date
passes of 9 m, heading 12.5°

  zone     class     area  Loosen  Gypsum  what to do
  Z1    10–20 cm  1.23 ha   35 cm  2 t/ha  loosen to 35 cm; 2 t/ha gypsum
  Z2    10–20 cm  1.23 ha       -  2 t/ha  2 t/ha gypsum (few probes)

  check strip 1: leave 2.47 ha in Z1, Z2

  operation  treated  in all     fills        cost  basis of the rate
  Loosen     2.47 ha       -         -           -  -
  Gypsum     2.47 ha  4.94 t  3 of 2 t  197.52 EUR  NOT ON RECORD

warnings:
  - few probes in Z2

when to stop:
  - Stop.

how the figures came about:
  - 1 + 1 = 2

cautions:
  - Dig a pit.
";
        assert_eq!(plan(&sample()), expected);
    }
}
