//! What is said of visits and stages, alike in the terminal, in the calendar file and on a page.

use survey::units::tidy;
use survey::{Date, UnitSystem};

use crate::calendar::DayReason;
use crate::crop_stage::{Crop, Stage};
use crate::days::days_between;
use crate::growing_degrees::{DegreeSource, DegreeSum, GrowingDegrees};
use crate::stage_date::StageDate;

/// Millimetres in one inch, exact.
const MM_PER_IN: f64 = 25.4;

/// Rain of a day with its unit, for people: `0.8 in`, `20 mm`.
pub fn rain_text(rain_mm: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{} in", tidy(rain_mm / MM_PER_IN, 2)),
        UnitSystem::Si => format!("{} mm", tidy(rain_mm, 1)),
    }
}

/// So many days: `1 day`, `3 days`.
pub fn days_text(days: i32) -> String {
    match days {
        1 => "1 day".into(),
        _ => format!("{days} days"),
    }
}

/// Why a visit is planned for a day: `2 days after 0.8 in of rain`.
pub fn reason_text(reason: DayReason, date: Date, units: UnitSystem) -> String {
    match reason {
        DayReason::First => "first visit".into(),
        DayReason::Middle => "within the rhythm".into(),
        DayReason::AfterRain { rained, rain_mm, is_ahead } => format!(
            "{} after {} of rain{}",
            days_text(days_between(rained, date)),
            rain_text(rain_mm, units),
            if is_ahead { " that the file has after today" } else { "" }
        ),
        DayReason::Overdue { days } => format!("overdue by {}: go now", days_text(days)),
    }
}

/// What a crop and stage are called: `silking (R1) of corn`, `flowering (R1)`.
pub fn target_text(crop: Option<&Crop>, target: Stage) -> String {
    match crop {
        Some(crop) => format!("{} of {}", crop.stage_name(target), crop.name()),
        None if target == Stage::FLOWERING => format!("flowering or silking ({target})"),
        None => target.to_string(),
    }
}

/// One sentence or two on when the stage is reached: seen, estimated and on what, or why it cannot be told.
pub fn stage_sentence(
    crop: Option<&Crop>,
    target: Stage,
    stage: &StageDate,
    degrees: Option<&GrowingDegrees>,
) -> String {
    let name = target_text(crop, target);
    match stage {
        StageDate::Seen(seen) if seen.stage == target => {
            format!("{name} was seen on {}.", seen.date)
        }
        StageDate::Seen(seen) => {
            format!("{name} was reached by {}, when {} was seen.", seen.date, seen.stage)
        }
        StageDate::Unknown(why) => format!("When {name} is reached cannot be told: {why}."),
        StageDate::Estimated { first, last, counted_from } => {
            let from = counted_from.map_or("planting".to_owned(), |seen| {
                format!("{}, seen on {}", seen.stage, seen.date)
            });
            format!(
                "{name} is estimated between {} and {}, by growing degrees since {from} ({}). An \
                 estimate only, hybrids and fields differ by a week or more: look at the plants.",
                first.date,
                last.date,
                basis(*last, degrees)
            )
        }
    }
}

/// On what the last day of an estimate rests.
fn basis(last: DegreeSum, degrees: Option<&GrowingDegrees>) -> String {
    match (last.source, degrees.and_then(|degrees| Some((degrees, degrees.mean_f?)))) {
        (DegreeSource::Measured, _) => "temperatures measured up to then".into(),
        (DegreeSource::Filled, _) => "temperatures measured up to then, gaps filled".into(),
        (DegreeSource::Ahead, _) => {
            "with temperatures that the weather file has for days after today".into()
        }
        (DegreeSource::Projected, Some((degrees, mean_f))) => format!(
            "projected: from {} on each day counts {mean_f:.1}, the mean of the last {} known days, \
             which knows nothing of the weather to come",
            degrees
                .sums()
                .last()
                .map_or(degrees.planted, |sum| sum.date)
                .tomorrow()
                .unwrap_or(last.date),
            degrees.days_of_mean
        ),
        (DegreeSource::Projected, None) => "projected".into(),
    }
}

/// What to do on a visit, in order.
pub const WHAT_TO_DO: [&str; 4] = [
    "Probe when the soil is moist to the full depth, near field capacity: a day or two after a soaking rain \
     is best. In dry soil the loose layer reads thinner than it is.",
    "Go to the same spots with the same cone and rod; push slowly and evenly. Note the depth at the threshold, \
     or that it was not reached and how deep you probed.",
    "Record soil moisture at each spot, or at some: without it no change since the last visit can be told \
     from drying.",
    "Look at the plants and note their stage.",
];

/// What can hurt on a visit. Re-entry after spraying: in the US the product's label and the Worker
/// Protection Standard, 40 CFR part 170 (from memory).
pub const CAUTIONS: [&str; 3] = [
    "Stay out of a sprayed field until the time to re-enter on the product's label is over.",
    "Do not probe over buried cables, gas or drain lines; before you dig a pit, have them marked (in the US \
     call 811, three business days ahead; private lines are not marked).",
    "Leave the field in a thunderstorm; a steel rod draws lightning. Mind heat, and work with water at hand.",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::crop_stage::ObservedStage;
    use crate::growing_degrees::NoDegrees;
    use crate::stage_date::NoStageDate;
    use jiff::civil::date;

    #[test]
    fn a_reason_names_days_and_rain_with_units() {
        let rained = date(2025, 6, 3);
        let text = |is_ahead, units| {
            let reason = DayReason::AfterRain { rained, rain_mm: 20.32, is_ahead };
            reason_text(reason, date(2025, 6, 5), units)
        };
        assert_eq!(text(false, UnitSystem::Us), "2 days after 0.8 in of rain");
        let ahead = text(true, UnitSystem::Si);
        assert!(ahead.starts_with("2 days after 20.3 mm of rain that"), "{ahead}");
        let overdue = reason_text(DayReason::Overdue { days: 1 }, rained, UnitSystem::Us);
        assert_eq!(overdue, "overdue by 1 day: go now");
    }

    #[test]
    fn a_stage_is_seen_estimated_or_not_told() {
        let corn = Crop::Corn;
        let say = |stage| stage_sentence(Some(&corn), Stage::FLOWERING, &stage, None);
        let seen = |stage| StageDate::Seen(ObservedStage { date: date(2025, 7, 12), stage });
        assert_eq!(say(seen(Stage::FLOWERING)), "silking (R1) of corn was seen on 2025-07-12.");
        let milk = say(seen(Stage::Reproductive(3)));
        assert_eq!(milk, "silking (R1) of corn was reached by 2025-07-12, when R3 was seen.");
        let unknown = StageDate::Unknown(NoStageDate::NoDegrees(NoDegrees::NoWeather));
        let expected = "When silking (R1) of corn is reached cannot be told: no weather is given.";
        assert_eq!(say(unknown), expected);
        let sum = |day, source| DegreeSum { date: date(2025, 7, day), sum_f: 1.0, source };
        let estimated = say(StageDate::Estimated {
            first: sum(4, DegreeSource::Measured),
            last: sum(15, DegreeSource::Filled),
            counted_from: None,
        });
        for part in ["2025-07-04 and 2025-07-15", "since planting", "gaps filled", "look at"] {
            assert!(estimated.contains(part), "{estimated}");
        }
    }
}
