//! The plain words of the page that more than one panel uses.

use mapping::DepthMap;
use survey::units::{signed, tidy};
use survey::{CheckedSurvey, Date, Depth, Field, Moisture, Reading, UnitSystem};

use crate::estimate::Between;

/// A share in percent, for people: `34 %`, `<1 %` for little but something, `>99 %` for nearly all.
pub(crate) fn share_text(share: f64) -> String {
    match share {
        share if share > 0.0 && share < 0.005 => "<1 %".into(),
        share if share > 0.995 && share < 1.0 - 1e-6 => ">99 %".into(),
        share => format!("{} %", tidy(share * 100.0, 0)),
    }
}

/// An area with its unit. All areas of a page have as many decimals as its field needs.
pub fn area_text(area_m2: f64, field: &Field, units: UnitSystem) -> String {
    let decimals = match units.area(field.ground_area_m2()) {
        field if field >= 5.0 => 1,
        field if field >= 0.5 => 2,
        _ => 3,
    };
    let unit = units.area_unit();
    let least = 0.1_f64.powi(decimals as i32);
    match units.area(area_m2) {
        area if area > 0.0 && area < least / 2.0 => format!("<{least:.decimals$} {unit}"),
        area => format!("{area:.decimals$} {unit}"),
    }
}

/// The days of a visit.
pub(crate) fn dates_text(survey: &CheckedSurvey, units: UnitSystem) -> String {
    days_text(survey.dates(), units)
}

/// The first and the last day of a visit.
pub(crate) fn days_text(days: Option<(Date, Date)>, units: UnitSystem) -> String {
    match days {
        None => "date not recorded".into(),
        Some((first, last)) if first == last => day(first, units),
        Some((first, last)) => format!("{} to {}", day(first, units), day(last, units)),
    }
}

/// A day with the month in letters, which no one can read the wrong way round.
pub fn day(date: Date, units: UnitSystem) -> String {
    let day = day_of_year(date, units);
    match units {
        UnitSystem::Us => format!("{day}, {}", date.year()),
        UnitSystem::Si => format!("{day} {}", date.year()),
    }
}

/// A day without its year: `Apr 14`, `14 Apr`.
pub(crate) fn day_of_year(date: Date, units: UnitSystem) -> String {
    const MONTHS: [&str; 12] =
        ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let month = MONTHS[date.month() as usize - 1];
    match units {
        UnitSystem::Us => format!("{month} {}", date.day()),
        UnitSystem::Si => format!("{} {month}", date.day()),
    }
}

/// Some days, the year said once where it is one: `Apr 14 to Sep 22, 2025`.
pub fn from_to(first: Date, last: Date, units: UnitSystem) -> String {
    match first {
        first if first == last => day(first, units),
        first if first.year() == last.year() => {
            format!("{} to {}", day_of_year(first, units), day(last, units))
        }
        first => format!("{} to {}", day(first, units), day(last, units)),
    }
}

/// Mean and range of the soil moisture.
pub(crate) fn moisture_text(survey: &CheckedSurvey) -> String {
    survey.moisture().map_or_else(|| "soil moisture not recorded".into(), moisture_range)
}

/// Mean and range of a soil moisture that is known.
pub(crate) fn moisture_range(moisture: Moisture) -> String {
    let [mean, low, high] =
        [moisture.mean_pct, moisture.min_pct, moisture.max_pct].map(|pct| tidy(pct, 0));
    match low == high {
        true => format!("{mean} %"),
        false => format!("{mean} % ({low}–{high} %)"),
    }
}

/// A reading as it stands on the map: `9`, or `18+` where the threshold was not reached by 18.
pub(crate) fn reading_text(reading: Reading, units: UnitSystem) -> String {
    let number = tidy(units.depth(reading.at_least()), 1);
    match reading.is_not_reached() {
        true => format!("{number}+"),
        false => number,
    }
}

/// A change in the reader's unit, signed, without the unit.
pub(crate) fn change_number(change_cm: f64, units: UnitSystem) -> String {
    signed(units.depth(Depth::from_cm(change_cm)), 1)
}

/// A change with its sign and unit: `−3 in`.
pub(crate) fn change_text(change_cm: f64, units: UnitSystem) -> String {
    format!("{} {}", change_number(change_cm, units), units.depth_unit())
}

/// A change that lies between two bounds, without the unit: `−3`, `≤ −6`, `≥ +3`, `−6 to −3`; `?` where
/// nothing is known of it.
pub(crate) fn between_text(change: Between, units: UnitSystem) -> String {
    let number = |cm| change_number(cm, units);
    match (change.low_cm.is_finite(), change.high_cm.is_finite()) {
        (true, true) if number(change.low_cm) == number(change.high_cm) => number(change.low_cm),
        (true, true) => format!("{} to {}", number(change.low_cm), number(change.high_cm)),
        (false, true) => format!("≤ {}", number(change.high_cm)),
        (true, false) => format!("≥ {}", number(change.low_cm)),
        (false, false) => "?".into(),
    }
}

/// So many of a thing: `1 probe`, `106 probes`.
pub(crate) fn count_text(count: usize, thing: &str) -> String {
    match count {
        1 => format!("1 {thing}"),
        _ => format!("{count} {thing}s"),
    }
}

/// The mean of the readings that the map rests on, "not reached" as its lower bound.
pub(crate) fn mean_text(map: &DepthMap) -> String {
    let mean = map.probed.mean_at_least;
    mean.map_or_else(String::new, |mean| map.classes.units().depth_text(mean))
}

/// A distance rounded to whole feet or metres, unless it is only a few.
pub(crate) fn whole(distance_m: f64, units: UnitSystem) -> f64 {
    let unit_m = match units {
        UnitSystem::Us => survey::units::M_PER_FT,
        UnitSystem::Si => 1.0,
    };
    match distance_m / unit_m {
        few if few < 20.0 => distance_m,
        many => many.round() * unit_m,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;

    #[test]
    fn a_little_is_not_nothing() {
        assert_eq!([0.0, 0.001, 0.339, 1.0].map(share_text), ["0 %", "<1 %", "34 %", "100 %"]);
        // The parts of a field make it up to a millionth.
        assert_eq!([0.996, 1.0 - 1e-9].map(share_text), [">99 %", "100 %"]);
    }

    #[test]
    fn a_little_ground_is_not_none() {
        let sample = testing::wide();
        let texts = [0.0, 100.0, 4_046.856]
            .map(|area_m2| area_text(area_m2, sample.survey.field(), UnitSystem::Us));
        assert_eq!(texts, ["0.0 ac", "<0.1 ac", "1.0 ac"]);
    }

    #[test]
    fn what_was_not_recorded_is_said() {
        let sample = testing::tiny();
        assert_eq!(dates_text(&sample.survey, UnitSystem::Us), "date not recorded");
        assert_eq!(moisture_text(&sample.survey), "soil moisture not recorded");
    }

    #[test]
    fn changes_have_their_sign_and_bounds_their_side() {
        assert_eq!([-3.0, 1.5, 0.0, -0.04].map(|n| signed(n, 1)), ["−3", "+1.5", "0", "0"]);
        let of = |low_in: f64, high_in: f64| {
            let change = Between { low_cm: low_in * 2.54, high_cm: high_in * 2.54 };
            between_text(change, UnitSystem::Us)
        };
        let (none, all) = (f64::NEG_INFINITY, f64::INFINITY);
        let texts = [of(-3.0, -3.0), of(none, -6.0), of(3.0, all), of(-6.0, -3.0), of(none, all)];
        assert_eq!(texts, ["−3", "≤ −6", "≥ +3", "−6 to −3", "?"]);
        assert_eq!(change_text(-7.62, UnitSystem::Us), "−3 in");
        assert_eq!(change_text(5.0, UnitSystem::Si), "+5 cm");
    }

    #[test]
    fn days_follow_the_reader() {
        let date: Date = "2025-04-14".parse().unwrap();
        assert_eq!(day(date, UnitSystem::Us), "Apr 14, 2025");
        assert_eq!(day(date, UnitSystem::Si), "14 Apr 2025");
        let last = |text: &str| from_to(date, text.parse().unwrap(), UnitSystem::Us);
        assert_eq!(last("2025-04-14"), "Apr 14, 2025");
        assert_eq!(last("2025-09-22"), "Apr 14 to Sep 22, 2025");
        assert_eq!(last("2026-01-05"), "Apr 14, 2025 to Jan 5, 2026");
    }

    #[test]
    fn counts_agree_with_their_noun() {
        assert_eq!([1, 2].map(|n| count_text(n, "probe")), ["1 probe", "2 probes"]);
    }
}
