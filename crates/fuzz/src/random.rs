//! Numbers that look random and are the same on every run: `SplitMix64` of Steele, Lea & Flood (2014),
//! "Fast splittable pseudorandom number generators", OOPSLA 2014, pp. 453–472, figure 17.

pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn from_seed(seed: u64) -> Self {
        Random(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number from 0 up to, not including, `end`; 0 where that is 0.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        match end {
            0 => 0,
            _ => (self.next() % end as u64) as usize,
        }
    }

    pub(crate) fn byte(&mut self) -> u8 {
        self.next() as u8
    }

    /// One of some things, of which there must be one.
    pub(crate) fn one_of<'a, T>(&mut self, things: &'a [T]) -> &'a T {
        &things[self.below(things.len())]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first three numbers of seed 1234567, as the reference implementation in C (Vigna, 2015,
    /// prng.di.unimi.it/splitmix64.c) gives them.
    #[test]
    fn numbers_are_those_of_the_reference() {
        let mut random = Random::from_seed(1_234_567);
        let numbers = [random.next(), random.next(), random.next()];
        let expected =
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423];
        assert_eq!(numbers, expected);
    }
}
