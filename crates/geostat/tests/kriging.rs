//! Kriging: what must hold for any samples. `reference.rs` holds it against other programs,
//! `isaaks_and_srivastava.rs` against published values.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geostat::{
    Anisotropy, GeostatError, GlobalKriging, Grid, Idw, Indicators, Kriging, NeighbourIndex,
    Neighbours, Observation, Probabilities, Reading, Sample, Samples, Search, Shape, SpatialBlocks,
    Trend, Variogram, leave_one_out_kriging, probability_below,
};
use proptest::prelude::*;
use serde_json::Value;

struct Case {
    samples: Samples,
    index: NeighbourIndex,
    targets: Vec<[f64; 2]>,
    expected: Value,
}

impl Case {
    /// A set's samples, by column names, and what gstat made of them.
    fn read(name: &str, [east, north, value]: [&str; 3]) -> Case {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference");
        let csv = std::fs::read_to_string(format!("{folder}/{name}.csv")).unwrap();
        let mut lines = csv.lines();
        let header: Vec<&str> = lines.next().unwrap().split(',').collect();
        let column = |name: &str| header.iter().position(|h| *h == name).unwrap();
        let columns = [column(east), column(north), column(value)];
        let samples = lines
            .map(|line| {
                let fields: Vec<&str> = line.split(',').collect();
                let [easting_m, northing_m, value] = columns.map(|c| fields[c].parse().unwrap());
                Sample { easting_m, northing_m, value }
            })
            .collect();
        let samples = Samples::new(samples).unwrap();
        let json = std::fs::read_to_string(format!("{folder}/{name}.gstat.json")).unwrap();
        let expected: Value = serde_json::from_str(&json).unwrap();
        let index = NeighbourIndex::new(&samples);
        let [east, north] = ["x", "y"].map(|axis| numbers(&expected["targets"][axis]));
        let targets = east.into_iter().zip(north).map(|(e, n)| [e, n]).collect();
        Case { samples, index, targets, expected }
    }
}

fn cases() -> [Case; 2] {
    [
        Case::read("mercer_hall_wheat", ["x", "y", "yield"]),
        Case::read("demo_field_a_april", ["easting", "northing", "depth_in"]),
    ]
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap_or(f64::NAN)).collect()
}

fn assert_close(ours: f64, theirs: f64, tolerance: f64, what: &str) {
    let close = (ours - theirs).abs() <= tolerance;
    assert!(close || (ours.is_nan() && theirs.is_nan()), "{what}: {ours}, expected {theirs}");
}

/// Settings with the model of the first run in a file.
fn kriging(run: &Value) -> Kriging {
    let number = |name: &str| run["model"][name].as_f64().unwrap();
    assert_eq!(run["model"]["model"], "Sph");
    let [nugget, sill, range_m] = ["nugget", "psill", "range"].map(number);
    Kriging::new(Variogram::new(Shape::Spherical, nugget, sill, range_m).unwrap()).unwrap()
}

fn at(easting_m: f64, northing_m: f64, value: f64) -> Sample {
    Sample { easting_m, northing_m, value }
}

fn samples() -> impl Strategy<Value = Samples> {
    let sample = (0..300_i32, 0..300_i32, -50..50_i32)
        .prop_map(|(e, n, v)| at(f64::from(e) / 5.0, f64::from(n) / 5.0, f64::from(v) / 4.0));
    // The corners are there so that a plane can always be told.
    prop::collection::vec(sample, 1..60).prop_map(|mut samples| {
        samples.extend([at(-3.0, -2.0, 1.0), at(70.0, -4.0, 2.5), at(9.0, 80.0, -3.0)]);
        samples.extend([at(75.0, 81.0, 0.0), at(31.03, 29.07, 2.0)]);
        Samples::averaging_repeats(&samples).unwrap().0
    })
}

fn settings() -> impl Strategy<Value = Kriging> {
    let shape = prop_oneof![Just(Shape::Spherical), Just(Shape::Exponential)];
    let trend = prop_oneof![Just(Trend::Constant), Just(Trend::Linear)];
    let anisotropy = (0.0..180.0_f64, 0.2..1.0_f64);
    (shape, 0.0..2.0_f64, 0.5..4.0_f64, 3.0..60.0_f64, anisotropy, trend).prop_map(
        |(shape, nugget, partial_sill, range_m, (azimuth_deg, ratio), trend)| {
            let mut variogram = Variogram::new(shape, nugget, partial_sill, range_m).unwrap();
            variogram.anisotropy = Anisotropy::new(azimuth_deg, ratio).unwrap();
            Kriging::new(variogram).unwrap().with_trend(trend)
        },
    )
}

/// What rounding may do here: values are around 10, sills up to 6.
const ROUND: f64 = 1e-8;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_fast_way_is_that_of_a_search_for_each_cell(
        samples in samples(),
        settings in settings(),
        count in 3..20_usize,
        cell_m in prop_oneof![Just(0.25), Just(1.0), 0.1..4.0_f64],
    ) {
        let index = NeighbourIndex::new(&samples);
        let kriging = settings.with_search(Search::nearest(count)).unwrap();
        let grid = Grid::new(-5.0, -3.0, cell_m, 67, 75).unwrap();
        let wanted = |row: usize, column: usize| !(row * 7 + column / 3).is_multiple_of(11);
        let fast = kriging.fill(&samples, &index, grid, true, wanted);
        let plain = kriging.fill_plain(&samples, &index, grid, true, wanted);
        match (fast, plain) {
            (Ok(fast), Ok(plain)) => {
                let [a, b] = [&fast, &plain].map(|raster| raster.variance.as_ref().unwrap());
                for (ours, expected) in [(&fast.value, &plain.value), (a, b)] {
                    for (ours, expected) in ours.values.iter().zip(&expected.values) {
                        let close = (ours - expected).abs() < ROUND;
                        prop_assert!(close || (ours.is_nan() && expected.is_nan()), "{ours} {expected}");
                    }
                }
            }
            // Which sample is found to be known from others depends on their order.
            (fast, plain) => prop_assert!(fast.is_err() && plain.is_err()),
        }
    }

    #[test]
    fn exact_at_the_samples_with_variance_0(samples in samples(), kriging in settings()) {
        let global = GlobalKriging::new(&samples, &kriging).unwrap();
        for sample in samples.as_slice() {
            let estimate = global.estimate([sample.easting_m, sample.northing_m]);
            prop_assert!((estimate.value - sample.value).abs() < ROUND);
            prop_assert_eq!(estimate.variance, 0.0);
        }
    }

    #[test]
    fn weights_add_up_to_1_and_give_the_estimate(
        samples in samples(), kriging in settings(), east in -20.0..90.0_f64, north in -20.0..90.0_f64,
    ) {
        let global = GlobalKriging::new(&samples, &kriging).unwrap();
        let weights = global.weights([east, north]);
        prop_assert!((weights.iter().sum::<f64>() - 1.0).abs() < ROUND);
        let pairs = || weights.iter().zip(samples.as_slice());
        let estimate: f64 = pairs().map(|(weight, sample)| weight * sample.value).sum();
        prop_assert!((estimate - global.value([east, north])).abs() < ROUND);
        prop_assert!((estimate - global.estimate([east, north]).value).abs() < ROUND);
        if kriging.trend() == Trend::Linear {
            let place: f64 = pairs().map(|(weight, sample)| weight * sample.easting_m).sum();
            prop_assert!((place - east).abs() < ROUND);
        }
    }

    #[test]
    fn shifted_values_shift_estimates_and_moved_places_change_nothing(
        samples in samples(), kriging in settings(),
    ) {
        let moved = samples.as_slice().iter();
        let moved = moved.map(|s| at(s.easting_m + 4096.0, s.northing_m - 512.0, s.value + 3.0));
        let moved = Samples::new(moved.collect()).unwrap();
        // Samples lie at fifths of a metre: none is here.
        let place = [20.0625, 30.0625];
        let here = GlobalKriging::new(&samples, &kriging).unwrap().estimate(place);
        let there = GlobalKriging::new(&moved, &kriging).unwrap();
        let there = there.estimate([place[0] + 4096.0, place[1] - 512.0]);
        prop_assert!((here.value + 3.0 - there.value).abs() < ROUND);
        prop_assert!((here.variance - there.variance).abs() < ROUND);
        prop_assert!(here.variance > 0.0);
    }

    #[test]
    fn the_closed_form_leaves_out_for_real(
        samples in samples(), kriging in settings(), error_share in 0.0..=1.0_f64, side_m in 5.0..60.0_f64,
    ) {
        let error = kriging.variogram().nugget * error_share;
        let kriging = kriging.with_error_variance(error).unwrap();
        let global = GlobalKriging::new(&samples, &kriging).unwrap();
        let blocks = SpatialBlocks::new(&samples, side_m).unwrap();
        let by_block = blocks.cross_validate_kriging(&samples, &kriging).unwrap();
        let singles: Vec<Vec<usize>> = (0..samples.len()).map(|i| vec![i]).collect();
        for (cv, left_out) in [(global.leave_one_out(), &singles[..]), (by_block, blocks.as_slice())] {
            prop_assert_eq!(cv.pairs.len() + cv.isolated, samples.len());
            for pair in &cv.pairs {
                let block = left_out.iter().find(|block| block.contains(&pair.index)).unwrap();
                let others = samples.as_slice().iter().enumerate();
                let others = others.filter(|(i, _)| !block.contains(i)).map(|(_, &s)| s).collect();
                let others = Samples::new(others).unwrap();
                let sample = samples.as_slice()[pair.index];
                let Ok(without) = GlobalKriging::new(&others, &kriging) else { continue };
                let expected = without.estimate([sample.easting_m, sample.northing_m]);
                // Far from the samples a plane is told badly, and sums are of larger numbers.
                let scale = ROUND * (1.0 + expected.variance);
                prop_assert!((pair.estimated - expected.value).abs() < scale);
                let variance = expected.variance + error;
                prop_assert!((pair.variance.unwrap() - variance).abs() < scale);
            }
        }
    }

    #[test]
    fn every_neighbour_is_the_same_as_all_samples(
        samples in samples(), kriging in settings(), east in 0.0..60.0_f64, north in 0.0..60.0_f64,
    ) {
        let global = GlobalKriging::new(&samples, &kriging).unwrap().estimate([east, north]);
        let index = NeighbourIndex::new(&samples);
        let kriging = kriging.with_search(Search::nearest(samples.len())).unwrap();
        let local = kriging.estimate(&samples, &index, [east, north]).unwrap();
        prop_assert_eq!(local, global);
    }

    #[test]
    fn a_raster_has_the_estimates_of_its_cells(samples in samples(), kriging in settings()) {
        let grid = Grid::new(-5.0, -5.0, 1.0, 75, 3).unwrap();
        let wanted = |row: usize, column: usize| !(row + column).is_multiple_of(5);
        let global = GlobalKriging::new(&samples, &kriging).unwrap();
        let raster = global.fill(grid, true, wanted);
        let index = NeighbourIndex::new(&samples);
        let plain = kriging.fill_plain(&samples, &index, grid, true, |r, c| r == 1 && wanted(r, c));
        let plain = plain.unwrap();
        let variances = raster.variance.unwrap();
        prop_assert_eq!(raster.negative_variances, 0);
        for row in 0..3 {
            for column in 0..75 {
                let place = [grid.easting_m(column), grid.northing_m(row)];
                let ours = [raster.value.value(row, column), variances.value(row, column)];
                if !wanted(row, column) {
                    prop_assert!(ours.iter().all(|v| v.is_nan()));
                    continue;
                }
                let expected = global.estimate(place);
                prop_assert_eq!(ours[0], global.value(place));
                prop_assert_eq!(ours[1], expected.variance);
                prop_assert!((ours[0] - expected.value).abs() < ROUND);
                if row == 1 {
                    prop_assert_eq!(plain.value.value(row, column), expected.value);
                }
            }
        }
    }

    #[test]
    fn the_mean_of_one_point_is_its_estimate_without_the_nugget(
        samples in samples(), kriging in settings(), east in 0.0..60.0_f64,
    ) {
        let global = GlobalKriging::new(&samples, &kriging).unwrap();
        let place = [east + 0.013, 41.007];
        let (point, block) = (global.estimate(place), global.block(&[place], None).unwrap());
        prop_assert!((point.value - block.value).abs() < ROUND);
        let nugget = kriging.variogram().nugget;
        prop_assert!((point.variance - nugget - block.variance).abs() < ROUND);
    }
}

/// The covariance of two means is the mean of the points' covariances, so the estimate of a zone is the
/// mean of its points' estimates, and its variance less than theirs.
#[test]
fn the_mean_of_a_zone_is_the_mean_of_its_points() {
    let case = &cases()[0];
    let global = GlobalKriging::new(&case.samples, &kriging(&case.expected["ok"][0])).unwrap();
    let points: Vec<_> = case.targets.iter().copied().take(200).collect();
    let weights: Vec<f64> = (0..200).map(|k| f64::from(1 + k % 3)).collect();
    let zone = global.block(&points, Some(&weights)).unwrap();
    let sum: f64 = points.iter().zip(&weights).map(|(&p, w)| w * global.value(p)).sum();
    assert_close(zone.value, sum / weights.iter().sum::<f64>(), 1e-12, "mean");
    assert!(
        zone.variance > 0.0 && zone.variance < global.block(&points[..9], None).unwrap().variance
    );
    assert_eq!(global.block(&[], None), Err(GeostatError::Block));
    assert_eq!(global.block(&points, Some(&weights[1..])), Err(GeostatError::Block));
}

/// A cell whose middle is a sample's place has its value, and no variance at all.
#[test]
fn a_cell_at_a_sample_is_the_sample() {
    let all = (0..120_u32).map(|k| {
        let [east, north] = [k * 37 % 101, k * 53 % 89].map(f64::from);
        at(east + 0.5, north + 0.5, f64::from(k * 29 % 41))
    });
    let samples = Samples::averaging_repeats(&all.collect::<Vec<_>>()).unwrap().0;
    let index = NeighbourIndex::new(&samples);
    let variogram = Variogram::new(Shape::Spherical, 3.0, 20.0, 40.0).unwrap();
    let kriging = Kriging::new(variogram).unwrap();
    let grid = Grid::new(0.0, 0.0, 1.0, 101, 89).unwrap();
    for search in [Search::nearest(12), Search::EVERYTHING] {
        let kriging = kriging.with_search(search).unwrap();
        let kriged = kriging.fill(&samples, &index, grid, true, |_, _| true).unwrap();
        let variance = kriged.variance.unwrap();
        for sample in samples.as_slice() {
            let (row, column) = (88 - sample.northing_m as usize, sample.easting_m as usize);
            assert!((kriged.value.value(row, column) - sample.value).abs() < ROUND);
            assert_eq!(variance.value(row, column), 0.0);
        }
        assert!(variance.values.iter().filter(|&&variance| variance > 0.0).count() > 8_000);
    }
}

/// Far more samples in a block than a choice among them has bits for.
#[test]
fn crowded_blocks_are_kriged_as_cell_by_cell() {
    let all = (0..4_000_u32).map(|k| {
        let [east, north] = [k * 7919 % 4001, k * 6007 % 3989].map(|m| f64::from(m) / 200.0);
        at(east, north, f64::from(k * 29 % 41))
    });
    let samples = Samples::averaging_repeats(&all.collect::<Vec<_>>()).unwrap().0;
    let index = NeighbourIndex::new(&samples);
    let variogram = Variogram::new(Shape::Exponential, 3.0, 20.0, 4.0).unwrap();
    let kriging = Kriging::new(variogram).unwrap().with_search(Search::nearest(16)).unwrap();
    let grid = Grid::new(0.0, 0.0, 0.7, 28, 28).unwrap();
    let fast = kriging.fill(&samples, &index, grid, false, |_, _| true).unwrap();
    let plain = kriging.fill_plain(&samples, &index, grid, false, |_, _| true).unwrap();
    for (fast, plain) in fast.value.values.iter().zip(&plain.value.values) {
        assert!((fast - plain).abs() < ROUND, "{fast} {plain}");
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let case = &cases()[0];
    let kriging = kriging(&case.expected["ok"][0]).with_trend(Trend::Linear);
    let grid = Grid::new(0.0, 0.0, 1.3, 60, 40).unwrap();
    let of = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let global = GlobalKriging::new(&case.samples, &kriging).unwrap();
            let raster = global.fill(grid, true, |_, _| true);
            let zone = global.block(&case.targets, None).unwrap();
            let cv = global.leave_one_out();
            let mut all = raster.value.values;
            all.extend(raster.variance.unwrap().values);
            all.extend([zone.value, zone.variance, cv.rmse, cv.msdr()]);
            all.into_iter().map(f64::to_bits).collect::<Vec<_>>()
        })
    };
    let one = of(1);
    assert!(one == of(3) && one == of(2));
}

/// Probabilities by two ways for the wheat, whose yields are about normal: the share of the ground
/// below the cutoff is much the same. At its samples an indicator is met.
#[test]
fn indicators_and_the_normal_distribution_tell_much_the_same_of_the_field() {
    let case = &cases()[0];
    let cutoff = case.samples.mean();
    let observation = |s: &Sample| Observation {
        easting_m: s.easting_m,
        northing_m: s.northing_m,
        reading: match s.value > cutoff + 0.8 {
            true => Reading::AtLeast(cutoff + 0.8),
            false => Reading::Observed(s.value),
        },
    };
    let observations: Vec<_> = case.samples.as_slice().iter().map(observation).collect();
    let indicators = Indicators::new(&observations, cutoff).unwrap();
    assert_eq!((indicators.unknown, indicators.samples.len()), (0, case.samples.len()));
    let kriging = kriging(&case.expected["ok"][0]);
    let values = GlobalKriging::new(&case.samples, &kriging).unwrap();
    let probabilities = GlobalKriging::new(&indicators.samples, &kriging).unwrap();
    for (sample, indicator) in case.samples.as_slice().iter().zip(indicators.samples.as_slice()) {
        assert_eq!(indicator.value, f64::from(u8::from(sample.value < cutoff)));
        let ours = probabilities.value([sample.easting_m, sample.northing_m]);
        assert_close(ours, indicator.value, ROUND, "indicator");
    }
    let grid = Grid::new(1.0, 1.0, 4.0, 15, 15).unwrap();
    let raster = probabilities.fill(grid, false, |_, _| true).value;
    let below = raster.values.iter().filter(|&&p| !(-1e-9..=1.0 + 1e-9).contains(&p)).count();
    let probabilities = Probabilities::new(raster);
    assert_eq!(probabilities.clamped, below);
    let mut more = 0.0;
    for row in 0..15 {
        for column in 0..15 {
            let place = [grid.easting_m(column), grid.northing_m(row)];
            let normal = probability_below(values.estimate(place), cutoff);
            let indicator = probabilities.raster.value(row, column);
            assert!((0.0..=1.0).contains(&indicator));
            more += (normal - indicator) / 225.0;
        }
    }
    assert!(more.abs() < 0.05, "{more}");
}

#[test]
fn equal_samples_give_exactly_their_value() {
    let places = (0..40).map(|k| at(f64::from(k * k % 37), f64::from(k), 45.72)).collect();
    let samples = Samples::new(places).unwrap();
    let variogram = Variogram::new(Shape::Spherical, 0.1, 1.0, 30.0).unwrap();
    let kriging = Kriging::new(variogram).unwrap().with_trend(Trend::Linear);
    let global = GlobalKriging::new(&samples, &kriging).unwrap();
    assert_eq!(global.value([3.3, 18.8]), 45.72);
}

#[test]
fn equations_without_a_solution_are_refused() {
    let close = (0..30).map(|k| at(f64::from(k) * 0.5, 0.0, f64::from(k % 4))).collect();
    let samples = Samples::new(close).unwrap();
    let kriging =
        |shape, nugget| Kriging::new(Variogram::new(shape, nugget, 1.0, 20.0).unwrap()).unwrap();
    let gaussian = GlobalKriging::new(&samples, &kriging(Shape::Gaussian, 0.0)).err();
    assert!(matches!(gaussian, Some(GeostatError::Singular { .. })), "{gaussian:?}");
    assert!(GlobalKriging::new(&samples, &kriging(Shape::Gaussian, 0.01)).is_ok());
    // All on one line: no plane.
    let plane = kriging(Shape::Spherical, 0.1).with_trend(Trend::Linear);
    assert_eq!(GlobalKriging::new(&samples, &plane).err(), Some(GeostatError::NoTrend));
    let index = NeighbourIndex::new(&samples);
    let near = plane.with_search(Search::nearest(4)).unwrap();
    assert_eq!(near.estimate(&samples, &index, [0.0, 1.0]), Err(GeostatError::NoTrend));
}

#[test]
fn settings_that_mean_nothing_are_refused() {
    let variogram = Variogram::new(Shape::Spherical, 0.5, 1.0, 20.0).unwrap();
    let kriging = Kriging::new(variogram).unwrap();
    for error_variance in [-0.1, 0.6, f64::NAN] {
        assert!(kriging.with_error_variance(error_variance).is_err());
    }
    assert!(kriging.with_search(Search::nearest(0)).is_err());
    assert!(Kriging::new(Variogram { range_m: -1.0, ..variogram }).is_err());
}

#[test]
fn too_few_neighbours_are_no_data() {
    let samples = Samples::new(vec![at(0.0, 0.0, 1.0), at(9.0, 0.0, 2.0)]).unwrap();
    let index = NeighbourIndex::new(&samples);
    let variogram = Variogram::new(Shape::Spherical, 0.5, 1.0, 20.0).unwrap();
    let search = Search { neighbours: Neighbours::All, within_m: Some(5.0), sectors: None };
    let kriging = Kriging::new(variogram).unwrap().with_search(search).unwrap();
    let none = kriging.estimate(&samples, &index, [20.0, 0.0]).unwrap();
    assert!(none.value.is_nan() && none.variance.is_nan());
    // One neighbour: its value, with the variance 2 γ(h) at h = 5 m: γ = 0.5 + 1.5/4 − 0.5/64.
    let one = kriging.estimate(&samples, &index, [-5.0, 0.0]).unwrap();
    assert_eq!(one.value, 1.0);
    assert!((one.variance - 2.0 * 0.867_187_5).abs() < 1e-12, "{}", one.variance);
    let plane = kriging.with_trend(Trend::Linear).with_search(Search::EVERYTHING).unwrap();
    assert!(plane.estimate(&samples, &index, [4.0, 0.0]).unwrap().value.is_nan());
}

/// From one sample to four, on grids of a cell, a row and a column with a cell at a sample.
#[test]
fn few_samples_and_few_cells() {
    let all = [at(2.0, 1.0, 4.0), at(5.0, 3.0, 1.0), at(9.0, 7.0, 2.5), at(4.0, 8.0, 3.0)];
    let variogram = Variogram::new(Shape::Spherical, 0.5, 1.0, 20.0).unwrap();
    for (count, trend) in (1..=4).flat_map(|n| [(n, Trend::Constant), (n, Trend::Linear)]) {
        let samples = Samples::new(all[..count].to_vec()).unwrap();
        let index = NeighbourIndex::new(&samples);
        let kriging = Kriging::new(variogram).unwrap().with_trend(trend);
        let near = Search::nearest(3);
        for search in [Search::EVERYTHING, Search::nearest(1), near, near.within(1e-3)] {
            let kriging = kriging.with_search(search).unwrap();
            for (columns, rows) in [(1, 1), (9, 1), (1, 9)] {
                let grid = Grid::new(1.5, 0.5, 1.0, columns, rows).unwrap();
                let fast = kriging.fill(&samples, &index, grid, true, |_, _| true).unwrap();
                let plain = kriging.fill_plain(&samples, &index, grid, true, |_, _| true).unwrap();
                let variance = plain.variance.unwrap();
                for ours in [(fast.value, &plain.value), (fast.variance.unwrap(), &variance)] {
                    for (ours, expected) in ours.0.values.iter().zip(&ours.1.values) {
                        assert_close(*ours, *expected, ROUND, "cell");
                    }
                }
                // The first sample is the middle of the southernmost cell of the first column.
                // A plane takes three samples.
                let is_one = search == Search::nearest(1) || search.within_m.is_some();
                let expected = trend == Trend::Constant || (count >= 3 && !is_one);
                let there = plain.value.value(rows - 1, 0);
                assert!(if expected { (there - 4.0).abs() < ROUND } else { there.is_nan() });
            }
        }
    }
}

/// A field on a national grid is kriged as it is near the origin, also with a direction, and the
/// search may have one, too.
#[test]
fn a_raster_far_from_the_origin_is_that_near_it() {
    let mut variogram = Variogram::new(Shape::Spherical, 0.5, 2.0, 40.0).unwrap();
    let direction = Anisotropy::new(30.0, 0.01).unwrap();
    variogram.anisotropy = direction;
    let kriging = Kriging::new(variogram).unwrap().with_search(Search::nearest(8)).unwrap();
    let of = |east_m: f64, north_m: f64, direction: Anisotropy| {
        let place = |k: u32| [f64::from(k * 7919 % 1009) / 8.0, f64::from(k * 104_729 % 997) / 8.0];
        let sample =
            |k: u32| at(place(k)[0] + east_m, place(k)[1] + north_m, f64::from(k * 29 % 13));
        let samples = Samples::new((0..200).map(sample).collect()).unwrap();
        let index = NeighbourIndex::stretched(&samples, direction);
        let grid = Grid::new(east_m, north_m, 1.375, 70, 70).unwrap();
        let raster = kriging.fill(&samples, &index, grid, true, |_, _| true).unwrap();
        [raster.value.values, raster.variance.unwrap().values].concat()
    };
    for direction in [Anisotropy::NONE, direction] {
        assert_eq!(of(0.0, 0.0, direction), of(4_194_304.0, 524_288.0, direction));
    }
}

/// The observed value varies by its error too, so it stands in the variance either way.
#[test]
fn variances_of_observed_values_hold_the_error() {
    let case = &cases()[1];
    let closed = kriging(&case.expected["ok"][0]).with_error_variance(12.0).unwrap();
    let all = Search::nearest(case.samples.len());
    let plain = closed.with_search(all).unwrap();
    let blocks = SpatialBlocks::new(&case.samples, 100.0).unwrap();
    let one = |k| leave_one_out_kriging(&case.samples, &case.index, k).unwrap();
    let block = |k| blocks.cross_validate_kriging(&case.samples, k).unwrap();
    for (closed, plain) in [(one(&closed), one(&plain)), (block(&closed), block(&plain))] {
        assert_close(closed.rmse, plain.rmse, ROUND, "rmse");
        assert_close(closed.msdr(), plain.msdr(), ROUND, "msdr");
    }
}

#[test]
fn spatial_blocks_with_neighbours_leave_the_block_out() {
    let case = &cases()[1];
    let blocks = SpatialBlocks::new(&case.samples, 100.0).unwrap();
    let run = &case.expected["ok"][0];
    let near = kriging(run).with_search(Search::nearest(12)).unwrap();
    let everything = kriging(run).with_search(Search::nearest(case.samples.len())).unwrap();
    let closed = blocks.cross_validate_kriging(&case.samples, &kriging(run)).unwrap();
    let plain = blocks.cross_validate_kriging(&case.samples, &everything).unwrap();
    let few = blocks.cross_validate_kriging(&case.samples, &near).unwrap();
    let idw = Idw::new(2.0, Search::nearest(12)).unwrap();
    let idw = blocks.cross_validate_idw(&case.samples, &idw);
    for (a, b) in [(closed.rmse, plain.rmse), (closed.msdr(), plain.msdr())] {
        assert_close(a, b, ROUND, "closed form");
    }
    // Every method leaves out the same samples, so the mean is off by the same.
    assert_eq!(closed.mean_rmse, idw.mean_rmse);
    assert!(few.rmse > 0.0 && few.pairs.len() == case.samples.len());
    // Farther from their neighbours, samples are estimated no better.
    let single = leave_one_out_kriging(&case.samples, &case.index, &kriging(run)).unwrap();
    assert!(closed.rmse > single.rmse, "{} {}", closed.rmse, single.rmse);
    assert!((0.6..=1.0).contains(&single.coverage_80()), "{}", single.coverage_80());
    assert!((0.8..=1.0).contains(&single.coverage_95()), "{}", single.coverage_95());
}
