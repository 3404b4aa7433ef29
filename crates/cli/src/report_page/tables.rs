//! The tables of a report. Numbers have their unit in the heading; a depth that was not reached has `≥`.

use mapping::{DepthMap, Errors, FEW_PROBES, Zone};
use report::{Column, Table, where_in_field};
use season::{ReadingChange, SpotChange, Visit, VisitFigures};
use survey::units::{signed, tidy};
use survey::{Depth, Reading, Severity, UnitSystem};

use super::ReportOf;
use crate::{words, zone_table, zone_words};

/// Spots in the table of those that fell furthest.
const SPOTS_SHOWN: usize = 12;
/// Findings told one by one.
const FINDINGS_SHOWN: usize = 200;

/// A column of text.
fn text(heading: &str) -> Column {
    Column { heading: heading.into(), is_number: false }
}

/// A column of numbers.
fn number(heading: impl Into<String>) -> Column {
    Column { heading: heading.into(), is_number: true }
}

fn depth_number(depth: Depth, units: UnitSystem) -> String {
    format!("{:.1}", units.depth(depth))
}

/// A reading as a number: `9`, `≥ 18`.
pub fn reading_number(reading: Reading, units: UnitSystem) -> String {
    let sign = if reading.is_not_reached() { "≥ " } else { "" };
    format!("{sign}{}", tidy(units.depth(reading.at_least()), 1))
}

fn area_number(area_m2: f64, units: UnitSystem) -> String {
    format!("{:.2}", units.area(area_m2))
}

fn share_number(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

/// The zones with what backs them.
pub fn zones(of: &ReportOf) -> Table {
    let map = &of.latest().map;
    let units = of.units();
    let unit = units.depth_unit();
    let has_strata = !map.strata.is_empty();
    let has_profiles = map.zones.iter().any(|zone| zone.evidence.profiles.is_some());
    let mut columns = vec![
        text("Zone"),
        text("Depth"),
        text("Where"),
        number(format!("Ground, {}", units.area_unit())),
        number("Of field, %"),
        number("Spots"),
        number("Not reached"),
        number(format!("Mean depth, {unit}")),
        number(format!("95 % interval, {unit}")),
        number("Chance in class, %"),
    ];
    if has_strata {
        columns.insert(3, text("Stratum"));
    }
    if has_profiles {
        columns.push(number("Spots above 300 psi, %"));
        columns.push(number(format!("Bottom of tight layer, {unit}")));
    }
    let row = |zone: &Zone| {
        let mut cells = zone_cells(zone, map, units);
        if has_strata {
            cells.insert(3, zone.stratum.clone().unwrap_or_else(|| "main ground".into()));
        }
        if has_profiles {
            cells.extend(profile_cells(zone, units));
        }
        cells
    };
    Table {
        caption: format!("Zones of {} and what backs them", of.day(of.latest())),
        columns,
        rows: map.zones.iter().map(row).collect(),
        note: zone_table::notes(map)
            .iter()
            .map(|note| sentence(note))
            .collect::<Vec<_>>()
            .join(" "),
    }
}

fn zone_cells(zone: &Zone, map: &DepthMap, units: UnitSystem) -> Vec<String> {
    let bound = if zone.not_reached > 0 { "≥ " } else { "" };
    let (mean, interval) = match (zone.evidence.mean, zone.evidence.probe_mean) {
        (Some(found), _) => {
            let [mean, low, high] =
                [found.mean, found.low, found.high].map(|depth| depth_number(depth, units));
            (format!("{bound}{mean}"), format!("{low}–{high}"))
        }
        (None, Some(mean)) => (format!("{bound}{}", depth_number(mean, units)), "not known".into()),
        (None, None) => ("not known".into(), "not known".into()),
    };
    let mark = if zone.probes < FEW_PROBES { "*" } else { "" };
    let chance = match zone.evidence.class_confidence {
        None => "not known".into(),
        Some(share) => {
            let mark = if share < 0.5 { "!" } else { "" };
            format!("{}{mark}", words::percent(share).trim_end_matches(" %"))
        }
    };
    vec![
        zone.id.clone(),
        map.classes.name(zone.class),
        where_in_field(&zone.polygons, map.field().polygons()).into(),
        area_number(zone.ground_area_m2, units),
        share_number(map.share(zone.ground_area_m2)),
        format!("{}{mark}", zone.probes),
        zone.not_reached.to_string(),
        mean,
        interval,
        chance,
    ]
}

fn profile_cells(zone: &Zone, units: UnitSystem) -> [String; 2] {
    let Some(profiles) = &zone.evidence.profiles else {
        return ["no profile".into(), "no profile".into()];
    };
    let above = &profiles.above_300_psi;
    let share = above.probes_above as f64 / above.probes as f64;
    let bottom = profiles.bottom.map_or_else(
        || "none".into(),
        |bottom| match bottom.reading {
            Reading::Reached(depth) => depth_number(depth, units),
            Reading::NotReached { .. } => "not measured".into(),
        },
    );
    [share_number(share), bottom]
}

/// How the zones came about.
pub fn zone_sentences(of: &ReportOf) -> Vec<String> {
    let map = &of.latest().map;
    let all = zone_words::zoning(map);
    all.iter().chain(&map.notes).map(|line| sentence(line.trim())).collect()
}

/// A line as a sentence: a capital and a full stop.
pub fn sentence(line: &str) -> String {
    let end = if line.ends_with(['.', ':']) { "" } else { "." };
    format!("{}{end}", plan::capitalised(line.trim()))
}

/// The ground of each class: of one visit by class, of several a row each.
pub fn classes(of: &ReportOf) -> Table {
    match of.loaded.visits.as_slice() {
        [only] => classes_of_visit(only),
        _ => classes_by_visit(of),
    }
}

fn classes_of_visit(Visit { map, .. }: &Visit) -> Table {
    let units = map.classes.units();
    let row = |class: usize| {
        let zones = || map.zones.iter().filter(|zone| zone.class == class);
        let area_m2 = map.class_area_m2(class);
        let spots: usize = zones().map(|zone| zone.probes).sum();
        vec![
            map.classes.name(class),
            area_number(area_m2, units),
            share_number(map.share(area_m2)),
            zones().count().to_string(),
            spots.to_string(),
        ]
    };
    let mut rows: Vec<Vec<String>> = (0..map.classes.len()).map(row).collect();
    let no_value_m2 = map.unmapped.ground_area_m2;
    rows.push(vec![
        "no value".into(),
        area_number(no_value_m2, units),
        share_number(map.share(no_value_m2)),
        String::new(),
        String::new(),
    ]);
    Table {
        caption: "Ground by depth of the loose layer".into(),
        columns: vec![
            text("Depth"),
            number(format!("Ground, {}", units.area_unit())),
            number("Of field, %"),
            number("Zones"),
            number("Spots"),
        ],
        rows,
        note: String::new(),
    }
}

fn classes_by_visit(of: &ReportOf) -> Table {
    let units = of.units();
    let classes = &of.latest().map.classes;
    let mut columns = vec![text("Visit")];
    columns.extend(
        (0..classes.len())
            .map(|class| number(format!("{}, {}", classes.name(class), units.area_unit()))),
    );
    columns.push(number(format!("No value, {}", units.area_unit())));
    let row = |(visit, figures): (&Visit, &VisitFigures)| {
        let grounds = figures.classes.iter().map(|class| class.area_m2);
        let areas = grounds.chain([figures.unmapped_m2]).map(|area_m2| area_number(area_m2, units));
        [of.day(visit)].into_iter().chain(areas).collect()
    };
    Table {
        caption: "Ground by depth of the loose layer, visit by visit".into(),
        columns,
        rows: of.loaded.visits.iter().zip(&of.trend.visits).map(row).collect(),
        note: String::new(),
    }
}

/// Each visit with its figures.
pub fn visits(of: &ReportOf) -> Table {
    let units = of.units();
    let unit = units.depth_unit();
    let row = |(visit, figures): (&Visit, &VisitFigures)| {
        let number = |reading| reading_number(reading, units);
        let moisture = figures.moisture.map(|moisture| format!("{:.1}", moisture.mean_pct));
        let error = figures.rmse_cm.map(|cm| depth_number(Depth::from_cm(cm), units));
        vec![
            of.day(visit),
            figures.probes.to_string(),
            figures.not_reached.to_string(),
            number(figures.median),
            format!("{} to {}", number(figures.lower_quartile), number(figures.upper_quartile)),
            moisture.unwrap_or_else(|| "not recorded".into()),
            error.unwrap_or_else(|| "not known".into()),
        ]
    };
    Table {
        caption: "Visits".into(),
        columns: vec![
            text("Visit"),
            number("Spots"),
            number("Not reached"),
            number(format!("Median depth, {unit}")),
            number(format!("Quartiles, {unit}")),
            number("Soil moisture, %"),
            number(format!("Map's typical error, {unit}")),
        ],
        rows: of.loaded.visits.iter().zip(&of.trend.visits).map(row).collect(),
        note: "Half of the spots lie above the median, a quarter above the lower and three quarters above the upper \
               quartile; \"≥\": not reached, so deeper than that. Typical error: root mean square error when each spot \
               in turn is left out."
            .into(),
    }
}

/// Spots that fell furthest; `None` of one visit.
pub fn falls(of: &ReportOf) -> Option<Table> {
    let falls = of.trend.falls.as_ref()?;
    let units = of.units();
    let unit = units.depth_unit();
    let [from, to] = [falls.from, falls.to].map(|visit| of.day(&of.loaded.visits[visit]));
    let row = |change: &SpotChange| {
        vec![
            of.trend.spots.spots[change.spot].id.clone(),
            reading_number(change.earlier, units),
            reading_number(change.later, units),
            change_number(change.change, units),
        ]
    };
    let left = falls.fell.len().saturating_sub(SPOTS_SHOWN);
    Some(Table {
        caption: format!("Spots whose loose layer became thinner most, {from} to {to}"),
        columns: vec![
            text("Spot"),
            number(format!("{from}, {unit}")),
            number(format!("{to}, {unit}")),
            number(format!("Change, {unit}")),
        ],
        rows: falls.fell.iter().take(SPOTS_SHOWN).map(row).collect(),
        note: if left > 0 { format!("And {left} more.") } else { String::new() },
    })
}

/// A change as far as the readings tell it: `−3`, `≤ −9`.
fn change_number(change: ReadingChange, units: UnitSystem) -> String {
    let number = |cm: f64| signed(units.depth(Depth::from_cm(cm)), 1);
    match change {
        ReadingChange::Exactly(cm) => number(cm),
        ReadingChange::AtMost(cm) => format!("≤ {}", number(cm)),
        ReadingChange::AtLeast(cm) => format!("≥ {}", number(cm)),
        ReadingChange::Unknown => "not known".into(),
    }
}

/// The best of each kind of method, with its errors.
pub fn methods(of: &ReportOf) -> Table {
    let method = &of.latest().map.method;
    let units = of.units();
    let unit = units.depth_unit();
    let row = |tried: &&mapping::Tried| {
        let taken = if tried.kind == method.estimator.kind() { "yes" } else { "" };
        let mut cells = vec![tried.name()];
        match &tried.errors {
            Ok(errors) => cells.extend(error_cells(errors, units)),
            Err(problem) => {
                cells.push(format!("not tried: {problem}"));
                cells.extend(["", "", ""].map(String::from));
            }
        }
        cells.push(taken.into());
        cells
    };
    Table {
        caption: "Ways of making the map, checked by leaving out each spot in turn".into(),
        columns: vec![
            text("Method"),
            number(format!("Root mean square error, {unit}")),
            number(format!("Mean absolute error, {unit}")),
            number(format!("Mean error, {unit}")),
            number("Less squared error than the mean, %"),
            text("Taken"),
        ],
        rows: method.best_of_kinds().iter().map(row).collect(),
        note: "Mean error: reading minus estimate. The best of several is chosen by the readings it is judged by, so \
               its error is a little too small."
            .into(),
    }
}

fn error_cells(errors: &Errors, units: UnitSystem) -> [String; 4] {
    let depth = |cm: f64| match cm.is_nan() {
        true => "not known".into(),
        false => format!("{:.2}", units.depth(Depth::from_cm(cm))),
    };
    let skill = match errors.skill.is_nan() {
        true => "not known".into(),
        false => signed(100.0 * errors.skill, 1).trim_start_matches('+').to_owned(),
    };
    let mean = match errors.me.is_nan() {
        true => "not known".into(),
        false => signed(units.depth(Depth::from_cm(errors.me)), 2),
    };
    [depth(errors.rmse), depth(errors.mae), mean, skill]
}

/// Said where nothing was found.
pub fn no_findings(of: &ReportOf) -> Option<String> {
    let is_clean = of.loaded.visits.iter().all(|visit| visit.survey.findings().is_empty());
    is_clean.then(|| "Nothing: every reading was used as it stands.".into())
}

/// What is odd or wrong in the data, the graver first; `None` where nothing is.
pub fn findings(of: &ReportOf) -> Option<Table> {
    let mut all: Vec<(Severity, String, String)> = of
        .loaded
        .visits
        .iter()
        .flat_map(|visit| {
            let told = move |finding: &survey::Finding| {
                (finding.severity, of.day(visit), crate::terminal::one_line(&finding.to_string()))
            };
            visit.survey.findings().iter().map(told)
        })
        .collect();
    all.sort_by_key(|(severity, ..)| std::cmp::Reverse(*severity));
    let left = all.len().saturating_sub(FINDINGS_SHOWN);
    let row = |(severity, visit, words): &(Severity, String, String)| {
        let kind = match severity {
            Severity::Fault => "fault",
            Severity::Doubt => "doubt",
            Severity::Note => "note",
        };
        vec![visit.clone(), kind.into(), words.clone()]
    };
    let note = "A fault left a reading out or changed it; a doubt left it in but asks for a second look; a note says what \
                is missing.";
    let more = if left > 0 { format!(" {left} more are not shown.") } else { String::new() };
    (!all.is_empty()).then(|| Table {
        caption: "Findings".into(),
        columns: vec![text("Visit"), text("Kind"), text("Finding")],
        rows: all.iter().take(FINDINGS_SHOWN).map(row).collect(),
        note: format!("{note}{more}"),
    })
}

/// The ground that changed by more than its uncertainty, and what went from class to class.
pub fn change(of: &ReportOf) -> Vec<Table> {
    let Some(compared) = of.compared else { return Vec::new() };
    let units = of.units();
    let map = &compared.visits[1].map;
    let change = &compared.found.change;
    let ground = [
        ("thinner by more than the uncertainty", change.thinner_m2),
        ("deeper by more than the uncertainty", change.deeper_m2),
        ("change within the uncertainty", change.within_m2),
        ("not mapped at both visits", change.unmapped_m2),
    ];
    let rows = ground.iter().map(|(name, area_m2)| {
        vec![(*name).to_owned(), area_number(*area_m2, units), share_number(map.share(*area_m2))]
    });
    let ground = Table {
        caption: "Ground by change of the map".into(),
        columns: vec![
            text("Loose layer"),
            number(format!("Ground, {}", units.area_unit())),
            number("Of field, %"),
        ],
        rows: rows.collect(),
        note: String::new(),
    };
    vec![ground, transitions(of, compared)]
}

fn transitions(of: &ReportOf, compared: &crate::commands::compare::Compared) -> Table {
    let units = of.units();
    let classes = &compared.visits[1].map.classes;
    let [from, to] = compared.visits.map(|visit| of.day(visit));
    let mut columns = vec![text(&from)];
    columns.extend((0..classes.len()).map(|class| number(classes.name(class))));
    let row = |(class, areas_m2): (usize, &Vec<f64>)| {
        let cell = |area_m2: &f64| match *area_m2 > 0.0 {
            true => area_number(*area_m2, units),
            false => "–".into(),
        };
        [classes.name(class)].into_iter().chain(areas_m2.iter().map(cell)).collect()
    };
    Table {
        caption: format!(
            "Ground in {} from the depth in the row, {from}, to the depth in the column, {to}",
            units.area_unit()
        ),
        columns,
        rows: compared.found.transitions.areas_m2.iter().enumerate().map(row).collect(),
        note: String::new(),
    }
}
