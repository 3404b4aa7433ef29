//! Figures of visits that can be checked by hand.

use survey::{Depth, Reading};

use crate::test_visits::At::{self, Deeper, Reached, Stone};
use crate::test_visits::visit;
use crate::{ReadingChange, Trend, TrendSettings, Visit, trend};

fn spots(readings: &[At]) -> Vec<(Option<&'static str>, At)> {
    readings.iter().map(|at| (None, *at)).collect()
}

fn season() -> Vec<Visit> {
    let spring =
        [Reached(6.0), Reached(9.0), Reached(9.0), Reached(12.0), Deeper(18.0), Deeper(18.0)];
    let may = [Reached(6.0), Reached(9.0), Stone, Deeper(18.0), Deeper(18.0), Deeper(18.0)];
    let july = [Reached(3.0), Reached(3.0), Reached(6.0), Reached(6.0), Reached(6.0), Reached(9.0)];
    vec![
        visit([4, 14], Some(31.0), &spots(&spring)),
        visit([4, 28], Some(32.0), &spots(&may)),
        visit([5, 13], None, &spots(&july)),
    ]
}

fn summed_up() -> Trend {
    let marks = vec![Depth::from_in(9.0), Depth::from_in(18.0)];
    trend(&season(), &TrendSettings { marks, ..TrendSettings::default() })
}

fn inches(reading: Reading) -> (f64, bool) {
    ((reading.at_least().inches() * 1e6).round() / 1e6, reading.is_not_reached())
}

/// 6, 9, 9, 12, 18+, 18+: three of six lie above 12 in, so the median is the middle of 9 and 12 in. 6, 9,
/// 18+, 18+, 18+: deeper than 18 in. 3, 3, 6, 6, 6, 9: 6 in.
#[test]
fn medians_and_quartiles_are_those_counted_by_hand() {
    let visits = summed_up().visits;
    let medians = visits.iter().map(|visit| inches(visit.median)).collect::<Vec<_>>();
    assert_eq!(medians, [(10.5, false), (18.0, true), (6.0, false)]);
    let lower = visits.iter().map(|visit| inches(visit.lower_quartile)).collect::<Vec<_>>();
    assert_eq!(lower, [(9.0, false), (9.0, false), (3.0, false)]);
    let upper = visits.iter().map(|visit| inches(visit.upper_quartile)).collect::<Vec<_>>();
    assert_eq!(upper, [(18.0, true), (18.0, true), (6.0, false)]);
    let counts = visits.iter().map(|v| (v.probes, v.not_reached, v.stopped_by_stone));
    assert_eq!(counts.collect::<Vec<_>>(), [(6, 2, 0), (5, 3, 1), (6, 0, 0)]);
}

#[test]
fn shares_are_of_probes_and_a_mark_is_not_shallower_than_itself() {
    let visits = summed_up().visits;
    let shares = visits
        .iter()
        .map(|v| v.shares.iter().map(|s| (s.shallower, s.unknown)).collect::<Vec<_>>());
    let expected = [[(1, 0), (4, 0)], [(1, 0), (2, 0)], [(5, 0), (6, 0)]];
    assert_eq!(shares.collect::<Vec<_>>(), expected.map(Vec::from));
    assert_eq!(visits[1].shares[1].share, 0.4);
}

#[test]
fn changes_of_the_median_are_later_minus_earlier_with_their_moisture() {
    let visits = summed_up().visits;
    assert!(visits[0].since_first.is_none() && visits[0].log_rank.is_none());
    let second = visits[1].since_first.unwrap();
    assert!(matches!(second.change, ReadingChange::AtLeast(cm) if (cm - 7.5 * 2.54).abs() < 1e-4));
    assert!(second.moisture.is_matched());
    let third = visits[2].since_before.unwrap();
    assert!(matches!(third.change, ReadingChange::AtMost(cm) if (cm + 12.0 * 2.54).abs() < 1e-4));
    assert!(!third.moisture.is_matched());
    let since_first = visits[2].since_first.unwrap().change;
    assert!(matches!(since_first, ReadingChange::Exactly(cm) if (cm + 4.5 * 2.54).abs() < 1e-4));
}

/// Shallower than 9 in 1 of 6 and 5 of 6; the test of Mantel (1966) and Cox by hand over 3, 6, 9 and 12 in:
/// expected of the later 2·6/12, 4·4/10, 3·1/6, 0; variances 2·(6·6/144)·(10/11), 4·(24/100)·(6/9),
/// 3·(5/36)·(3/5), 0.
#[test]
fn the_log_rank_test_is_against_the_first_visit() {
    let found = summed_up().visits[2].log_rank.unwrap();
    let expected = 1.0 + 1.6 + 0.5;
    let variance = 0.5 * 10.0 / 11.0 + 0.96 * 2.0 / 3.0 + 3.0 * 5.0 / 36.0 * 3.0 / 5.0;
    let chi_squared = (6.0_f64 - expected).powi(2) / variance;
    assert!((found.chi_squared - chi_squared).abs() < 1e-9, "{} {chi_squared}", found.chi_squared);
    assert!(found.p > 0.012 && found.p < 0.013, "{}", found.p);
}

/// 3, 6, 9 against 5+, 9, 9: expected of the later 3/6 at 3 in and, without the short rod, 2/4 at 6 in;
/// variances ¼ each; at 9 in all that are left end. (2 − 3)² / ½.
#[test]
fn a_short_rod_ends_nothing_in_the_log_rank_test() {
    let visits = [
        visit([4, 14], None, &spots(&[Reached(3.0), Reached(6.0), Reached(9.0)])),
        visit([4, 28], None, &spots(&[Deeper(5.0), Reached(9.0), Reached(9.0)])),
    ];
    let found = trend(&visits, &TrendSettings::default()).visits[1].log_rank.unwrap();
    assert!((found.chi_squared - 2.0).abs() < 1e-9, "{}", found.chi_squared);
}

#[test]
fn late_visits_and_the_next_one_are_told_from_the_dates() {
    let trend = summed_up();
    assert_eq!(trend.gaps.iter().map(|gap| gap.days).collect::<Vec<_>>(), [14, 15]);
    assert_eq!(trend.gaps.iter().map(|gap| gap.late_by).collect::<Vec<_>>(), [0, 1]);
    assert_eq!(trend.next_due.unwrap().to_string(), "2025-05-23..2025-05-27");
    assert!(trend.ranks.is_none(), "three visits are few");
}

#[test]
fn ground_of_classes_and_unmapped_ground_make_up_the_field() {
    for visit in summed_up().visits {
        let classes: f64 = visit.classes.iter().map(|class| class.area_m2).sum();
        let field_m2 = visit.field_m2;
        assert!((classes + visit.unmapped_m2 - field_m2).abs() < 1e-5 * field_m2);
        assert_eq!(visit.classes.iter().map(|class| class.probes).sum::<usize>(), visit.probes);
    }
}

#[test]
fn one_visit_has_no_change_and_no_falls() {
    let trend = trend(&season()[..1], &TrendSettings::default());
    assert!(trend.falls.is_none() && trend.gaps.is_empty() && trend.ranks.is_none());
    assert!(trend.visits[0].since_before.is_none());
    assert_eq!(trend.spots.spots.len(), 6);
}
