//! The randomisation test: what the draw alone could have done.
//!
//! Where the strips to treat were drawn by lot, each way the lot could have fallen was as likely as the one
//! it fell. Without any effect the strips would have changed alike under all of them, so the share of ways
//! whose difference is at least as far from 0 is a chance that rests on the draw and on nothing else
//! (Fisher 1935, The Design of Experiments, section 21; Edgington and Onghena 2007, Randomization Tests;
//! both from memory). Where strips lie in blocks the lot is drawn in each. Of too many ways some are drawn,
//! and the one that fell counts among them: (b + 1) / (m + 1) (Phipson and Smyth 2010, Statistical
//! Applications in Genetics and Molecular Biology 9:39, from memory).

use statistics::Random;

use crate::trial_contrast::{Sides, StripValue, complete_blocks, weight};

/// So many ways are all gone through.
const MOST_WAYS: f64 = 100_000.0;
/// Ways drawn where there are more.
const DRAWS: usize = 9_999;

/// What the test found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Randomisation {
    /// In how many ways the lot could have fallen.
    pub ways: f64,
    /// How many of them were drawn; `None` where all were gone through.
    pub drawn: Option<usize>,
    /// Share of the ways whose difference is at least as far from 0 as the one found.
    pub p: f64,
    /// The smallest such share that so many strips can give, whatever they read.
    pub smallest_p: f64,
}

/// Tests the difference that [`contrast`](crate::contrast) gives; the seed matters only where there are too
/// many ways to go through. `None` where the lot could have fallen in one way only.
pub fn randomisation_test(strips: &[StripValue], seed: u64) -> Option<Randomisation> {
    let blocks = complete_blocks(strips);
    let ways: f64 =
        blocks.iter().map(|[treated, check]| choices(treated.len(), check.len())).product();
    if blocks.is_empty() || ways < 2.0 {
        return None;
    }
    let blocks: Vec<Block> = blocks.iter().map(Block::new).collect();
    let found: f64 = blocks.iter().map(|block| block.part(&block.values)).sum();
    // What rounding may take from a difference that is as far from 0.
    let least = found.abs() - 1e-9 * blocks.iter().map(Block::range).fold(0.0, f64::max);
    let (count, all, drawn) = match ways <= MOST_WAYS {
        true => (count_all(&blocks, least), ways, None),
        false => {
            let count = count_drawn(&blocks, least, seed) + 1;
            (count, (DRAWS + 1) as f64, Some(DRAWS))
        }
    };
    // Where each block has as many of either side, the ways come in twos with the sign turned.
    let twice = if blocks.iter().all(Block::is_even) { 2.0 } else { 1.0 };
    let smallest_p = (twice / ways).max(if drawn.is_some() { 1.0 / all } else { 0.0 });
    Some(Randomisation { ways, drawn, p: count as f64 / all, smallest_p })
}

/// The fewest strips a side (in pairs: blocks of two) that a lot can show a difference with, and in how many
/// ways it can fall: the smallest possible share, 2 of all ways, is no greater than what the confidence leaves.
/// `None` where that takes more than 1000.
pub(crate) fn least_to_draw(confidence: f64, in_pairs: bool) -> Option<(usize, f64)> {
    let ways = |count: usize| match in_pairs {
        true => (0..count).fold(1.0, |ways, _| 2.0 * ways),
        false => choices(count, count),
    };
    let is_enough = |&(_, ways): &(usize, f64)| ways >= 2.0 && is_shown(2.0 / ways, confidence);
    (1..=1_000).map(|count| (count, ways(count))).find(is_enough)
}

/// Whether a chance is no greater than what the confidence leaves, but for rounding.
pub(crate) fn is_shown(p: f64, confidence: f64) -> bool {
    p <= 1.0 - confidence + 1e-9
}

/// In how many ways so many of all can be chosen.
fn choices(chosen: usize, others: usize) -> f64 {
    (1..=chosen.min(others))
        .fold(1.0, |ways, k| (ways * (chosen.max(others) + k) as f64 / k as f64).round())
}

/// A block: its values, treated strips first.
struct Block {
    values: Vec<f64>,
    treated: usize,
    weight: f64,
}

impl Block {
    fn new(sides: &Sides) -> Self {
        Block { values: sides.concat(), treated: sides[0].len(), weight: weight(sides) }
    }

    /// What the block adds to the sum of weighted differences, where its first strips are the treated.
    fn part(&self, values: &[f64]) -> f64 {
        self.part_of(values[..self.treated].iter().sum())
    }

    /// The same from the sum of the treated strips.
    fn part_of(&self, treated: f64) -> f64 {
        let others = self.values.iter().sum::<f64>() - treated;
        let count = self.values.len() - self.treated;
        self.weight * (treated / self.treated as f64 - others / count as f64)
    }

    fn is_even(&self) -> bool {
        2 * self.treated == self.values.len()
    }

    fn range(&self) -> f64 {
        let most = self.values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        self.weight * (most - self.values.iter().copied().fold(f64::INFINITY, f64::min))
    }

    /// Its part under each way to choose its treated strips.
    fn parts(&self) -> Vec<f64> {
        let mut sums = Vec::new();
        choose(&self.values, self.treated, 0.0, &mut sums);
        sums.into_iter().map(|sum| self.part_of(sum)).collect()
    }
}

/// The sums of all choices of so many values.
fn choose(values: &[f64], count: usize, sum: f64, sums: &mut Vec<f64>) {
    match values {
        _ if count == 0 => sums.push(sum),
        [first, rest @ ..] if values.len() >= count => {
            choose(rest, count - 1, sum + first, sums);
            choose(rest, count, sum, sums);
        }
        _ => {}
    }
}

fn count_all(blocks: &[Block], least: f64) -> usize {
    let mut sums = vec![0.0];
    for block in blocks {
        let parts = block.parts();
        sums = sums.iter().flat_map(|sum| parts.iter().map(move |part| sum + part)).collect();
    }
    sums.iter().filter(|sum| sum.abs() >= least).count()
}

fn count_drawn(blocks: &[Block], least: f64, seed: u64) -> usize {
    let mut random = Random::new(seed);
    let mut values: Vec<Vec<f64>> = blocks.iter().map(|block| block.values.clone()).collect();
    let mut draw = || -> f64 {
        let mut sum = 0.0;
        for (block, values) in blocks.iter().zip(&mut values) {
            // The treated strips to the front: Fisher and Yates, as far as needed.
            for k in 0..block.treated {
                let from = k + random.below(values.len() - k);
                values.swap(k, from);
            }
            sum += block.part(values);
        }
        sum
    };
    (0..DRAWS).filter(|_| draw().abs() >= least).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial_contrast::Treatment;
    use crate::trial_contrast::tests::{strip, strips};

    /// Six ways: differences of 1 2 3 4 in twos are −2, −1, 0, 0, 1, 2; two are as far as 2.
    #[test]
    fn two_and_two_strips_cannot_go_below_a_third() {
        let found = randomisation_test(&strips(&[4.0, 3.0], &[1.0, 2.0]), 1).unwrap();
        assert_eq!((found.ways, found.drawn), (6.0, None));
        assert_eq!((found.p, found.smallest_p), (2.0 / 6.0, 1.0 / 3.0));
        // Of 4 and 2 against 3 and 1 the difference is 1: four of six.
        let found = randomisation_test(&strips(&[4.0, 2.0], &[1.0, 3.0]), 1).unwrap();
        assert_eq!(found.p, 4.0 / 6.0);
    }

    /// Ten ways to choose three of 1, 2, 3, 4, 10, with sums of 6 7 8 9 13 14 15 15 16 17, 12 on average: as
    /// far from it as 10 + 4 + 3 are 6, 7 and 17 itself.
    #[test]
    fn sides_of_unequal_size_are_counted_by_hand() {
        let found = randomisation_test(&strips(&[10.0, 4.0, 3.0], &[1.0, 2.0]), 1).unwrap();
        assert_eq!((found.ways, found.p, found.smallest_p), (10.0, 0.3, 0.1));
    }

    /// Three blocks of one and one: eight ways, of which two have all differences of one sign.
    #[test]
    fn in_blocks_the_lot_falls_in_each() {
        let all: Vec<_> = [("a", 5.0, 1.0), ("b", 3.0, 2.0), ("c", 9.0, 2.0)]
            .into_iter()
            .flat_map(|(block, treated, check)| {
                [
                    strip(Treatment::Treated, Some(block), treated),
                    strip(Treatment::Check, Some(block), check),
                ]
            })
            .collect();
        let found = randomisation_test(&all, 1).unwrap();
        assert_eq!((found.ways, found.p, found.smallest_p), (8.0, 0.25, 0.25));
    }

    #[test]
    fn nothing_was_drawn_where_there_is_one_way() {
        assert!(randomisation_test(&strips(&[1.0], &[]), 1).is_none());
        assert!(randomisation_test(&[], 1).is_none());
        // One and one: two ways, equally far from 0.
        assert_eq!(randomisation_test(&strips(&[1.0], &[2.0]), 1).unwrap().p, 1.0);
    }

    /// 2 of 20 ways are 0.1, 2 of 70 are 0.029; 2 of 32 are 0.0625, 2 of 64 are 0.031.
    #[test]
    fn a_lot_shows_something_from_four_strips_a_side_or_six_pairs() {
        assert_eq!(least_to_draw(0.95, false), Some((4, 70.0)));
        assert_eq!(least_to_draw(0.9, false), Some((3, 20.0)));
        assert_eq!(least_to_draw(0.95, true), Some((6, 64.0)));
        assert_eq!(least_to_draw(0.99, false), Some((5, 252.0)));
    }

    #[test]
    fn ways_are_counted_as_binomials() {
        assert_eq!(choices(4, 4), 70.0);
        assert_eq!(choices(9, 9), 48_620.0);
        assert_eq!(choices(3, 27), 4_060.0);
        assert_eq!(choices(10, 10), 184_756.0);
    }

    /// 184 756 ways are too many: drawn ones must give nearly what all give.
    #[test]
    fn drawn_ways_come_near_all_ways() {
        let value = |k: u32| f64::from(k * k % 17) + if k.is_multiple_of(2) { 2.0 } else { 0.0 };
        let side = |odd: u32| (0..10).map(|k| value(2 * k + odd)).collect::<Vec<_>>();
        let all = strips(&side(0), &side(1));
        let found = randomisation_test(&all, 7).unwrap();
        assert_eq!((found.ways, found.drawn), (184_756.0, Some(9_999)));
        let blocks: Vec<Block> = complete_blocks(&all).iter().map(Block::new).collect();
        let distance: f64 = blocks.iter().map(|b| b.part(&b.values)).sum::<f64>().abs();
        let exact = count_all(&blocks, distance - 1e-9) as f64 / 184_756.0;
        // Four standard errors of a share of 9999 draws.
        let four = 4.0 * (exact * (1.0 - exact) / 9_999.0).sqrt();
        assert!((found.p - exact).abs() < four, "{} {exact}", found.p);
        assert_eq!(found, randomisation_test(&all, 7).unwrap());
        assert_ne!(found.p, randomisation_test(&all, 8).unwrap().p);
    }
}
