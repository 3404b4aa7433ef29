//! Random numbers that are the same on every machine.

/// `SplitMix64`: Steele, Lea and Flood (2014), "Fast splittable pseudorandom number generators",
/// OOPSLA '14, 453–472 (constants from memory, held against known numbers below). Not for secrets.
#[derive(Debug, Clone)]
pub struct Random {
    state: u64,
}

impl Random {
    /// The numbers that follow a seed.
    pub fn new(seed: u64) -> Self {
        Random { state: seed }
    }

    /// The next number, each of all 2⁶⁴ alike.
    pub fn next_u64(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// One of `0..count`, each nearly alike: off by no more than `count` in 2⁶⁴. 0 for a count of 0.
    pub fn below(&mut self, count: usize) -> usize {
        ((u128::from(self.next_u64()) * count as u128) >> 64) as usize
    }

    /// Mixes the order, each order nearly alike: Fisher and Yates, as in Knuth (1997), The Art of
    /// Computer Programming 2, algorithm 3.4.2P (from memory).
    pub fn shuffle<T>(&mut self, order: &mut [T]) {
        for last in (1..order.len()).rev() {
            order.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers for this seed as other implementations print them (Rosetta Code,
    /// "Pseudo-random numbers/Splitmix64", from memory).
    #[test]
    fn numbers_are_those_of_other_implementations() {
        let mut random = Random::new(1_234_567);
        let first = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973];
        assert_eq!([random.next_u64(), random.next_u64()], first);
    }

    #[test]
    fn every_order_of_three_comes_as_often() {
        let mut random = Random::new(5);
        let mut counts = std::collections::BTreeMap::new();
        for _ in 0..60_000 {
            let mut order = [0, 1, 2];
            random.shuffle(&mut order);
            *counts.entry(order).or_insert(0.0) += 1.0;
        }
        assert_eq!(counts.len(), 6);
        // Chi-squared with 5 degrees of freedom is below 20.5 in 999 of 1000 cases.
        let off: f64 = counts.values().map(|count| (count - 1e4) * (count - 1e4) / 1e4).sum();
        assert!(off < 20.5, "{off}");
    }

    #[test]
    fn below_gives_every_number_and_none_beyond() {
        let mut random = Random::new(0);
        let found: std::collections::BTreeSet<usize> = (0..200).map(|_| random.below(7)).collect();
        assert_eq!(found, (0..7).collect());
        assert_eq!(random.below(0), 0);
    }
}
