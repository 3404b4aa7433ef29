//! The tables of a season: RFC 4180 (IETF, October 2005), section 2, with line feeds. UTF-8, comma, decimal
//! point, a header; every unit stands in its column's name. An empty field is missing.
//!
//! A depth that is only a lower bound, since the threshold was not reached, has its depth probed in the
//! column and says so in the next one: a spreadsheet can sum neither by mistake for the other.

use season::{MedianChange, SpotSeries, Trend, VisitFigures};
use serde_json::Value;
use survey::{Date, DateRange, Reading, UnitSystem, Utm};

use crate::plan_csv::field;
use crate::rounded::{decimals, percent, significant};
use crate::season_words::{at_least, change_bounds, depth, moisture_matches, outcome, ranks};

/// Digits of a probability, which may be very small.
const P_DIGITS: usize = 6;

/// A field with the name of its column.
type Named = (String, String);

/// One line a visit.
pub fn visits_csv(trend: &Trend, units: UnitSystem) -> String {
    table((0..trend.visits.len()).map(|visit| visit_line(trend, visit, units)))
}

/// One line for each class of each visit, and one for its ground without a value.
pub fn classes_csv(trend: &Trend, units: UnitSystem) -> String {
    let of_visit = |visit: &VisitFigures| {
        let mut lines: Vec<Vec<Named>> =
            (0..visit.classes.len()).map(|class| class_line(visit, Some(class), units)).collect();
        lines.push(class_line(visit, None, units));
        lines
    };
    table(trend.visits.iter().flat_map(of_visit))
}

/// One line for each spot and visit, by spot: what a chart of each spot's course is drawn from.
pub fn season_readings_csv(trend: &Trend, utm: Utm, units: UnitSystem) -> String {
    let of_spot = |spot: &SpotSeries| {
        let line = |(visit, reading): (&VisitFigures, &Option<Reading>)| {
            let mut line = place(spot, utm);
            line.push(named("visit", field(&visit.name)));
            line.push(named("first_day", day(visit.days.map(DateRange::first))));
            line.extend(reading_fields("", *reading, units));
            line
        };
        trend.visits.iter().zip(&spot.readings).map(line).collect::<Vec<_>>()
    };
    table(trend.spots.spots.iter().flat_map(of_spot))
}

/// One line a spot: its first and last visit compared, its rank among those that fell furthest.
pub fn spots_csv(trend: &Trend, utm: Utm, units: UnitSystem) -> String {
    let spots = trend.spots.spots.iter().enumerate();
    table(spots.map(|(index, spot)| spot_line(trend, (index, spot), utm, units)))
}

fn visit_line(trend: &Trend, number: usize, units: UnitSystem) -> Vec<Named> {
    let visit = &trend.visits[number];
    let gap = number.checked_sub(1).and_then(|before| trend.gaps.get(before));
    let unit = units.depth_unit();
    let count = |name: &str, number: usize| named(name, number.to_string());
    let mut line = vec![
        named("visit", field(&visit.name)),
        named("first_day", day(visit.days.map(DateRange::first))),
        named("last_day", day(visit.days.map(DateRange::last))),
        named("days_since_visit_before", gap.map_or(String::new(), |gap| gap.days.to_string())),
        named("days_late", gap.map_or(String::new(), |gap| gap.late_by.to_string())),
        threshold(visit, units),
        count("probes", visit.probes),
        count("stopped_by_stone", visit.stopped_by_stone),
        count("skipped", visit.skipped),
        count("not_reached", visit.not_reached),
    ];
    let interval = visit.median_interval;
    for (name, reading) in [
        ("median", visit.median),
        ("median_interval_from", interval.from),
        ("median_interval_to", interval.to),
        ("lower_quartile", visit.lower_quartile),
        ("upper_quartile", visit.upper_quartile),
    ] {
        line.push(named(format!("{name}_{unit}"), number_text(&at_least(reading, units))));
        line.push(named(format!("{name}_is_lower_bound"), yes_no(reading.is_not_reached())));
    }
    for share in &visit.shares {
        let mark = number_text(&depth(share.mark, units));
        line.push(named(
            format!("shallower_than_{mark}{unit}_pct_of_probes"),
            number_text(&percent(share.share)),
        ));
        line.push(count(&format!("unknown_at_{mark}{unit}_probes"), share.unknown));
    }
    let moisture = visit.moisture.map(|moisture| decimals(moisture.mean_pct, 2));
    line.push(named("moisture_mean_pct", moisture.as_ref().map_or(String::new(), number_text)));
    line.extend(change_fields("since_first", visit.since_first, units));
    line.extend(change_fields("since_before", visit.since_before, units));
    let p = visit.log_rank.map(|test| significant(test.p, P_DIGITS));
    line.push(named("log_rank_p_against_first", p.as_ref().map_or(String::new(), number_text)));
    line.push(named("map_method", visit.method.name().to_owned()));
    let rmse = visit.rmse_cm.map(|cm| depth(survey::Depth::from_cm(cm), units));
    line.push(named(format!("map_rmse_{unit}"), rmse.as_ref().map_or(String::new(), number_text)));
    line.push(named("map_beats_field_mean", yes_no(visit.beats_field_mean)));
    line.push(area("without_value", visit.unmapped_m2, units));
    line.push(area("field", visit.field_m2, units));
    line
}

fn threshold(visit: &VisitFigures, units: UnitSystem) -> Named {
    let pressure = visit.threshold.pressure();
    let (name, number) = match units {
        UnitSystem::Us => ("threshold_psi", pressure.psi()),
        UnitSystem::Si => ("threshold_kpa", pressure.kpa()),
    };
    named(name, number_text(&decimals(number, 2)))
}

/// The change of the median with whether moistures match.
fn change_fields(name: &str, change: Option<MedianChange>, units: UnitSystem) -> [Named; 3] {
    let unit = units.depth_unit();
    let [least, most] =
        change.map_or([Value::Null, Value::Null], |change| change_bounds(change.change, units));
    let matches = change.map_or("", |change| moisture_matches(&change.moisture));
    [
        named(format!("median_change_{name}_least_{unit}"), number_text(&least)),
        named(format!("median_change_{name}_most_{unit}"), number_text(&most)),
        named(format!("moisture_matches_{name}"), matches.to_owned()),
    ]
}

/// A class, or the ground without a value.
fn class_line(visit: &VisitFigures, class: Option<usize>, units: UnitSystem) -> Vec<Named> {
    let unit = units.depth_unit();
    let ground = class.map(|class| &visit.classes[class]);
    let area_m2 = ground.map_or(visit.unmapped_m2, |ground| ground.area_m2);
    let limit = |depth: Option<survey::Depth>| {
        depth.map_or(String::new(), |limit| number_text(&self::depth(limit, units)))
    };
    vec![
        named("visit", field(&visit.name)),
        named("first_day", day(visit.days.map(DateRange::first))),
        named("class_no", class.map_or(String::new(), |class| (class + 1).to_string())),
        named("class", field(ground.map_or("no value", |ground| ground.name.as_str()))),
        named(format!("from_{unit}"), limit(ground.map(|ground| ground.from))),
        named(format!("below_{unit}"), limit(ground.and_then(|ground| ground.below))),
        area("area", area_m2, units),
        named("share_of_field_pct", number_text(&percent(area_m2 / visit.field_m2))),
        named("probes", ground.map_or(String::new(), |ground| ground.probes.to_string())),
    ]
}

fn spot_line(
    trend: &Trend,
    (index, spot): (usize, &SpotSeries),
    utm: Utm,
    units: UnitSystem,
) -> Vec<Named> {
    let unit = units.depth_unit();
    let mut line = place(spot, utm);
    let read = spot.readings.iter().flatten().count();
    line.push(named("visits_with_reading", read.to_string()));
    let ends =
        trend.falls.as_ref().map_or([0, trend.visits.len() - 1], |falls| [falls.from, falls.to]);
    for (name, visit) in ["earlier", "later"].into_iter().zip(ends) {
        line.push(named(format!("{name}_visit"), field(&trend.visits[visit].name)));
        line.extend(reading_fields(&format!("{name}_"), spot.readings[visit], units));
    }
    let [from, to] = ends.map(|visit| spot.readings[visit]);
    let change = trend.falls.as_ref().and(from.zip(to));
    let [least, most] = change.map_or([Value::Null, Value::Null], |(earlier, later)| {
        change_bounds(season::ReadingChange::between(earlier, later), units)
    });
    line.push(named(format!("change_least_{unit}"), number_text(&least)));
    line.push(named(format!("change_most_{unit}"), number_text(&most)));
    let ranks = trend.falls.as_ref().map_or([None, None], |falls| ranks(falls, index));
    for (name, rank) in ["rank_of_falls", "rank_of_rises"].into_iter().zip(ranks) {
        line.push(named(name, rank.map_or(String::new(), |rank| rank.to_string())));
    }
    line
}

/// A spot and where it was first seen.
fn place(spot: &SpotSeries, utm: Utm) -> Vec<Named> {
    let place = utm.unproject(spot.place);
    let degrees = |degrees: f64| format!("{degrees:.7}");
    vec![
        named("spot", field(&spot.id)),
        named("longitude", degrees(place.lon_deg)),
        named("latitude", degrees(place.lat_deg)),
    ]
}

/// A reading and what became of it; a depth that was not reached is a lower bound.
fn reading_fields(before: &str, reading: Option<Reading>, units: UnitSystem) -> [Named; 2] {
    let depth = reading.map(|reading| at_least(reading, units));
    [
        named(
            format!("{before}depth_{}", units.depth_unit()),
            depth.as_ref().map_or(String::new(), number_text),
        ),
        named(format!("{before}outcome"), outcome(reading).to_owned()),
    ]
}

fn area(name: &str, area_m2: f64, units: UnitSystem) -> Named {
    let number = decimals(units.area(area_m2), 4);
    named(format!("{name}_{}", units.area_unit()), number_text(&number))
}

fn named(name: impl Into<String>, field: String) -> Named {
    (name.into(), field)
}

fn day(day: Option<Date>) -> String {
    day.map_or(String::new(), |day| day.to_string())
}

fn yes_no(is_so: bool) -> String {
    if is_so { "yes" } else { "no" }.to_owned()
}

/// A number without needless zeros; nothing where it is null.
fn number_text(number: &Value) -> String {
    let text = if number.is_null() { String::new() } else { number.to_string() };
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// The lines with the names of their columns above them, which are the same in each.
fn table(lines: impl Iterator<Item = Vec<Named>>) -> String {
    let mut text = String::new();
    for (number, line) in lines.enumerate() {
        if number == 0 {
            let names: Vec<&str> = line.iter().map(|(name, _)| name.as_str()).collect();
            text += &(names.join(",") + "\n");
        }
        let fields: Vec<&str> = line.iter().map(|(_, field)| field.as_str()).collect();
        text += &(fields.join(",") + "\n");
    }
    text
}
