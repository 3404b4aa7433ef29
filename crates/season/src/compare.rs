//! Two visits of a field beside each other.

use survey::units::signed;
use survey::{Depth, UnitSystem};

use crate::agreement::{ClassAgreement, class_agreement};
use crate::change::{ChangeMap, change_map};
use crate::error::SeasonError;
use crate::moisture::{MoistureMatch, USUAL_MOISTURE_WITHIN_PCT};
use crate::paired::{PairedChange, paired_change};
use crate::pairs::{Pairs, PairsWithin, pair_spots};
use crate::transitions::{Transitions, spot_transitions, transitions};
use crate::visit::Visit;

/// How two visits are compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CompareSettings {
    /// Confidence of all intervals, at least 0.5 and less than 1.
    pub confidence: f64,
    /// How near each other two spots must lie to be one, metres; `None` is [`PairsWithin::usual`].
    pub pair_within_m: Option<f64>,
    /// Mean moistures that differ by no more count as equal, percentage points.
    pub moisture_within_pct: f64,
}

impl Default for CompareSettings {
    fn default() -> Self {
        CompareSettings {
            confidence: 0.95,
            pair_within_m: None,
            moisture_within_pct: USUAL_MOISTURE_WITHIN_PCT,
        }
    }
}

/// Two visits of a field beside each other. A change is later minus earlier.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// What the visits are called, the earlier first.
    pub names: [String; 2],
    /// What the moistures say about the change: to be told before it.
    pub moisture: MoistureMatch,
    /// The change of the map.
    pub change: ChangeMap,
    /// Ground that went from class to class.
    pub transitions: Transitions,
    /// The spots they have in common.
    pub pairs: Pairs,
    /// What those say about the change.
    pub paired: PairedChange,
    /// How many of those went from class to class, rows earlier.
    pub spot_transitions: Vec<Vec<usize>>,
    /// How far the classes agree.
    pub agreement: ClassAgreement,
    /// How they were compared.
    pub settings: CompareSettings,
}

/// Compares two visits of one field, mapped on one grid with the same classes.
///
/// # Errors
/// When a setting means nothing, the later visit is not later, or the visits are of different ground, cells,
/// thresholds or classes.
pub fn compare(
    earlier: &Visit,
    later: &Visit,
    settings: &CompareSettings,
) -> Result<Comparison, SeasonError> {
    check_settings(settings)?;
    check_visits(earlier, later)?;
    let within = settings
        .pair_within_m
        .map_or_else(|| PairsWithin::usual(&earlier.survey, &later.survey), PairsWithin::all_m);
    let pairs = pair_spots(&earlier.survey, &later.survey, within);
    let change = change_map(earlier, later, &pairs, settings.confidence)?;
    let transitions = transitions(earlier, later);
    let spot_transitions = spot_transitions(&pairs, &later.map.classes);
    let moistures = [earlier, later].map(|visit| visit.survey.moisture());
    Ok(Comparison {
        names: [earlier.name.clone(), later.name.clone()],
        moisture: MoistureMatch::of(moistures[0], moistures[1], settings.moisture_within_pct),
        change,
        paired: paired_change(&pairs, settings.confidence),
        agreement: class_agreement(&transitions, &spot_transitions),
        transitions,
        pairs,
        spot_transitions,
        settings: *settings,
    })
}

fn check_settings(settings: &CompareSettings) -> Result<(), SeasonError> {
    let &CompareSettings { confidence, pair_within_m, moisture_within_pct } = settings;
    if !(0.5..1.0).contains(&confidence) {
        return Err(SeasonError::Confidence { confidence });
    }
    if let Some(within_m) = pair_within_m.filter(|&within_m| !(within_m > 0.0 && within_m < 1e6)) {
        return Err(SeasonError::PairsWithin { within_m });
    }
    match (0.0..=100.0).contains(&moisture_within_pct) {
        true => Ok(()),
        false => Err(SeasonError::MoistureWithin { within_pct: moisture_within_pct }),
    }
}

fn check_visits(earlier: &Visit, later: &Visit) -> Result<(), SeasonError> {
    let names = || (earlier.name.clone(), later.name.clone());
    if let (Some(first), Some(second)) = (earlier.day(), later.day())
        && second < first
    {
        return Err(SeasonError::WrongOrder { earlier: first, later: second });
    }
    let [first, second] = [earlier, later].map(|visit| visit.survey.threshold().pressure());
    if !first.is_same_threshold(second) {
        let (earlier, later) = names();
        let [earlier_psi, later_psi] = [first.psi(), second.psi()];
        return Err(SeasonError::DifferentThresholds { earlier, later, earlier_psi, later_psi });
    }
    if earlier.map.classes != later.map.classes {
        let (earlier, later) = names();
        return Err(SeasonError::DifferentClasses { earlier, later });
    }
    Ok(())
}

/// A change in centimetres in a user's unit, with its sign: `−3.2 in`, `+1 cm`, `0 in`.
pub fn change_text(change_cm: f64, units: UnitSystem, decimals: usize) -> String {
    let number = units.depth(Depth::from_cm(change_cm));
    format!("{} {}", signed(number, decimals), units.depth_unit())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::made_up::{Probe, reached, settings, square, visit};

    fn visited(day: &str, pct: Option<f64>, fall_cm: f64) -> Visit {
        let places = square(5, 30.0).into_iter().enumerate();
        let probes: Vec<Probe> = places
            .map(|(k, (id, place))| (id, place, reached(20.0 + (k * 7 % 11) as f64 - fall_cm)))
            .collect();
        visit(day, pct, 150.0, &probes, &settings(5.0))
    }

    #[test]
    fn moisture_is_judged_by_the_setting() {
        let (earlier, later) =
            (visited("2025-04-14", Some(30.0), 0.0), visited("2025-05-14", Some(26.0), 5.0));
        let with = |moisture_within_pct| {
            let settings = CompareSettings { moisture_within_pct, ..CompareSettings::default() };
            compare(&earlier, &later, &settings).unwrap().moisture
        };
        assert!(!with(3.0).is_matched());
        assert!(with(4.0).is_matched());
    }

    #[test]
    fn a_comparison_backwards_has_the_opposite_change() {
        let (first, second) = (visited("2025-04-14", None, 0.0), visited("2025-04-14", None, 5.0));
        let settings = CompareSettings::default();
        let there = compare(&first, &second, &settings).unwrap();
        let back = compare(&second, &first, &settings).unwrap();
        assert_eq!(there.paired.mean_cm.unwrap(), -back.paired.mean_cm.unwrap());
        assert_eq!(there.change.thinner_m2, back.change.deeper_m2);
        for (row, areas_m2) in there.transitions.areas_m2.iter().enumerate() {
            for (column, area_m2) in areas_m2.iter().enumerate() {
                assert_eq!(*area_m2, back.transitions.areas_m2[column][row]);
            }
        }
    }

    #[test]
    fn what_means_nothing_is_refused() {
        let (earlier, later) = (visited("2025-04-14", None, 0.0), visited("2025-05-14", None, 5.0));
        let usual = CompareSettings::default();
        let backwards = compare(&later, &earlier, &usual).unwrap_err();
        assert!(matches!(backwards, SeasonError::WrongOrder { .. }), "{backwards}");
        for settings in [
            CompareSettings { confidence: 0.4, ..usual },
            CompareSettings { confidence: 1.0, ..usual },
            CompareSettings { confidence: f64::NAN, ..usual },
            CompareSettings { pair_within_m: Some(0.0), ..usual },
            CompareSettings { pair_within_m: Some(f64::NAN), ..usual },
            CompareSettings { moisture_within_pct: -1.0, ..usual },
        ] {
            assert!(compare(&earlier, &later, &settings).is_err(), "{settings:?}");
        }
        let mut other = later.clone();
        other.map.classes = mapping::DepthClasses::rod_marks(UnitSystem::Si);
        let refused = compare(&earlier, &other, &usual).unwrap_err();
        assert!(matches!(refused, SeasonError::DifferentClasses { .. }), "{refused}");
    }

    #[test]
    fn a_change_has_its_sign_and_unit() {
        let text = |cm| change_text(cm, UnitSystem::Us, 1);
        assert_eq!([-7.62, 7.62, 0.01, -0.01].map(text), ["−3 in", "+3 in", "0 in", "0 in"]);
        assert_eq!(change_text(-7.62, UnitSystem::Si, 1), "−7.6 cm");
    }
}
