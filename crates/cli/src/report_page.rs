//! What a report says, from visits that were read and mapped: the grower's page first, then what it rests on.

mod change_part;
mod charts;
mod days;
mod grower;
mod made;
mod tables;
mod thin_ground;

use report::{
    ChangeView, MapPage, MapViewOptions, ReportPage, Section, VisitView, change_limits_cm, day,
    map_view,
};
use season::{Trend, Visit};
use survey::UnitSystem;

use crate::commands::compare::Compared;
use crate::commands::season_stage::ReproductiveStage;
use crate::visits::Loaded;
use crate::words;

/// What a report is made from.
pub struct ReportOf<'a> {
    /// The visits, at least one, as they were read.
    pub loaded: &'a Loaded,
    /// Their figures side by side.
    pub trend: &'a Trend,
    /// The last visit beside the first, where there are two.
    pub compared: Option<&'a Compared<'a>>,
    /// The crop's stage that visits go to, where the settings tell of a crop.
    pub stage: Option<&'a ReproductiveStage>,
    /// The command that makes the report again.
    pub command: &'a str,
}

impl ReportOf<'_> {
    fn units(&self) -> UnitSystem {
        self.latest().map.classes.units()
    }

    /// The visit that the grower's page and the map sheet are of.
    fn latest(&self) -> &Visit {
        self.loaded.visits.last().expect("a report has a visit")
    }

    fn map_page(&self) -> MapPage<'_> {
        map_page(self.loaded)
    }

    /// The day of a visit as people read it, or its name.
    fn day(&self, visit: &Visit) -> String {
        visit.day().map_or_else(|| visit.name.clone(), |date| day(date, self.units()))
    }

    /// Some ground with its unit, and its share of the field.
    fn ground(&self, area_m2: f64) -> String {
        format!("{} ({})", self.area(area_m2), words::percent(self.latest().map.share(area_m2)))
    }

    fn area(&self, area_m2: f64) -> String {
        report::area_text(area_m2, self.latest().survey.field(), self.units())
    }
}

/// The sheet of the latest visit's map.
pub fn map_page(loaded: &Loaded) -> MapPage<'_> {
    let visit = loaded.visits.last().expect("a report has a visit");
    MapPage { title: &loaded.field_name, survey: &visit.survey, map: &visit.map }
}

/// The report.
pub fn report_page(of: &ReportOf) -> ReportPage {
    ReportPage {
        title: of.loaded.field_name.clone(),
        subtitle: format!("Loose-layer depth, {}", days(of)),
        facts: facts(of),
        summary: grower::summary(of),
        map: map(of),
        sections: sections(of),
        made: made::made(of),
        cautions: cautions(of),
    }
}

/// What the map's sheet says, and all that a plan would.
fn cautions(of: &ReportOf) -> Vec<String> {
    let of_map = report::MAP_CAUTIONS.to_owned();
    std::iter::once(of_map).chain(plan::report_cautions(of.units())).collect()
}

/// The days that the report is of: `Apr 14 to Aug 24, 2025`.
fn days(of: &ReportOf) -> String {
    let visits = &of.loaded.visits;
    let days = || visits.iter().filter_map(|visit| visit.survey.dates());
    match (days().next(), days().next_back()) {
        (Some((first, _)), Some((_, last))) => report::from_to(first, last, of.units()),
        _ => "date not recorded".into(),
    }
}

/// What stands below the headline.
fn facts(of: &ReportOf) -> Vec<(String, String)> {
    let visit = of.latest();
    let survey = &visit.survey;
    let visits = of.loaded.visits.len();
    let mut facts = vec![("Field", of.area(visit.map.field_area_m2))];
    if visits > 1 {
        facts.push(("Visits", visits.to_string()));
    }
    facts.extend([
        ("Latest visit", of.day(visit)),
        ("Spots probed", survey.spots().len().to_string()),
        ("Read at", survey.threshold().to_string()),
        (
            "Soil moisture",
            survey.moisture().map_or_else(
                || "not recorded".into(),
                |moisture| format!("{:.1} % on average", moisture.mean_pct),
            ),
        ),
    ]);
    if visits == 1 {
        facts.retain(|(name, _)| *name != "Latest visit");
        facts.insert(1, ("Visit", of.day(visit)));
    }
    facts.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

/// The first and the last visit with the change between them.
fn map(of: &ReportOf) -> report::MapView {
    let visits = &of.loaded.visits;
    let shown: Vec<&Visit> = match visits.as_slice() {
        [first, .., last] => vec![first, last],
        few => few.iter().collect(),
    };
    let labels: Vec<String> = shown.iter().map(|visit| of.day(visit)).collect();
    let views: Vec<VisitView> = shown
        .iter()
        .zip(&labels)
        .map(|(visit, label)| VisitView {
            day: &visit.name,
            label,
            survey: &visit.survey,
            map: &visit.map,
        })
        .collect();
    let limits_cm = change_limits_cm(of.units());
    let change = of.compared.map(|compared| {
        let change = &compared.found.change;
        ChangeView {
            visits: [0, 1],
            change_cm: &change.change_cm,
            half_width_cm: &change.half_width_cm,
            confidence: change.confidence,
            limits_cm: &limits_cm,
        }
    });
    map_view(&views, change.as_ref(), &MapViewOptions::default())
}

/// Charts and tables by what they answer.
fn sections(of: &ReportOf) -> Vec<Section> {
    let mut all = vec![
        Section {
            heading: "Zones".into(),
            sentences: [tables::zone_sentences(of), grower::sure_of_zones(of)].concat(),
            tables: vec![tables::zones(of), tables::classes(of)],
            ..Section::default()
        },
        readings(of),
    ];
    all.extend(change_part::season(of));
    all.extend(change_part::change(of));
    all.push(how_sure(of));
    all.push(Section {
        heading: "What was odd about the readings".into(),
        sentences: tables::no_findings(of).into_iter().collect(),
        tables: tables::findings(of).into_iter().collect(),
        ..Section::default()
    });
    for section in &mut all {
        for sentence in &mut section.sentences {
            *sentence = days::readable(sentence, of.units());
        }
    }
    all
}

fn readings(of: &ReportOf) -> Section {
    let mut charts = vec![report::readings_chart(&of.map_page())];
    charts.extend(charts::profiles(of));
    Section {
        heading: format!("The readings of {}", of.day(of.latest())),
        charts,
        ..Section::default()
    }
}

fn how_sure(of: &ReportOf) -> Section {
    let page = of.map_page();
    let mut charts: Vec<report::Chart> = report::check_chart(&page).into_iter().collect();
    charts.extend(charts::variogram(of));
    Section {
        heading: format!("How sure the map of {} is", of.day(of.latest())),
        sentences: report::how_sure(&page),
        charts,
        tables: vec![tables::methods(of)],
    }
}
