//! Draws that are the same on every machine: `SplitMix64` of Steele, Lea and Flood (2014), "Fast
//! splittable pseudorandom number generators", OOPSLA 2014, pp. 453–472, figure 17.

pub(crate) struct Random(u64);

impl Random {
    pub fn from_seed(seed: u64) -> Self {
        Random(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// One of `0..count`, each nearly alike: off by no more than `count` in 2⁶⁴.
    pub fn below(&mut self, count: usize) -> usize {
        ((u128::from(self.next()) * count as u128) >> 64) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers of this seed, as the reference in C (Vigna, 2015, splitmix64.c) gives them.
    #[test]
    fn numbers_are_those_of_the_reference() {
        let mut random = Random::from_seed(1_234_567);
        let first = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973];
        assert_eq!([random.next(), random.next()], first);
    }

    #[test]
    fn draws_reach_every_number_and_no_other() {
        let mut random = Random::from_seed(1);
        let mut counts = [0; 5];
        for _ in 0..5_000 {
            counts[random.below(5)] += 1;
        }
        // A thousand each, give or take five standard deviations of 28.
        assert!(counts.iter().all(|count| (860..=1140).contains(count)), "{counts:?}");
    }
}
