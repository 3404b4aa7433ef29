//! A made-up season for the tests, with pages of it.

use survey::{Date, UnitSystem};

use crate::estimate::Between;
use crate::season_page::{SeasonDepth, SeasonPage, SeasonVisit, SeasonWindow, SpotFall};
use crate::testing::Sample;
use crate::testing_change::{DRIER, moisture};
use crate::visit_facts::VisitFacts;
use crate::visits_page::{VisitMap, VisitsPage};

/// Visits of a sample's field.
pub(crate) struct Season {
    pub sample: Sample,
    pub visits: Vec<SeasonVisit>,
    pub class_names: Vec<String>,
    pub share_names: Vec<String>,
    pub falls: Vec<SpotFall>,
    pub notes: Vec<String>,
}

pub(crate) fn depth(inches: f64, is_at_least: bool) -> SeasonDepth {
    SeasonDepth { depth_cm: inches * 2.54, is_at_least }
}

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

impl Season {
    /// So many visits, ten to thirteen days apart; the third gap is three weeks.
    pub fn new(sample: Sample, count: usize) -> Self {
        let units = sample.map.classes.units();
        let classes = &sample.map.classes;
        let mut date = day("2025-04-14");
        let visits: Vec<SeasonVisit> = (0..count)
            .map(|k| {
                let gap = if k == 3 { 21 } else { 10 + (k * 7) % 4 };
                for _ in 0..if k > 0 { gap } else { 0 } {
                    date = date.tomorrow().unwrap();
                }
                visit(&sample, k, date, (k == 3).then_some(21))
            })
            .collect();
        let unit = units.depth_unit();
        let [first, second] = match units {
            UnitSystem::Us => ["6", "12"],
            UnitSystem::Si => ["15", "30"],
        };
        Season {
            class_names: (0..classes.len()).map(|class| classes.name(class)).collect(),
            share_names: vec![
                format!("below {first} {unit}"),
                format!("below {second} {unit}"),
                "not reached".into(),
            ],
            falls: (0..9).map(fall).collect(),
            notes: vec![
                "Depths are those of the probes; a median that was not reached is a lower bound.".into(),
                "Theil–Sen slope over the season: −0.8 in a month (95 % interval −1.4 to −0.3 in), \
                 without allowing for moisture."
                    .into(),
                "One visit was late; between May 7 and May 28 nothing is known.".into(),
            ],
            visits,
            sample,
        }
    }

    pub fn page<'a>(&'a self, title: &'a str) -> SeasonPage<'a> {
        SeasonPage {
            title,
            field: self.sample.survey.field(),
            units: self.sample.map.classes.units(),
            moisture: DRIER,
            visits: &self.visits,
            class_names: &self.class_names,
            share_names: &self.share_names,
            shares_of: "probes",
            window: Some(SeasonWindow {
                first: day("2025-07-10"),
                last: day("2025-08-12"),
                words: "reproductive stage, R1 to R4",
            }),
            planted: Some(day("2025-05-05")),
            visit_within_days: 14,
            next_due: self.visits.last().map(|_| (day("2025-09-03"), day("2025-09-07"))),
            falls_title: "Fell furthest since Apr 14, 2025",
            falls: &self.falls,
            verdict: "The loose layer became thinner as the soil dried; how much of it is density is not \
                      known.",
            notes: &self.notes,
        }
    }
}

fn visit(sample: &Sample, k: usize, day: Date, late_gap_days: Option<u32>) -> SeasonVisit {
    let part = k as f64;
    let median = if k < 2 { depth(18.0, true) } else { depth((16.0 - part).max(4.0), false) };
    let ground_m2 = sample.map.field_area_m2;
    let classes = sample.map.classes.len();
    let weight = |class: usize| 1.0 + (part * 0.4 + class as f64 * 1.7) % 3.0;
    let all: f64 = (0..classes).map(weight).sum::<f64>() + 0.8;
    SeasonVisit {
        day,
        probes: 108 - k,
        quartiles: [depth((9.0 - 0.4 * part).max(2.0), false), median, depth(18.0, k < 7)],
        moisture: if k == 5 { None } else { moisture(34.0 - (part * 1.9) % 20.0) },
        shares: vec![
            0.08 + 0.03 * (part % 12.0),
            0.3 + 0.04 * (part % 12.0),
            (0.52 - 0.04 * part).max(0.0),
        ],
        class_areas_m2: (0..classes).map(|class| weight(class) / all * ground_m2).collect(),
        unmapped_m2: 0.8 / all * ground_m2,
        late_gap_days,
    }
}

fn fall(k: usize) -> SpotFall {
    let (first, last) = (depth(18.0, k.is_multiple_of(3)), depth(3.0 + k as f64, false));
    let high_cm = last.depth_cm - first.depth_cm;
    let low_cm = if first.is_at_least { f64::NEG_INFINITY } else { high_cm };
    SpotFall {
        id: format!("NB-{:03}", 7 * k + 3),
        first,
        last,
        change: Between { low_cm, high_cm },
    }
}

/// What is said of so many visits, all with the sample's readings.
pub(crate) fn facts_of_visits(count: usize) -> Vec<VisitFacts> {
    let mut date = day("2025-04-14");
    (0..count)
        .map(|k| {
            let facts = VisitFacts {
                name: String::new(),
                days: Some((date, date)),
                probes: 108 - k,
                moisture: if k == 4 { None } else { moisture(34.0 - (k as f64 * 2.3) % 20.0) },
            };
            for _ in 0..12 {
                date = date.tomorrow().unwrap();
            }
            facts
        })
        .collect()
}

/// Maps of so many visits, which take turns with the samples.
pub(crate) fn maps_of_visits<'a>(
    samples: &'a [Sample],
    facts: &'a [VisitFacts],
) -> Vec<VisitMap<'a>> {
    let map = |(k, facts): (usize, &'a VisitFacts)| {
        let sample = &samples[k % samples.len()];
        let median = Some(depth(9.0 + (k % 3) as f64 * 4.5, k % 3 == 2));
        VisitMap { facts, survey: &sample.survey, map: &sample.map, median }
    };
    facts.iter().enumerate().map(map).collect()
}

pub(crate) fn visits_page<'a>(title: &'a str, visits: &'a [VisitMap<'a>]) -> VisitsPage<'a> {
    let units = visits.first().map_or(UnitSystem::Us, |visit| visit.map.classes.units());
    VisitsPage { title, units, moisture: DRIER, visits }
}
