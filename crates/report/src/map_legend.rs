//! The legend of the map of depth classes.

use mapping::FEW_PROBES;

use crate::legend::{Legend, LegendPanel, Row, depth_unit_name, no_reading};
use crate::marks::Mark;
use crate::page::MapPage;
use crate::palette::class_colour;
use crate::svg::Paint;
use crate::wording::{area_text, count_text, share_text, whole};

/// Stands behind the id of a zone with few probes.
pub(crate) const FEW_MARK: &str = "*";

/// The classes, the marks, and what a zone's id means.
pub(crate) fn of<'a>(page: &MapPage<'a>) -> LegendPanel<'a> {
    let legend = Legend {
        title: "Loose layer".into(),
        caption: None,
        rows: rows(page),
        marks: marks(page),
        names: zone_note(page).into_iter().chain(few_probes(page)).collect(),
    };
    LegendPanel { field: page.survey.field(), units: page.map.classes.units(), legend }
}

fn rows(page: &MapPage) -> Vec<Row> {
    let map = page.map;
    let classes = map.classes.len();
    let of_class = |class| Row {
        swatch: Paint::fill(class_colour(class, classes)),
        name: map.classes.name(class),
        note: None,
        area_m2: map.class_area_m2(class),
        interval: interval(page, class),
    };
    let units = map.classes.units();
    let reach = units.distance_text(whole(map.method.reach_m, units));
    let note = match map.strata.is_empty() {
        true => format!("no probe within {reach}"),
        false => format!("no probe of its ground within {reach}"),
    };
    let no_value = Row::no_value(Some(note), map.unmapped.ground_area_m2);
    (0..classes).map(of_class).chain([no_value]).collect()
}

/// The 80 % interval of a class's ground, where there is one: `10.1–14.6`.
fn interval(page: &MapPage, class: usize) -> Option<String> {
    let area = page.map.class_intervals.as_ref()?.areas[class];
    let units = page.map.classes.units();
    let number = |m2| {
        let text = area_text(m2, page.survey.field(), units);
        text.trim_end_matches(units.area_unit()).trim_end().to_owned()
    };
    Some(format!("{}–{}", number(area.low_m2), number(area.high_m2)))
}

/// What a zone's id means, by the example of the largest zone.
fn zone_note(page: &MapPage) -> Option<(String, String)> {
    let area = |zone: &&mapping::Zone| zone.ground_area_m2;
    let zone = page.map.zones.iter().max_by(|a, b| area(a).total_cmp(&area(b)))?;
    Some((zone.id.clone(), format!("a zone: class {}, the largest", zone.class + 1)))
}

/// What the mark of a zone with few probes means, where there is one.
fn few_probes(page: &MapPage) -> Option<(String, String)> {
    let has_few = page.map.zones.iter().any(mapping::Zone::has_few_probes);
    has_few.then(|| (FEW_MARK.into(), format!("fewer than {FEW_PROBES} probes")))
}

fn marks(page: &MapPage) -> Vec<(Mark, String)> {
    let survey = page.survey;
    let threshold = survey.threshold().to_string();
    let unit = depth_unit_name(page.map.classes.units());
    let mut rows = vec![(Mark::Reached, format!("{threshold} first read here, {unit}"))];
    let not_reached = survey.not_reached();
    if not_reached > 0 {
        let share = share_text(not_reached as f64 / survey.spots().len() as f64);
        let words = format!(
            "not reached to the depth probed (+): {not_reached} of {} ({share}); near them the map is a \
             lower bound",
            count_text(survey.spots().len(), "probe"),
        );
        rows.push((Mark::NotReached, words));
    }
    rows.extend(no_reading(survey));
    rows
}
