//! Random numbers that are the same on every machine.

/// `SplitMix64`: Steele, Lea and Flood (2014), "Fast splittable pseudorandom number generators",
/// OOPSLA '14, 453–472 (constants from memory, held against known numbers below).
pub(crate) struct Random {
    state: u64,
    /// The second of a pair of normal deviates.
    spare: Option<f64>,
}

impl Random {
    /// A stream of its own for each number under one seed.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut seeds = Random { state: seed, spare: None };
        let start = seeds.next().wrapping_add(stream);
        let state = Random { state: start, spare: None }.next();
        Random { state, spare: None }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Above 0 and at most 1, every multiple of 2⁻⁵³ alike.
    fn uniform(&mut self) -> f64 {
        ((self.next() >> 11) + 1) as f64 / (1_u64 << 53) as f64
    }

    /// One of `0..count`, each nearly alike: off by no more than `count` in 2⁶⁴.
    pub fn below(&mut self, count: usize) -> usize {
        ((u128::from(self.next()) * count as u128) >> 64) as usize
    }

    /// Mixes the order: Fisher and Yates, as in Knuth (1997), The Art of Computer Programming 2,
    /// algorithm 3.4.2P (from memory).
    pub fn shuffle(&mut self, order: &mut [usize]) {
        for last in (1..order.len()).rev() {
            order.swap(last, self.below(last + 1));
        }
    }

    /// A standard normal deviate: Box and Muller (1958), Annals of Mathematical Statistics 29:610–611
    /// (from memory).
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        let (sin, cos) = libm::sincos(2.0 * std::f64::consts::PI * self.uniform());
        self.spare = Some(radius * sin);
        radius * cos
    }

    /// A standard normal deviate that is at least `least`: by trying where that is likely, else from an
    /// exponential tail: Robert (1995), "Simulation of truncated normal variables", Statistics and
    /// Computing 5:121–125 (from memory).
    pub fn normal_at_least(&mut self, least: f64) -> f64 {
        if least <= 0.0 {
            loop {
                let deviate = self.normal();
                if deviate >= least {
                    return deviate;
                }
            }
        }
        let rate = (least + (least * least + 4.0).sqrt()) / 2.0;
        loop {
            let deviate = least - libm::log(self.uniform()) / rate;
            let off = deviate - rate;
            if self.uniform() <= libm::exp(-off * off / 2.0) {
                return deviate;
            }
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
        let mut random = Random { state: 1_234_567, spare: None };
        let first = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973];
        assert_eq!([random.next(), random.next()], first);
    }

    #[test]
    fn deviates_have_the_moments_of_the_normal_distribution() {
        let mut random = Random::new(7, 1);
        let count = 200_000;
        let deviates: Vec<f64> = (0..count).map(|_| random.normal()).collect();
        let moment = |k: i32| deviates.iter().map(|d| d.powi(k)).sum::<f64>() / f64::from(count);
        // Four standard errors: of the mean 1, of the square √2, of the fourth power √96, each /√n.
        let four = 4.0 / f64::from(count).sqrt();
        assert!(moment(1).abs() < four);
        assert!((moment(2) - 1.0).abs() < four * 2.0_f64.sqrt());
        assert!((moment(4) - 3.0).abs() < four * 96.0_f64.sqrt());
    }

    #[test]
    fn deviates_above_a_limit_have_its_mean() {
        // The mean above a is the density at a over the probability of more; the variance is below 1.
        for least in [-1.0, 0.0, 0.7, 3.0] {
            let mut random = Random::new(3, 0);
            let count = 50_000;
            let deviates: Vec<f64> = (0..count).map(|_| random.normal_at_least(least)).collect();
            assert!(deviates.iter().all(|&deviate| deviate >= least));
            let density = (-least * least / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
            let expected = density / (0.5 * libm::erfc(least / 2.0_f64.sqrt()));
            let mean = deviates.iter().sum::<f64>() / f64::from(count);
            assert!((mean - expected).abs() < 4.0 / f64::from(count).sqrt(), "{least} {mean}");
            // The mean square is 1 + a times the mean; its own variance is at most that of a few
            // squares of deviates, well under 5 (1 + a²).
            let square = deviates.iter().map(|deviate| deviate * deviate).sum::<f64>();
            let square = square / f64::from(count);
            let wide = 4.0 * (5.0 * (1.0 + least * least) / f64::from(count)).sqrt();
            assert!((square - (1.0 + least * expected)).abs() < wide, "{least} {square}");
            // A quarter of the deviates lie beyond where a quarter of the probability does.
            if least == 3.0 {
                // The upper quarter of 1 − Φ(3) = 0.0013499 begins at 3.3996 (by bisection of erfc).
                let beyond = deviates.iter().filter(|&&deviate| deviate > 3.399_6).count() as f64;
                let quarter = 0.25 * f64::from(count);
                assert!((beyond - quarter).abs() < 4.0 * (0.75 * quarter).sqrt(), "{beyond}");
            }
        }
    }
}
