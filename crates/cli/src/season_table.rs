//! A season as text for the terminal, in the user's units.

use season::{Falls, MedianChange, ReadingChange, SpotChange, Trend, VisitFigures};
use survey::units::tidy;
use survey::{Depth, Reading, UnitSystem};

use crate::commands::season_stage::ReproductiveStage;
use crate::season_words;

/// Spots told in the terminal; the tables have all.
const SPOTS_TOLD: usize = 5;

/// The season: what moisture says of it, a line a visit, falls, late visits, the next one.
pub fn season(
    field_name: &str,
    trend: &Trend,
    stage: Option<&ReproductiveStage>,
    units: UnitSystem,
) -> String {
    // Before any figure: whether it is evidence at all.
    let moisture = since_first(trend).map(|change| change.moisture.sentence());
    let mut lines: Vec<String> = moisture.into_iter().collect();
    lines.extend([heading(field_name, trend), String::new()]);
    lines.extend(visits(trend, units));
    lines.push(String::new());
    lines.push(format!(
        "medians and quartiles of probes by Kaplan-Meier, \"≥\" where the threshold was not reached; \
         {:.0} % interval of the median; depths are read at the rod's marks, so an interval goes to the next \
         mark and is no more exact than marks are apart",
        100.0 * trend.settings.confidence
    ));
    lines.extend(median_change(trend, units));
    lines.extend(trend.ranks.as_ref().map(season::RankCorrelations::sentence));
    lines.extend(trend.falls.as_ref().into_iter().flat_map(|falls| fallen(trend, falls, units)));
    lines.extend(season_words::notes(trend, stage));
    lines.join("\n")
}

fn heading(field_name: &str, trend: &Trend) -> String {
    let day = |visit: &VisitFigures| visit.days.map_or(visit.name.clone(), |days| days.to_string());
    match trend.visits.as_slice() {
        [only] => format!("{field_name}: one visit, {}", day(only)),
        [first, .., last] => format!(
            "{field_name}: {} visits, {} to {}, depth to {}",
            trend.visits.len(),
            day(first),
            day(last),
            first.threshold
        ),
        [] => field_name.to_owned(),
    }
}

fn visits(trend: &Trend, units: UnitSystem) -> Vec<String> {
    let unit = units.depth_unit();
    let mut lines = vec![format!(
        "  {:<12}{:>5}{:>8}{:>14}{:>22}{:>18}{:>10}{:>12}",
        "visit",
        "days",
        "probes",
        "not reached",
        format!("median, {unit}"),
        format!("quartiles, {unit}"),
        "moisture",
        "map's error"
    )];
    for (number, visit) in trend.visits.iter().enumerate() {
        let gap = number.checked_sub(1).and_then(|before| trend.gaps.get(before));
        let late = gap.is_some_and(season::VisitGap::is_late);
        let [median, from, to, lower, upper] = [
            visit.median,
            visit.median_interval.from,
            visit.median_interval.to,
            visit.lower_quartile,
            visit.upper_quartile,
        ]
        .map(|reading| number_of(reading, units));
        lines.push(format!(
            "  {:<12}{:>5}{:>8}{:>14}{:>22}{:>18}{:>10}{:>12}{}",
            visit.name,
            gap.map_or(String::new(), |gap| gap.days.to_string()),
            visit.probes,
            visit.not_reached,
            format!("{median} ({from} to {to})"),
            format!("{lower} to {upper}"),
            visit.moisture.map_or("unknown".into(), |m| format!("{:.1} %", m.mean_pct)),
            visit.rmse_cm.map_or("unknown".into(), |cm| {
                format!("{:.1} {unit}", units.depth(Depth::from_cm(cm)))
            }),
            if late { "  late" } else { "" },
        ));
    }
    lines
}

/// The last visit against the first.
fn since_first(trend: &Trend) -> Option<MedianChange> {
    trend.visits.last()?.since_first
}

/// The change of the median over the whole season.
fn median_change(trend: &Trend, units: UnitSystem) -> Option<String> {
    let told = change_text(since_first(trend)?.change, units);
    let [first, .., last] = trend.visits.as_slice() else { return None };
    Some(format!("median of {} against {}: {told}", last.name, first.name))
}

fn fallen(trend: &Trend, falls: &Falls, units: UnitSystem) -> Vec<String> {
    let list = |changes: &[SpotChange]| {
        let told: Vec<String> = changes
            .iter()
            .take(SPOTS_TOLD)
            .map(|change| {
                let id = &trend.spots.spots[change.spot].id;
                format!("{id} {}", change_text(change.change, units))
            })
            .collect();
        match changes.len() {
            0 => "none".into(),
            count if count > SPOTS_TOLD => {
                format!("{} and {} more", told.join(", "), count - SPOTS_TOLD)
            }
            _ => told.join(", "),
        }
    };
    let [from, to] = [falls.from, falls.to].map(|visit| &trend.visits[visit].name);
    vec![
        format!("fell furthest from {from} to {to}: {}", list(&falls.fell)),
        format!("deepened: {}", list(&falls.deepened)),
    ]
}

/// A depth as a number: `9`, `≥18`.
fn number_of(reading: Reading, units: UnitSystem) -> String {
    let sign = if reading.is_not_reached() { "≥" } else { "" };
    format!("{sign}{}", tidy(units.depth(reading.at_least()), 1))
}

/// A change in words: `3 in thinner`, `at least 12 in thinner`.
fn change_text(change: ReadingChange, units: UnitSystem) -> String {
    let text = |cm: f64| units.depth_text(Depth::from_cm(cm.abs()));
    match change {
        ReadingChange::Exactly(cm) if text(cm) == text(0.0) => "unchanged".into(),
        ReadingChange::Exactly(cm) => format!("{} {}", text(cm), side(cm)),
        ReadingChange::AtMost(cm) if cm < 0.0 => format!("at least {} thinner", text(cm)),
        ReadingChange::AtLeast(cm) if cm > 0.0 => format!("at least {} deeper", text(cm)),
        ReadingChange::AtMost(cm) => format!("thinner, or at most {} deeper", text(cm)),
        ReadingChange::AtLeast(cm) => format!("deeper, or at most {} thinner", text(cm)),
        ReadingChange::Unknown => "not known: it was reached on neither".into(),
    }
}

fn side(cm: f64) -> &'static str {
    if cm < 0.0 { "thinner" } else { "deeper" }
}
