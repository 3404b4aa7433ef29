//! What is said of a visit wherever a figure of it stands: when, how many probes, how moist.

use survey::units::tidy;
use survey::{CheckedSurvey, Date, Moisture, UnitSystem};

use crate::fonts::{self, Weight};
use crate::wording::day;

/// A visit as a page names it.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitFacts {
    /// What it is called where its days are not known: its file for instance. Shortened where it does
    /// not fit.
    pub name: String,
    /// Its first and last day.
    pub days: Option<(Date, Date)>,
    /// How many spots have a reading.
    pub probes: usize,
    /// Soil moisture, `None` where it was not recorded.
    pub moisture: Option<Moisture>,
}

impl VisitFacts {
    /// Of a survey.
    pub fn of(name: &str, survey: &CheckedSurvey) -> Self {
        VisitFacts {
            name: name.into(),
            days: survey.dates(),
            probes: survey.spots().len(),
            moisture: survey.moisture(),
        }
    }

    /// Its first day, or its name.
    pub(crate) fn day_text(&self, units: UnitSystem) -> String {
        /// Room of a name, in letters' heights.
        const ROOM: f64 = 9.0;
        match self.days {
            Some((first, _)) => day(first, units),
            None => fonts::shorten(self.name.trim(), 1.0, Weight::Regular, ROOM),
        }
    }

    /// Its mean soil moisture: `34 %`.
    pub(crate) fn mean_moisture_text(&self) -> String {
        self.moisture.map_or_else(
            || "not recorded".into(),
            |moisture| format!("{} %", tidy(moisture.mean_pct, 0)),
        )
    }
}

/// The moisture of both visits, which stands beside every figure of a change.
pub(crate) fn moisture_caption(visits: [&VisitFacts; 2]) -> String {
    match visits.map(|visit| visit.moisture) {
        [None, None] => "soil moisture not recorded".into(),
        _ => {
            let [earlier, later] = visits.map(VisitFacts::mean_moisture_text);
            format!("soil moisture {earlier} → {later}")
        }
    }
}

/// Names and values of two visits for the head of a page.
pub(crate) fn facts_of_two(
    names: [&'static str; 2],
    visits: [&VisitFacts; 2],
    units: UnitSystem,
) -> Vec<(&'static str, String)> {
    let value = |visit: &VisitFacts| {
        let moisture = match visit.moisture {
            Some(_) => visit.mean_moisture_text(),
            None => "moisture ?".into(),
        };
        format!("{} · {moisture}", visit.day_text(units))
    };
    names.into_iter().zip(visits.map(value)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn facts(moisture_pct: Option<f64>) -> VisitFacts {
        let moisture = moisture_pct.map(|pct| Moisture {
            mean_pct: pct,
            min_pct: pct - 4.0,
            max_pct: pct + 4.0,
            insertions: 9,
        });
        VisitFacts {
            name: "spring-walk-of-the-north-bench.csv".into(),
            days: None,
            probes: 9,
            moisture,
        }
    }

    #[test]
    fn a_visit_without_a_day_has_its_name_shortened() {
        let text = facts(None).day_text(UnitSystem::Us);
        assert!(text.starts_with("spring") && text.ends_with('…'), "{text}");
    }

    #[test]
    fn the_moisture_of_both_visits_is_told_even_where_one_is_missing() {
        let of = |a, b| moisture_caption([&facts(a), &facts(b)]);
        assert_eq!(of(Some(34.2), Some(16.0)), "soil moisture 34 % → 16 %");
        assert_eq!(of(None, Some(16.0)), "soil moisture not recorded → 16 %");
        assert_eq!(of(None, None), "soil moisture not recorded");
    }
}
