//! Simulated maps against what must hold on average. Seeds are fixed; limits are 4.5 standard errors
//! unless said otherwise, so that a sound change of the seed passes too.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geostat::{
    GeostatError, GlobalKriging, Kriging, Observation, Reading, Sample, Samples, Shape, Simulation,
    Trend, Variogram, simulate,
};

fn observed(easting_m: f64, northing_m: f64, value: f64) -> Observation {
    Observation { easting_m, northing_m, reading: Reading::Observed(value) }
}

fn observations() -> Vec<Observation> {
    // Whole numbers without a pattern.
    (0..25).map(|k| (k * 37 % 50, k * k * 11 % 47, k * 29 % 13)).fold(
        Vec::new(),
        |mut all, (e, n, v)| {
            all.push(observed(f64::from(e), f64::from(n), f64::from(v)));
            all
        },
    )
}

fn kriging(shape: Shape, nugget: f64, trend: Trend) -> Kriging {
    Kriging::new(Variogram::new(shape, nugget, 9.0, 25.0).unwrap()).unwrap().with_trend(trend)
}

fn square(side: u32, step_m: f64) -> Vec<[f64; 2]> {
    (0..side * side).map(|i| [i % side, i / side].map(|k| 0.5 + step_m * f64::from(k))).collect()
}

fn maps(
    observations: &[Observation],
    kriging: &Kriging,
    cells: &[[f64; 2]],
    simulation: Simulation,
) -> Vec<Vec<f64>> {
    let mut maps = Vec::new();
    simulate(observations, kriging, cells, simulation, |number, map| {
        assert_eq!(number, maps.len());
        maps.push(map.to_vec());
    })
    .unwrap();
    maps
}

/// With every sample and cell as neighbours the maps have exactly the mean and variance of kriging
/// that filters the nugget: Goovaerts 1997, section 8.3 (from memory).
#[test]
fn maps_have_the_mean_and_variance_of_kriging() {
    let cells = square(6, 9.0);
    let observations = observations();
    let count = 4000;
    let simulation = Simulation { realisations: count, seed: 11, neighbours: 100 };
    for trend in [Trend::Constant, Trend::Linear] {
        let kriging = kriging(Shape::Spherical, 2.0, trend).with_error_variance(2.0).unwrap();
        let sample = |o: &Observation| {
            let Reading::Observed(value) = o.reading else { panic!("all are observed") };
            Sample { easting_m: o.easting_m, northing_m: o.northing_m, value }
        };
        let samples = Samples::new(observations.iter().map(sample).collect()).unwrap();
        let global = GlobalKriging::new(&samples, &kriging).unwrap();
        let maps = maps(&observations, &kriging, &cells, simulation);
        for (i, &cell) in cells.iter().enumerate() {
            let expected = global.estimate(cell);
            let n = count as f64;
            let mean = maps.iter().map(|map| map[i]).sum::<f64>() / n;
            let variance = maps.iter().map(|map| (map[i] - mean).powi(2)).sum::<f64>() / (n - 1.0);
            let error = 4.5 * (expected.variance / n).sqrt();
            assert!((mean - expected.value).abs() < error, "{i}: {mean} {}", expected.value);
            let error = 4.5 * expected.variance * (2.0 / n).sqrt();
            assert!((variance - expected.variance).abs() < error, "{i}: {variance}");
        }
    }
}

/// One sample tells nothing of differences where the mean is not known, so they follow the model:
/// half the mean square difference at a distance is the semivariance. With few neighbours this holds
/// nearly: 2 % are allowed for that beside the error of the mean over the maps.
#[test]
fn differences_follow_the_variogram() {
    let cells = square(30, 2.0);
    let simulation = Simulation { realisations: 400, seed: 3, neighbours: 16 };
    for shape in [Shape::Spherical, Shape::Exponential, Shape::Gaussian] {
        let kriging = kriging(shape, 0.0, Trend::Constant);
        let maps = maps(&[observed(200.0, 0.0, 5.0)], &kriging, &cells, simulation);
        for lag in [1_usize, 4, 9] {
            let halves = |row: &[f64]| -> f64 {
                (lag..30).map(|k| (row[k] - row[k - lag]).powi(2) / 2.0).sum()
            };
            let pairs = 30.0 * (30 - lag) as f64;
            let of_map = |map: &Vec<f64>| map.chunks(30).map(halves).sum::<f64>() / pairs;
            let of_maps: Vec<f64> = maps.iter().map(of_map).collect();
            let n = of_maps.len() as f64;
            let mean = of_maps.iter().sum::<f64>() / n;
            let variance = of_maps.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n - 1.0);
            let expected = kriging.variogram().semivariance(2.0 * lag as f64);
            let error = 4.5 * (variance / n).sqrt() + 0.02 * expected;
            assert!((mean - expected).abs() < error, "{shape:?} {lag}: {mean} {expected}");
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_bits_on_any_number_of_threads() {
    let cells = square(12, 4.0);
    let mut observations = observations();
    for k in [3, 8, 15] {
        observations[k].reading = Reading::AtLeast(9.0);
    }
    let kriging = kriging(Shape::Exponential, 1.0, Trend::Constant);
    let of = |threads, seed, realisations| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let simulation = Simulation { realisations, seed, neighbours: 10 };
        pool.install(|| maps(&observations, &kriging, &cells, simulation))
    };
    let one = of(1, 42, 5);
    assert_eq!(one, of(3, 42, 5));
    assert_eq!(one[..2], of(2, 42, 2));
    assert_ne!(one, of(1, 43, 5));
    assert_ne!(one[0], one[1]);
}

/// Without a nugget a map has the samples' values at their places, and those with a limit follow the
/// normal distribution of leaving them out, cut off at the limit, whose mean above a is
/// φ(a) / (1 − Φ(a)) standard deviations.
#[test]
fn samples_are_met_and_limits_kept() {
    let mut observations = observations();
    let limited = 7;
    let place = [observations[limited].easting_m, observations[limited].northing_m];
    let kriging = kriging(Shape::Exponential, 0.0, Trend::Constant);
    let others = observations.iter().enumerate().filter(|(i, _)| *i != limited);
    let others = others.map(|(_, o)| {
        let Reading::Observed(value) = o.reading else { panic!("all are observed") };
        Sample { easting_m: o.easting_m, northing_m: o.northing_m, value }
    });
    let others = Samples::new(others.collect()).unwrap();
    let without = GlobalKriging::new(&others, &kriging).unwrap().estimate(place);
    let deviation = without.variance.sqrt();
    for a in [-0.5, 1.5] {
        let limit = without.value + a * deviation;
        observations[limited].reading = Reading::AtLeast(limit);
        let cells = [place, [observations[2].easting_m, observations[2].northing_m], [20.1, 20.2]];
        let simulation = Simulation { realisations: 4000, seed: 1, neighbours: 40 };
        let maps = maps(&observations, &kriging, &cells, simulation);
        let Reading::Observed(value) = observations[2].reading else { panic!("it is observed") };
        assert!(maps.iter().all(|map| (map[1] - value).abs() < 1e-9));
        assert!(maps.iter().all(|map| map[0] >= limit - 1e-9));
        let density = (-a * a / 2.0_f64).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let expected = without.value + deviation * density / (0.5 * libm::erfc(a / 2.0_f64.sqrt()));
        let mean = maps.iter().map(|map| map[0]).sum::<f64>() / 4000.0;
        // The cut-off distribution varies less than the whole.
        assert!((mean - expected).abs() < 4.5 * deviation / 4000.0_f64.sqrt(), "{mean} {expected}");
    }
}

/// Two values with limits depend on each other. Drawn here by another way: both from their joint
/// distribution, which follows from kriging one after the other, until both are above their limits.
#[test]
fn values_with_limits_depend_on_each_other() {
    let kriging = kriging(Shape::Exponential, 0.0, Trend::Constant);
    let base = [at(0.0, 0.0, 4.0), at(30.0, 3.0, 6.0), at(11.0, 29.0, 1.0)];
    let (first, second) = ([14.0, 9.0], [17.0, 10.0]);
    let (least_first, least_second) = (5.5, 3.0);
    let known = |samples: &[Sample]| {
        GlobalKriging::new(&Samples::new(samples.to_vec()).unwrap(), &kriging).unwrap()
    };
    let of_first = known(&base).estimate(first);
    // The estimate of the second is linear in the first.
    let given = |value| known(&[&base[..], &[at(first[0], first[1], value)]].concat());
    let (at_0, at_1) = (given(0.0).estimate(second), given(1.0).estimate(second));
    // Means by summing over a fine grid of the first and the closed form for the second.
    let (mut weight, mut mean_first, mut mean_second) = (0.0, 0.0, 0.0);
    let normal = |a: f64| (-a * a / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt();
    for k in 0..20_000 {
        let value = least_first + (f64::from(k) + 0.5) * 0.001;
        let density = normal((value - of_first.value) / of_first.variance.sqrt());
        let (mean, deviation) =
            (at_0.value + value * (at_1.value - at_0.value), at_0.variance.sqrt());
        let a = (least_second - mean) / deviation;
        let above = 0.5 * libm::erfc(a / 2.0_f64.sqrt());
        weight += density * above;
        mean_first += density * above * value;
        mean_second += density * (above * mean + deviation * normal(a));
    }
    let expected = [mean_first / weight, mean_second / weight];
    let mut observations: Vec<_> =
        base.iter().map(|s| observed(s.easting_m, s.northing_m, s.value)).collect();
    for (place, least) in [(first, least_first), (second, least_second)] {
        let reading = Reading::AtLeast(least);
        observations.push(Observation { easting_m: place[0], northing_m: place[1], reading });
    }
    let simulation = Simulation { realisations: 4000, seed: 8, neighbours: 10 };
    let maps = maps(&observations, &kriging, &[first, second], simulation);
    for (k, expected) in expected.into_iter().enumerate() {
        let mean = maps.iter().map(|map| map[k]).sum::<f64>() / 4000.0;
        let variance = maps.iter().map(|map| (map[k] - mean).powi(2)).sum::<f64>() / 3999.0;
        let error = 4.5 * (variance / 4000.0).sqrt();
        assert!((mean - expected).abs() < error, "{k}: {mean} {expected}");
    }
}

fn at(easting_m: f64, northing_m: f64, value: f64) -> Sample {
    Sample { easting_m, northing_m, value }
}

#[test]
fn what_cannot_be_simulated_is_refused() {
    let kriging = kriging(Shape::Spherical, 1.0, Trend::Constant);
    let simulation = Simulation { realisations: 1, seed: 1, neighbours: 5 };
    let twice = [[1.0, 1.0], [1.0, 1.0]];
    let result = simulate(&observations(), &kriging, &twice, simulation, |_, _| ());
    assert_eq!(result, Err(GeostatError::SamePlace { first: 0, second: 1 }));
    let reading = Reading::AtLeast(3.0);
    let limit = [Observation { easting_m: 0.0, northing_m: 0.0, reading }];
    let result = simulate(&limit, &kriging, &twice[..1], simulation, |_, _| ());
    assert_eq!(result, Err(GeostatError::NoSamples));
}

/// A model that is all nugget has nothing to simulate but its mean.
#[test]
fn a_nugget_alone_leaves_level_maps() {
    let variogram = Variogram::new(Shape::Spherical, 4.0, 0.0, 10.0).unwrap();
    let kriging = Kriging::new(variogram).unwrap();
    let simulation = Simulation { realisations: 3, seed: 1, neighbours: 5 };
    for map in maps(&observations(), &kriging, &square(4, 5.0), simulation) {
        assert!(map.iter().all(|&value| value == map[0]));
    }
}
