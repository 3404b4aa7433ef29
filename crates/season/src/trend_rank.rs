//! Whether the median follows the day or the moisture of the visits, by ranks.
//!
//! Kendall's τ-b: of all pairs of visits, those that both values order alike less those they order
//! oppositely, over the root of the pairs ordered by the one times those ordered by the other (Kendall
//! 1945, The treatment of ties in ranking problems, Biometrika 33:239–251; from memory). A pair of medians
//! whose order is not certain, because the threshold was not reached, counts as a tie (as Oakes 1982, A
//! concordance test for independence in the presence of censoring, Biometrics 38:451–455; from memory).
//! What is left of the one when the other is held: Kendall's partial τ (1942, Biometrika 32:277–283; from memory).

use survey::units::signed;
use survey::{Date, Reading};

/// With fewer visits a perfect order by chance alone is not rare: of three visits one in three is in one
/// of the two perfect orders, of four one in twelve.
pub const FEWEST_VISITS_OF_RANKS: usize = 4;

/// What ranks are taken of, of one visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankedVisit {
    /// Its first day.
    pub day: Date,
    /// The median depth.
    pub median: Reading,
    /// Mean soil moisture, percent.
    pub moisture_pct: Option<f64>,
}

/// Rank correlations of the median with the day and with the moisture, side by side. From −1, where the
/// median falls with each step of the other, to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankCorrelations {
    /// How many visits they are of: those with moisture, or all where fewer than
    /// [`FEWEST_VISITS_OF_RANKS`] have it.
    pub visits: usize,
    /// Of the median with the day; `None` where all medians are tied.
    pub with_day: Option<f64>,
    /// Of the median with moisture; `None` too where fewer than [`FEWEST_VISITS_OF_RANKS`] have it.
    pub with_moisture: Option<f64>,
    /// Of moisture with the day.
    pub moisture_with_day: Option<f64>,
    /// Of the median with the day, at equal moisture; `None` where moisture orders the visits as the day
    /// or the median does, so that the two cannot be told apart.
    pub with_day_at_equal_moisture: Option<f64>,
}

/// The correlations; `None` of fewer than [`FEWEST_VISITS_OF_RANKS`] visits.
pub fn rank_correlations(visits: &[RankedVisit]) -> Option<RankCorrelations> {
    let moist: Vec<RankedVisit> =
        visits.iter().copied().filter(|visit| visit.moisture_pct.is_some()).collect();
    let has_moisture = moist.len() >= FEWEST_VISITS_OF_RANKS;
    let used = if has_moisture { moist.as_slice() } else { visits };
    if used.len() < FEWEST_VISITS_OF_RANKS {
        return None;
    }
    let days = orders(used, |a, b| sign(a.day, b.day));
    let medians = orders(used, |a, b| median_order(a.median, b.median));
    let moistures = orders(used, |a, b| match (a.moisture_pct, b.moisture_pct) {
        (Some(earlier), Some(later)) if has_moisture => sign(earlier, later),
        _ => 0,
    });
    let with_day = tau_b(&medians, &days);
    let with_moisture = tau_b(&medians, &moistures);
    let moisture_with_day = tau_b(&moistures, &days);
    Some(RankCorrelations {
        visits: used.len(),
        with_day,
        with_moisture,
        moisture_with_day,
        with_day_at_equal_moisture: partial(with_day, with_moisture, moisture_with_day),
    })
}

/// The layer was clearly thinner on moister visits where τ is at most this: of the pairs of visits that both
/// order, three quarters or more go against drying.
const AGAINST_DRYING: f64 = -0.5;

impl RankCorrelations {
    /// Whether moisture orders the medians at least as well as the day does, the thinner layer on the drier
    /// visit; `None` where it is not known or the medians do not differ. Medians that are thinner the moister
    /// the soil is are not explained by drying, however well moisture orders them.
    pub fn moisture_explains_as_much(&self) -> Option<bool> {
        // A pair more or less of a hundred visits counts for more.
        const EQUAL: f64 = 1e-9;
        let (moisture, day) = (self.with_moisture?, self.with_day?);
        Some(moisture > EQUAL && moisture + EQUAL >= day.abs())
    }

    /// One sentence: what the ranks say, and what they do not.
    pub fn sentence(&self) -> String {
        let Some(day) = self.with_day else {
            return format!("The medians of {} visits do not differ.", self.visits);
        };
        let with_day = signed(day, 2);
        let Some(moisture) = self.with_moisture else {
            return format!(
                "By rank the median goes with the day ({with_day} of {} visits), but moisture is recorded on \
                 too few visits, or does not differ, so drying cannot be told from tightening.",
                self.visits
            );
        };
        let both = format!(
            "{} with moisture, {with_day} with the day, {} visits",
            signed(moisture, 2),
            self.visits
        );
        match self.moisture_explains_as_much() {
            Some(true) => format!(
                "By rank moisture explains the median as well as the day does ({both}): these medians are no \
                 evidence of compaction or loosening."
            ),
            _ if moisture <= AGAINST_DRYING => format!(
                "By rank {} ({both}), which drying does not explain; compare visits of equal moisture before \
                 you call it compaction or loosening.",
                self.against_drying()
            ),
            _ if day.abs() <= moisture.abs() => format!(
                "By rank the median goes neither with the day nor with drying ({both}): these medians are no \
                 evidence of compaction or loosening."
            ),
            _ => format!(
                "By rank the median goes with the day more than with moisture ({both}); compare visits \
                 of equal moisture before you call it compaction or loosening."
            ),
        }
    }

    /// How the layer went against drying.
    fn against_drying(&self) -> &'static str {
        match self.moisture_with_day {
            Some(tau) if tau > 0.0 => "the layer became thinner as the soil got wetter",
            Some(tau) if tau < 0.0 => "the layer became deeper as the soil got drier",
            _ => "the layer was thinner on the wetter visits",
        }
    }
}

/// The order of each pair of visits, the earlier of the list first: 1 where the value rises, −1 where it falls, 0 where
/// it is tied.
fn orders(visits: &[RankedVisit], order: impl Fn(&RankedVisit, &RankedVisit) -> i64) -> Vec<i64> {
    let pairs = (0..visits.len()).flat_map(|a| (a + 1..visits.len()).map(move |b| (a, b)));
    pairs.map(|(a, b)| order(&visits[a], &visits[b])).collect()
}

fn sign<T: PartialOrd + Copy>(earlier: T, later: T) -> i64 {
    i64::from(later > earlier) - i64::from(later < earlier)
}

/// The order of two medians where it is certain, else a tie.
fn median_order(earlier: Reading, later: Reading) -> i64 {
    let change = crate::ReadingChange::between(earlier, later);
    i64::from(change.is_rise()) - i64::from(change.is_fall())
}

/// τ-b from the orders of all pairs; `None` where one of the two is tied throughout.
fn tau_b(first: &[i64], second: &[i64]) -> Option<f64> {
    let agreement: i64 = first.iter().zip(second).map(|(a, b)| a * b).sum();
    let ordered = |orders: &[i64]| orders.iter().filter(|order| **order != 0).count() as f64;
    let root = (ordered(first) * ordered(second)).sqrt();
    (root > 0.0).then(|| agreement as f64 / root)
}

/// The partial correlation of the first and the second where the third is held.
fn partial(
    first_second: Option<f64>,
    first_third: Option<f64>,
    third_second: Option<f64>,
) -> Option<f64> {
    let (ab, ac, bc) = (first_second?, first_third?, third_second?);
    let rest = (1.0 - ac * ac) * (1.0 - bc * bc);
    (rest > 1e-9).then(|| (ab - ac * bc) / rest.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::Depth;

    fn visit(day: i8, median_in: f64, moisture_pct: impl Into<Option<f64>>) -> RankedVisit {
        let median = match Depth::from_in(median_in.abs()) {
            probed_to if median_in < 0.0 => Reading::NotReached { probed_to },
            depth => Reading::Reached(depth),
        };
        let day = Date::constant(2025, 5, day);
        RankedVisit { day, median, moisture_pct: moisture_pct.into() }
    }

    fn close(found: Option<f64>, wanted: f64) -> bool {
        found.is_some_and(|found| (found - wanted).abs() < 1e-12)
    }

    /// Four visits, six pairs. Medians 9, 6, 6, 3: five pairs fall, one is tied: −5 / √(5 · 6). Moisture
    /// 30, 32, 20, 10: pairs +, −, −, −, −, −; the median falls in the first and ties in the fourth: 3 of
    /// its 5 pairs more agree than not, 3 / √(5 · 6).
    #[test]
    fn correlations_are_those_counted_by_hand() {
        let visits =
            [visit(1, 9.0, 30.0), visit(12, 6.0, 32.0), visit(20, 6.0, 20.0), visit(30, 3.0, 10.0)];
        let found = rank_correlations(&visits).unwrap();
        assert_eq!(found.visits, 4);
        assert!(close(found.with_day, -5.0 / 30_f64.sqrt()));
        assert!(close(found.with_moisture, 3.0 / 30_f64.sqrt()));
        assert!(close(found.moisture_with_day, -4.0 / 6.0));
        assert_eq!(found.moisture_explains_as_much(), Some(false));
        assert!(found.sentence().contains("more than with moisture (+0.55 with moisture, −0.91"));
        // (−0.9129 − 0.5477 · −0.6667) / √((1 − 0.3) (1 − 0.4444)) = −0.5477 / √0.3889.
        let partial =
            (-5.0 + 3.0 * 4.0 / 6.0) / 30_f64.sqrt() / (0.7 * (1.0_f64 - 16.0 / 36.0)).sqrt();
        assert!(close(found.with_day_at_equal_moisture, partial));
    }

    #[test]
    fn a_median_that_falls_as_the_soil_dries_is_explained_by_moisture() {
        let visits =
            [visit(1, 9.0, 30.0), visit(12, 7.0, 28.0), visit(20, 6.0, 20.0), visit(30, 3.0, 10.0)];
        let found = rank_correlations(&visits).unwrap();
        assert!(close(found.with_day, -1.0) && close(found.with_moisture, 1.0));
        assert_eq!(found.with_day_at_equal_moisture, None);
        assert_eq!(found.moisture_explains_as_much(), Some(true));
        assert!(found.sentence().contains("moisture explains the median as well as the day"));
    }

    /// Each median thinner than the one before, each visit moister: τ is −1 with both.
    #[test]
    fn a_median_that_falls_as_the_soil_gets_wetter_is_not_explained_by_moisture() {
        let medians_in = [9.0, 8.0, 7.0, 6.0, 5.0];
        let found = |moistures_pct: [f64; 5]| {
            let rows = (1..).zip(medians_in).zip(moistures_pct);
            let visits: Vec<_> = rows.map(|((day, median), pct)| visit(day, median, pct)).collect();
            rank_correlations(&visits).unwrap()
        };
        let wetter = found([20.0, 22.0, 25.0, 35.0, 38.0]);
        assert!(close(wetter.with_moisture, -1.0) && close(wetter.with_day, -1.0));
        assert_eq!(wetter.moisture_explains_as_much(), Some(false));
        let said = wetter.sentence();
        assert!(said.contains("became thinner as the soil got wetter (−1 with moisture"), "{said}");
        assert!(!said.contains("moisture explains") && !said.contains('-'), "{said}");
        // Of ten pairs six rise in moisture and four fall: τ is −0.2.
        let hardly = found([20.0, 25.0, 38.0, 22.0, 24.0]);
        assert!(close(hardly.with_moisture, -0.2), "{hardly:?}");
        assert!(hardly.sentence().contains("with the day more than with moisture"));
    }

    /// Medians 3, 6, 5, 9 in at moistures 40, 25, 30, 10: every pair is ordered oppositely.
    #[test]
    fn a_median_that_rises_as_the_soil_dries_is_deeper_in_drier_soil() {
        let medians_in = [3.0, 6.0, 5.0, 9.0];
        let rows = (1..).zip(medians_in).zip([40.0, 25.0, 30.0, 10.0]);
        let visits: Vec<_> = rows.map(|((day, median), pct)| visit(day, median, pct)).collect();
        let found = rank_correlations(&visits).unwrap();
        assert!(close(found.with_moisture, -1.0));
        assert_eq!(found.moisture_explains_as_much(), Some(false));
        assert!(found.sentence().contains("deeper as the soil got drier"), "{}", found.sentence());
    }

    #[test]
    fn a_median_that_goes_with_nothing_says_so() {
        let found = RankCorrelations {
            visits: 5,
            with_day: Some(0.0),
            with_moisture: Some(0.0),
            moisture_with_day: Some(0.4),
            with_day_at_equal_moisture: Some(0.0),
        };
        assert_eq!(found.moisture_explains_as_much(), Some(false));
        let said = found.sentence();
        assert!(said.contains("neither with the day nor") && said.contains("(0 with moisture, 0"));
    }

    #[test]
    fn medians_that_were_not_reached_are_ordered_as_far_as_is_certain() {
        // Deeper than 18, deeper than 12, 15, 9: the second is tied with the first and the third.
        let visits = [
            visit(1, -18.0, None),
            visit(12, -12.0, None),
            visit(20, 15.0, None),
            visit(30, 9.0, None),
        ];
        let found = rank_correlations(&visits).unwrap();
        assert!(close(found.with_day, -4.0 / 24_f64.sqrt()));
        assert_eq!((found.with_moisture, found.moisture_explains_as_much()), (None, None));
        assert!(found.sentence().contains("drying cannot be told from tightening"));
    }

    #[test]
    fn few_visits_and_equal_medians_have_no_correlation() {
        let visits = [visit(1, 9.0, 30.0), visit(12, 6.0, 20.0), visit(20, 3.0, 10.0)];
        assert_eq!(rank_correlations(&visits), None);
        let equal = [1, 12, 20, 30].map(|day| visit(day, 9.0, f64::from(day)));
        let found = rank_correlations(&equal).unwrap();
        assert_eq!((found.with_day, found.with_moisture), (None, None));
        assert!(found.sentence().contains("do not differ"));
    }

    #[test]
    fn visits_without_moisture_leave_the_others_to_be_compared() {
        let mut visits: Vec<RankedVisit> =
            [(1, 9.0), (8, 8.0), (12, 7.0), (20, 6.0)].map(|(d, m)| visit(d, m, 5.0 * m)).into();
        visits.push(visit(30, 20.0, None));
        let found = rank_correlations(&visits).unwrap();
        assert_eq!(found.visits, 4);
        assert!(close(found.with_day, -1.0), "the visit without moisture takes no part");
    }

    /// Without censored medians it is the plain τ-b.
    #[test]
    fn reached_medians_have_the_plain_tau() {
        for seed in 1..40_u32 {
            let value = |k: u32, of: u32| f64::from((k * seed * 7919 + k * k) % of);
            let rows: Vec<(f64, f64)> = (0..9).map(|k| (value(k, 5), value(k + 11, 7))).collect();
            let visits: Vec<RankedVisit> = rows
                .iter()
                .zip(1..)
                .map(|((median, moisture), day)| visit(day, 3.0 * median, *moisture))
                .collect();
            let found = rank_correlations(&visits).unwrap();
            let (medians, moistures): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let days: Vec<f64> = (0..9).map(f64::from).collect();
            for (tau, plain) in [
                (found.with_moisture, statistics::kendalls_tau(&medians, &moistures)),
                (found.with_day, statistics::kendalls_tau(&medians, &days)),
            ] {
                assert_eq!(tau.is_some(), plain.is_some(), "{seed}");
                assert!(tau.zip(plain).is_none_or(|(a, b)| (a - b).abs() < 1e-12), "{seed}");
            }
        }
    }
}
