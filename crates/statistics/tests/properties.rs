//! What holds for any values.

use proptest::prelude::*;
use statistics::{ClassTable, Lifetime, Random, SpatialWeights, Term, Zeros};

/// Quarters, which an f64 holds to the last digit, with ties and zeros.
fn quarters(count: impl Into<prop::collection::SizeRange>) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec((-40..40_i32).prop_map(|k| f64::from(k) / 4.0), count)
}

/// The same with values of which hardly any two are alike.
fn values(count: impl Into<prop::collection::SizeRange>) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(-100.0..100.0_f64, count)
}

fn places(count: usize) -> impl Strategy<Value = Vec<[f64; 2]>> {
    prop::collection::vec([-500.0..500.0_f64, -500.0..500.0_f64], count)
}

fn lifetimes(
    count: impl Into<prop::collection::SizeRange>,
) -> impl Strategy<Value = Vec<Lifetime>> {
    let one = (0..12_i32, any::<bool>());
    prop::collection::vec(one.prop_map(|(v, ended)| Lifetime { value: f64::from(v), ended }), count)
}

fn shuffled<T: Clone>(values: &[T], seed: u64) -> Vec<T> {
    let mut shuffled = values.to_vec();
    Random::new(seed).shuffle(&mut shuffled);
    shuffled
}

fn is_near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * (1.0 + a.abs().max(b.abs()))
}

const ALL_ZEROS: [Zeros; 3] = [Zeros::Dropped, Zeros::Pratt, Zeros::Split];

proptest! {
    #[test]
    fn a_change_of_sign_turns_results_round(differences in quarters(2..60)) {
        let turned: Vec<f64> = differences.iter().map(|d| -d).collect();
        let [there, back] = [&differences, &turned].map(|d| statistics::paired_t(d, 0.9));
        prop_assert_eq!(there.is_some(), back.is_some());
        if let (Some(there), Some(back)) = (there, back) {
            prop_assert_eq!((there.t, there.p), (-back.t, back.p));
            prop_assert!(is_near(there.interval[0], -back.interval[1]));
        }
        for zeros in ALL_ZEROS {
            let [there, back] = [&differences, &turned].map(|d| statistics::signed_rank(d, zeros));
            prop_assert_eq!(there.is_some(), back.is_some());
            if let (Some(there), Some(back)) = (there, back) {
                prop_assert_eq!((there.z, there.p), (-back.z, back.p));
                prop_assert_eq!(there.p_exact, back.p_exact);
                prop_assert!((0.0..=1.0).contains(&there.p) && there.p <= there.p_corrected);
            }
        }
        let [there, back] = [&differences, &turned].map(|d| statistics::pseudomedian(d, 0.9).unwrap());
        prop_assert_eq!(there.estimate, -back.estimate);
        prop_assert_eq!(there.interval, [-back.interval[1], -back.interval[0]]);
        let [there, back] = [&differences, &turned].map(|d| statistics::sign_test(d));
        prop_assert_eq!((there.up, there.down, there.p), (back.down, back.up, back.p));
    }

    #[test]
    fn the_order_of_differences_does_not_matter(differences in quarters(2..60), seed in 0..9_u64) {
        let mixed = shuffled(&differences, seed);
        for zeros in ALL_ZEROS {
            prop_assert_eq!(
                statistics::signed_rank(&differences, zeros),
                statistics::signed_rank(&mixed, zeros)
            );
        }
        prop_assert_eq!(
            statistics::pseudomedian(&differences, 0.95),
            statistics::pseudomedian(&mixed, 0.95)
        );
        prop_assert_eq!(statistics::sign_test(&differences), statistics::sign_test(&mixed));
        if let Some(test) = statistics::paired_t(&differences, 0.95) {
            prop_assert!(is_near(test.t, statistics::paired_t(&mixed, 0.95).unwrap().t));
        }
    }

    #[test]
    fn a_shift_moves_estimates_as_far(differences in quarters(2..40), by in -8..8_i32) {
        let by = f64::from(by);
        let moved: Vec<f64> = differences.iter().map(|d| d + by).collect();
        let [there, here] = [&differences, &moved].map(|d| statistics::pseudomedian(d, 0.95).unwrap());
        prop_assert_eq!(there.estimate + by, here.estimate);
        prop_assert_eq!(there.interval.map(|end| end + by), here.interval);
        if let Some(test) = statistics::paired_t(&differences, 0.95) {
            let moved = statistics::paired_t(&moved, 0.95).unwrap();
            prop_assert!(is_near(test.mean + by, moved.mean) && is_near(test.sd, moved.sd));
        }
    }

    /// The interval is what the exact test does not reject: it rejects every value outside, and none
    /// inside.
    #[test]
    fn an_interval_holds_what_its_test_does_not_reject(
        differences in values(6..30), share in 0.0..1.0_f64
    ) {
        let found = statistics::pseudomedian(&differences, 0.95).unwrap();
        let [low, high] = found.interval;
        let p = |middle: f64| {
            let off: Vec<f64> = differences.iter().map(|d| d - middle).collect();
            statistics::signed_rank(&off, Zeros::Dropped).unwrap().p_exact.unwrap()
        };
        let wide = (high - low) * 1e-9;
        prop_assert!(p(low - wide) <= 0.05 && p(high + wide) <= 0.05);
        prop_assert!(p(low + wide + share * (high - low - 2.0 * wide)) > 0.05);
        prop_assert!((0.95..0.971).contains(&found.confidence), "{}", found.confidence);
    }

    #[test]
    fn samples_that_change_places_turn_results_round(a in quarters(2..30), b in quarters(2..30)) {
        for test in [statistics::welch, statistics::pooled_t] {
            if let Some(there) = test(&a, &b, 0.95) {
                let back = test(&b, &a, 0.95).unwrap();
                prop_assert_eq!((there.difference, there.t), (-back.difference, -back.t));
                prop_assert!(is_near(there.p, back.p) && there.interval[0] < there.interval[1]);
            }
        }
        if let Some(there) = statistics::rank_sum(&a, &b) {
            let back = statistics::rank_sum(&b, &a).unwrap();
            prop_assert_eq!(there.u + back.u, (a.len() * b.len()) as f64);
            prop_assert!(is_near(there.z, -back.z));
            prop_assert_eq!(there.p_exact.is_some(), back.p_exact.is_some());
        }
    }

    /// Far from the ends the normal distribution is near what counting out gives.
    #[test]
    fn counted_out_and_normal_probabilities_are_near(a in values(20..40), b in values(20..40)) {
        let test = statistics::rank_sum(&a, &b).unwrap();
        prop_assert!((test.p_exact.unwrap() - test.p_corrected).abs() < 0.01);
        let test = statistics::signed_rank(&a, Zeros::Dropped).unwrap();
        prop_assert!((test.p_exact.unwrap() - test.p_corrected).abs() < 0.01);
    }

    #[test]
    fn only_the_order_of_lifetimes_counts_and_not_that_of_groups(
        a in lifetimes(1..20), b in lifetimes(1..20), c in lifetimes(1..20)
    ) {
        let Some(test) = statistics::log_rank(&[&a, &b, &c]) else { return Ok(()) };
        let [observed, expected] = [&test.observed, &test.expected].map(|all| all.iter().sum::<f64>());
        prop_assert!(is_near(observed, expected));
        prop_assert!(test.chi_squared >= 0.0 && (0.0..=1.0).contains(&test.p));
        if let Some(other) = statistics::log_rank(&[&c, &a, &b]) {
            prop_assert!(is_near(test.chi_squared, other.chi_squared));
        }
        let cubed = |group: &[Lifetime]| -> Vec<Lifetime> {
            group.iter().map(|l| Lifetime { value: l.value.powi(3) - 7.0, ..*l }).collect()
        };
        let cubes = [&a, &b, &c].map(|group| cubed(group));
        prop_assert_eq!(Some(test), statistics::log_rank(&[&cubes[0], &cubes[1], &cubes[2]]));
    }

    #[test]
    fn agreement_is_the_same_both_ways_and_in_any_unit(
        rows in prop::collection::vec(prop::collection::vec(0..9_i32, 4), 4), unit in 0.1..50.0_f64
    ) {
        let (mut table, mut turned, mut scaled) =
            (ClassTable::new(4), ClassTable::new(4), ClassTable::new(4));
        for (i, row) in rows.iter().enumerate() {
            for (j, &amount) in row.iter().enumerate() {
                table.add(i, j, f64::from(amount));
                turned.add(j, i, f64::from(amount));
                scaled.add(i, j, f64::from(amount) * unit);
            }
        }
        let Some(found) = table.agreement() else { return Ok(()) };
        for other in [&turned, &scaled] {
            let other = other.agreement().unwrap();
            prop_assert!(is_near(found.kappa, other.kappa));
            prop_assert!(is_near(found.kappa_linear, other.kappa_linear));
            prop_assert!(is_near(found.kappa_quadratic, other.kappa_quadratic));
            prop_assert!(is_near(found.quantity, other.quantity));
        }
        prop_assert!(is_near(found.observed + found.quantity + found.allocation, 1.0));
        prop_assert!(found.kappa <= 1.0 + 1e-12);
        let [there, back] = [&table, &turned].map(ClassTable::bowker);
        prop_assert_eq!(there, back);
    }

    #[test]
    fn autocorrelation_does_not_depend_on_unit_or_order(
        (values, places) in (5..25_usize).prop_flat_map(|n| (values(n), places(n))),
        scale in 0.1..20.0_f64, seed in 0..9_u64
    ) {
        let order = shuffled(&(0..values.len()).collect::<Vec<_>>(), seed);
        let mixed_values: Vec<f64> = order.iter().map(|&k| 3.0 - scale * values[k]).collect();
        let mixed_places: Vec<[f64; 2]> = order.iter().map(|&k| places[k]).collect();
        for statistic in [statistics::morans_i, statistics::gearys_c] {
            let weights = |places: &[[f64; 2]]| SpatialWeights::within(places, 400.0).row_standardised();
            let found = statistic(&values, &weights(&places));
            let mixed = statistic(&mixed_values, &weights(&mixed_places));
            if let (Some(found), Some(mixed)) = (found, mixed) {
                prop_assert!(is_near(found.statistic, mixed.statistic));
                prop_assert!(is_near(found.by_randomisation.z, mixed.by_randomisation.z));
                prop_assert!(is_near(found.by_normality.variance, mixed.by_normality.variance));
            }
        }
    }

    #[test]
    fn the_modified_t_test_is_the_same_both_ways_and_on_a_turned_field(
        (a, b, places) in (8..40_usize).prop_flat_map(|n| (values(n), values(n), places(n)))
    ) {
        let turned: Vec<[f64; 2]> = places.iter().map(|[x, y]| [-y * 2.0, x * 2.0]).collect();
        let found = statistics::modified_t_test(&a, &b, &places, None);
        let back = statistics::modified_t_test(&b, &a, &turned, None);
        prop_assert_eq!(found.is_some(), back.is_some());
        if let (Some(found), Some(back)) = (found, back) {
            prop_assert!(is_near(found.effective_size, back.effective_size));
            prop_assert!(is_near(found.p, back.p));
            prop_assert_eq!(
                found.classes.iter().map(|class| class.pairs).sum::<usize>(),
                a.len() * (a.len() - 1) / 2
            );
        }
    }

    #[test]
    fn a_mean_of_values_that_are_alike_is_worth_fewer(places in places(12), range in 1.0..900.0_f64) {
        let size = |range: f64| {
            statistics::effective_size_of_mean(&places, |distance| libm::exp(-distance / range))
        };
        prop_assert!(size(range) <= 12.0 + 1e-12 && size(range) >= 1.0 - 1e-12);
        prop_assert!(size(2.0 * range) <= size(range));
    }

    #[test]
    fn two_measurements_agree_no_better_than_they_go_together(a in values(12), b in values(12)) {
        let found = statistics::concordance(&a, &b).unwrap();
        prop_assert!(found.coefficient.abs() <= found.correlation.abs() + 1e-12);
        prop_assert!(is_near(found.coefficient, found.correlation * found.closeness));
        let tau = statistics::kendalls_tau(&a, &b).unwrap();
        prop_assert!(tau.abs() <= 1.0);
    }

    /// What all terms together explain does not depend on their order, and nothing gets lost.
    #[test]
    fn sums_of_squares_add_up_in_any_order(
        response in values(14), covariate in values(14),
        blocks in prop::collection::vec(0..3_usize, 14), groups in prop::collection::vec(0..2_usize, 14)
    ) {
        let terms = [Term::Factor(&blocks), Term::Covariate(&covariate), Term::Factor(&groups)];
        let turned = [terms[2], terms[1], terms[0]];
        let [found, turned] =
            [terms, turned].map(|terms| statistics::analysis_of_variance(&response, &terms).unwrap());
        prop_assert!(is_near(found.residual_sum_of_squares, turned.residual_sum_of_squares));
        prop_assert_eq!(found.residual_degrees_of_freedom, turned.residual_degrees_of_freedom);
        let mean = response.iter().sum::<f64>() / 14.0;
        let whole: f64 = response.iter().map(|value| (value - mean) * (value - mean)).sum();
        let explained: f64 = found.terms.iter().map(|term| term.sum_of_squares).sum();
        prop_assert!(is_near(whole, explained + found.residual_sum_of_squares));
    }
}
