//! Results as text for the terminal, in the user's units.

use mapping::{AreaInterval, DepthMap, Estimator, Method, MethodKind, Probed};
use survey::units::tidy;
use survey::{CheckedSurvey, Depth, FieldOrigin, NoReading, UnitSystem};

use crate::{words, zone_table};

/// What is in a survey, in a few lines.
pub fn survey(field_name: &str, survey: &CheckedSurvey, units: UnitSystem) -> String {
    let spots = survey.spots().len();
    let not_reached = survey.not_reached();
    let visit = match survey.dates() {
        Some((first, last)) if first == last => format!("visit of {first}"),
        Some((first, last)) => format!("visit of {first} to {last}"),
        None => "visit without a date".into(),
    };
    let moisture = match survey.moisture() {
        Some(m) => format!(
            "soil moisture {:.1} % on average ({:.1} to {:.1} %)",
            m.mean_pct, m.min_pct, m.max_pct
        ),
        None => "soil moisture not recorded".into(),
    };
    let field = survey.field();
    let outline = match field.origin() {
        FieldOrigin::Boundary => "inside the boundary".into(),
        FieldOrigin::HullOfProbes { widened_m } => {
            format!("within the probes' hull widened by {}", units.distance_text(widened_m))
        }
    };
    let stones = survey.count_without(NoReading::Refused);
    [
        format!("{field_name}: {visit}"),
        format!(
            "{spots} readings of the depth to {}; {not_reached} never reached it ({:.1} %), which \
             count as the depth probed",
            survey.threshold(),
            100.0 * not_reached as f64 / spots as f64,
        ),
        format!(
            "{stones} stopped by stones or roots, {} skipped; typical spacing {}; {moisture}",
            survey.count_without(NoReading::Skipped),
            units.distance_text(survey.spacing_m()),
        ),
        format!(
            "{:.2} {} {outline}; {}",
            units.area(field.ground_area_m2()),
            units.area_unit(),
            field.utm().name(),
        ),
    ]
    .join("\n")
}

/// Classes with their ground, and how sure the map is.
pub fn map(survey: &CheckedSurvey, map: &DepthMap) -> String {
    let cell_m = map.depth_cm.grid.cell_m();
    let units = map.classes.units();
    let mut parts = vec![classes(map), zone_table::zones(map), String::new()];
    parts.extend(map.kept_ids.as_ref().map(zone_table::kept_ids));
    if !map.strata.is_empty() {
        parts.push(format!(
            "main ground, the field without its strata, from its {} readings (\"field mean\" is its mean):",
            map.probed.spots
        ));
    }
    parts.push(surface(survey, &map.probed, &map.method, cell_m, units));
    parts.extend(kriged(map));
    parts.extend(map.strata.iter().map(|stratum| stratum.told(units)));
    if let Some(probability) = &map.probability {
        parts.push(words::chance(probability, map));
    }
    parts.join("\n")
}

/// How a surface was made, and how sure it is.
pub fn surface(
    survey: &CheckedSurvey,
    probed: &Probed,
    made: &Method,
    cell_m: f64,
    units: UnitSystem,
) -> String {
    let mut parts = Vec::new();
    if survey.not_reached() > 0 {
        parts.push(format!(
            "near a reading that never reached {} the depth is a lower bound: read \"or deeper\"",
            survey.threshold(),
        ));
    }
    parts.extend([method(probed, made, cell_m, units), validation(probed, made, units)]);
    parts.join("\n")
}

/// What kriging adds: how sure places and areas are, and what went wrong.
fn kriged(map: &DepthMap) -> Vec<String> {
    let units = map.classes.units();
    let error = map.standard_error_cm.as_ref();
    let mut lines: Vec<String> =
        error.and_then(|error_cm| words::standard_error(error_cm, units)).into_iter().collect();
    lines.extend(words::below_and_negative(map));
    lines.extend(map.class_intervals.as_ref().map(words::simulation));
    lines
}

fn classes(map: &DepthMap) -> String {
    let units = map.classes.units();
    let row = |name: &str, area_m2: f64, zones: &str, probes: &str| {
        format!(
            "  {name:<12}{:>9.2} {}{:>8.1} %{zones:>8}{probes:>9}",
            units.area(area_m2),
            units.area_unit(),
            100.0 * map.share(area_m2)
        )
    };
    let mut lines = vec![
        String::new(),
        format!(
            "  {:<12}{:>12}{:>10}{:>8}{:>9}",
            "loose layer", "area", "share", "zones", "probes"
        ) + if map.class_intervals.is_some() { "   median and 80 % interval" } else { "" },
    ];
    for class in 0..map.classes.len() {
        let of_class = || map.zones.iter().filter(|zone| zone.class == class);
        let probes: usize = of_class().map(|zone| zone.probes).sum();
        let line = row(
            &map.classes.name(class),
            map.class_area_m2(class),
            &of_class().count().to_string(),
            &probes.to_string(),
        );
        lines.push(match &map.class_intervals {
            Some(intervals) => line + &interval(intervals.areas[class], units),
            None => line,
        });
    }
    lines.push(row("no value", map.unmapped.ground_area_m2, "", ""));
    let probes: usize = map.zones.iter().map(|zone| zone.probes).sum();
    lines.push(row("field", map.field_area_m2, &map.zones.len().to_string(), &probes.to_string()));
    lines.push(String::new());
    lines.join("\n")
}

/// The area of a class in simulated maps: half of them have less than the median.
fn interval(area: AreaInterval, units: UnitSystem) -> String {
    let [low, median, high] = [area.low_m2, area.median_m2, area.high_m2].map(|m2| units.area(m2));
    format!("   {median:>7.2} ({low:.2}–{high:.2}) {}", units.area_unit())
}

fn method(probed: &Probed, method: &Method, cell_m: f64, units: UnitSystem) -> String {
    let name = match &method.estimator {
        Estimator::Mean => "field mean everywhere".into(),
        Estimator::InverseDistance { power, chosen, at_end } => {
            let chosen = match (chosen, at_end) {
                (true, true) => " (least error, at the end of the range tried)",
                (true, false) => " (chosen by cross-validation)",
                (false, _) => "",
            };
            format!("inverse distance, power {}{chosen}", tidy(*power, 3))
        }
        Estimator::Kriging(_) => "ordinary kriging".into(),
    };
    let neighbours = match method.neighbourhood.neighbours {
        Some(count) => format!("the nearest {count} readings"),
        None => format!("all {} readings", probed.spots),
    };
    let options: String =
        method.options(units).iter().map(|option| format!("; {option}")).collect();
    let mut lines = vec![format!(
        "{name}, from {neighbours}{options}; no value beyond {} from a reading; cells of {} m",
        units.distance_text(method.reach_m),
        tidy(cell_m, 3),
    )];
    lines.extend(
        method.variogram().map(|fitted| format!("variogram: {}", words::model(fitted, units))),
    );
    if let Some(reason) = method.reason(probed.spots, units) {
        lines.push(format!("chosen: {reason}"));
    } else if let Some(comparison) = method.comparison(units) {
        lines.push(format!("leave-one-out errors (RMSE): {comparison}"));
    }
    lines.extend(method.cautions().into_iter().map(|caution| format!("caution: {caution}")));
    lines.join("\n")
}

/// How well the map estimates readings it has not seen.
fn validation(probed: &Probed, method: &Method, units: UnitSystem) -> String {
    let validation = &method.validation;
    let unit = units.depth_unit();
    let depth = |cm: f64| units.depth(Depth::from_cm(cm));
    if validation.pairs.is_empty() {
        return "cross-validation impossible: every reading is alone within its reach".into();
    }
    let isolated = match validation.isolated {
        0 => String::new(),
        count => format!(" ({count} others have none within reach)"),
    };
    let verdict = match validation.skill() {
        skill if skill.is_nan() => "all readings are equal: there is nothing to map".into(),
        _ if method.estimator.kind() == MethodKind::Mean => {
            "the map is the field mean: it does not tell one place from another".into()
        }
        skill if method.beats_field_mean() => format!(
            "{} less squared error than the field mean everywhere ({:.2} {unit})",
            words::percent(skill),
            depth(validation.mean_rmse),
        ),
        _ => format!(
            "the map does NOT beat the field mean: {:.1} {unit} everywhere errs by {:.2} {unit}",
            probed.mean_at_least.map_or(f64::NAN, |mean| units.depth(mean)),
            depth(validation.mean_rmse),
        ),
    };
    let mut more = String::new();
    if method.variogram().is_some() {
        more += &format!("\n{}", words::coverage(validation));
    }
    if let Some(blocks) = &method.blocks {
        more += &format!(
            "\nleaving out each of {} blocks of {} in turn: RMSE {:.2} {unit}",
            blocks.blocks,
            units.distance_text(blocks.side_m),
            depth(blocks.validation.rmse),
        );
    }
    format!(
        "leaving out each of {} readings in turn{isolated}: RMSE {:.2} {unit}, MAE {:.2} {unit}, \
         ME {:+.2} {unit} (observed - estimated)\n{verdict}{more}",
        validation.pairs.len(),
        depth(validation.rmse),
        depth(validation.mae),
        depth(validation.me),
    )
}
