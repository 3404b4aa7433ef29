//! What must hold for any samples.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geostat::{
    Anisotropy, Grid, Idw, NeighbourIndex, Neighbours, Sample, Samples, Search, SectorKind,
    Sectors, leave_one_out_idw,
};
use proptest::prelude::*;

fn sample() -> impl Strategy<Value = Sample> {
    // Whole metres make ties and collinear samples likely.
    (0..60_i32, 0..60_i32, -50..50_i32).prop_map(|(east, north, value)| Sample {
        easting_m: f64::from(east),
        northing_m: f64::from(north),
        value: f64::from(value) / 4.0,
    })
}

fn samples() -> impl Strategy<Value = Samples> {
    prop::collection::vec(sample(), 1..80).prop_map(|mut samples| {
        let key = |s: &Sample| (s.easting_m as i32, s.northing_m as i32);
        samples.sort_by_key(key);
        samples.dedup_by_key(|s| key(s));
        samples.reverse();
        Samples::new(samples).unwrap()
    })
}

fn search() -> impl Strategy<Value = Search> {
    let neighbours =
        prop_oneof![Just(Neighbours::All), (1..20_usize).prop_map(Neighbours::Nearest)];
    let within = prop::option::of((1..30_i32).prop_map(f64::from));
    let kind = prop_oneof![Just(SectorKind::Quadrants), Just(SectorKind::Octants)];
    let sectors = prop::option::weighted(
        0.3,
        (kind, 1..4_usize).prop_map(|(kind, most)| Sectors { kind, most }),
    );
    (neighbours, within, sectors).prop_map(|(neighbours, within_m, sectors)| Search {
        neighbours,
        within_m,
        sectors,
    })
}

fn anisotropy() -> impl Strategy<Value = Anisotropy> {
    prop_oneof![
        Just(Anisotropy::NONE),
        (0..36_i32, 1..10_i32).prop_map(|(tens, tenths)| {
            Anisotropy::new(f64::from(tens) * 10.0, f64::from(tenths) / 10.0).unwrap()
        })
    ]
}

/// The sector by the angle itself, clockwise from north; a whisker is added since an angle on a
/// border is rounded.
fn sector(kind: SectorKind, east: f64, north: f64) -> i64 {
    let sectors = if kind == SectorKind::Quadrants { 4.0 } else { 8.0 };
    let turns = east.atan2(north).rem_euclid(std::f64::consts::TAU) / std::f64::consts::TAU;
    (turns * sectors + 1e-9).floor() as i64 % sectors as i64
}

/// The estimate by the formula alone: sort all samples, take the first few, weigh. Distances are
/// compared by their squares: what is equally far must be so in both.
fn plain(samples: &Samples, search: Search, power: f64, place: [f64; 2]) -> f64 {
    let squared = |s: &Sample| (s.easting_m - place[0]).powi(2) + (s.northing_m - place[1]).powi(2);
    let mut near: Vec<&Sample> = samples.as_slice().iter().collect();
    near.retain(|s| search.within_m.is_none_or(|r| squared(s) <= r * r));
    near.sort_by(|a, b| squared(a).total_cmp(&squared(b)));
    if let Some(Sectors { kind, most }) = search.sectors {
        let of = |s: &Sample| sector(kind, s.easting_m - place[0], s.northing_m - place[1]);
        let mut taken = [0; 8];
        near.retain(|s| {
            taken[of(s) as usize] += 1;
            taken[of(s) as usize] <= most
        });
    }
    if let Neighbours::Nearest(count) = search.neighbours {
        near.truncate(count);
    }
    let all: Vec<(f64, f64)> = near.iter().map(|s| (squared(s), s.value)).collect();
    if let Some((_, value)) = all.iter().find(|(squared, _)| *squared == 0.0) {
        return *value;
    }
    let weight = |squared: f64| squared.sqrt().powf(-power);
    let weights: f64 = all.iter().map(|(squared, _)| weight(*squared)).sum();
    all.iter().map(|(squared, value)| value * weight(*squared)).sum::<f64>() / weights
}

proptest! {
    #[test]
    fn the_raster_is_what_the_formula_says(
        samples in samples(), search in search(), quarters in 1..24_u8,
    ) {
        let power = f64::from(quarters) / 4.0;
        // Middles of cells are exact, so that a direction on the border of a sector is so in both.
        let grid = Grid::new(-3.0, -3.0, 6.5, 10, 10).unwrap();
        let index = NeighbourIndex::new(&samples);
        let wanted = |row: usize, column: usize| !(row + column).is_multiple_of(3);
        let raster = Idw::new(power, search).unwrap().fill(&samples, &index, grid, wanted);
        for row in 0..10 {
            for column in 0..10 {
                let place = [grid.easting_m(column), grid.northing_m(row)];
                let ours = raster.value(row, column);
                if !wanted(row, column) {
                    prop_assert!(ours.is_nan());
                    continue;
                }
                let expected = plain(&samples, search, power, place);
                prop_assert!(
                    (ours - expected).abs() < 1e-9 || (ours.is_nan() && expected.is_nan()),
                    "{ours} {expected}"
                );
            }
        }
    }

    #[test]
    fn the_fast_way_gives_the_bits_of_a_search_for_each_cell(
        samples in samples(),
        // Most samples within a few metres, so that bins do not serve.
        crowd in prop::collection::vec((0..200_i32, 0..200_i32), 0..120),
        search in search(),
        anisotropy in anisotropy(),
        smoothing_m in prop_oneof![Just(0.0), 0.1..9.0_f64],
        quarters in 1..24_u8,
        cell_m in prop_oneof![Just(0.25), Just(0.5), Just(1.0), 0.1..4.0_f64, 20.0..3000.0_f64],
        // As far from the origin as places on a national grid.
        origin_m in prop_oneof![Just([0.0, 0.0]), Just([412_345.625, 5_650_123.75])],
    ) {
        let mut all = samples.as_slice().to_vec();
        all.extend(crowd.iter().map(|&(east, north)| Sample {
            easting_m: f64::from(east) / 512.0 + 0.001,
            northing_m: f64::from(north) / 512.0,
            value: f64::from(east - north),
        }));
        all.sort_by(|a, b| (a.easting_m, a.northing_m).partial_cmp(&(b.easting_m, b.northing_m)).unwrap());
        all.dedup_by_key(|s| (s.easting_m, s.northing_m));
        all.reverse();
        for sample in &mut all {
            sample.easting_m += origin_m[0];
            sample.northing_m += origin_m[1];
        }
        let samples = Samples::new(all).unwrap();
        let index = NeighbourIndex::stretched(&samples, anisotropy);
        let grid = Grid::new(origin_m[0] - 5.0, origin_m[1] - 3.0, cell_m, 97, 75).unwrap();
        let idw = Idw::new(f64::from(quarters) / 4.0, search).unwrap().smoothed(smoothing_m).unwrap();
        let wanted = |row: usize, column: usize| !(row * 7 + column / 3).is_multiple_of(11);
        let fast = idw.fill(&samples, &index, grid, wanted);
        let plain = idw.fill_plain(&samples, &index, grid, wanted);
        for (fast, plain) in fast.values.iter().zip(&plain.values) {
            prop_assert!(fast.to_bits() == plain.to_bits(), "{} {}", fast, plain);
        }
    }

    #[test]
    fn a_direction_is_a_stretched_plane(samples in samples(), tenths in 1..10_i32) {
        // Along the east, distances to the north count more: as if the plane were pulled that way.
        let ratio = f64::from(tenths) / 10.0;
        let east = Anisotropy::new(90.0, ratio).unwrap();
        let pulled = samples.as_slice().iter().map(|s| Sample { northing_m: s.northing_m / ratio, ..*s });
        let pulled = Samples::new(pulled.collect()).unwrap();
        let idw = Idw::new(2.0, Search::nearest(9)).unwrap();
        let ours = idw.estimate(&samples, &NeighbourIndex::stretched(&samples, east), [31.37, 12.21]);
        let place = [31.37, 12.21 / ratio];
        let expected = idw.estimate(&pulled, &NeighbourIndex::new(&pulled), place);
        prop_assert!((ours - expected).abs() < 1e-9, "{ours} {expected}");
    }

    #[test]
    fn exact_at_samples_and_within_their_range(samples in samples(), search in search()) {
        let index = NeighbourIndex::new(&samples);
        let idw = Idw::new(2.0, search).unwrap();
        let values = || samples.as_slice().iter().map(|s| s.value);
        let (least, most) = (values().fold(f64::MAX, f64::min), values().fold(f64::MIN, f64::max));
        for sample in samples.as_slice() {
            let place = [sample.easting_m, sample.northing_m];
            prop_assert_eq!(idw.estimate(&samples, &index, place), sample.value);
            let beside = idw.estimate(&samples, &index, [place[0] + 0.3, place[1] - 0.2]);
            prop_assert!(beside.is_nan() || (least - 1e-12..=most + 1e-12).contains(&beside));
        }
    }

    #[test]
    fn leaving_one_out_is_estimating_without_it(samples in samples(), search in search()) {
        prop_assume!(samples.len() > 1);
        let index = NeighbourIndex::new(&samples);
        let cv = &leave_one_out_idw(&samples, &index, search, None, &[1.5]).unwrap()[0];
        for pair in &cv.pairs {
            let mut others = samples.as_slice().to_vec();
            let out = others.remove(pair.index);
            let others = Samples::new(others).unwrap();
            let index = NeighbourIndex::new(&others);
            let idw = Idw::new(1.5, search).unwrap();
            let expected = idw.estimate(&others, &index, [out.easting_m, out.northing_m]);
            prop_assert!((pair.estimated - expected).abs() < 1e-12);
        }
    }

    #[test]
    fn several_powers_at_once_are_as_each_alone(samples in samples(), search in search()) {
        prop_assume!(samples.len() > 1);
        let index = NeighbourIndex::new(&samples);
        // Equal steps, unequal ones, and a power that is not a number of quarters.
        for powers in [vec![0.5, 0.75, 1.0, 1.25], vec![1.0, 2.0, 5.0], vec![1.3, 2.0]] {
            let all = leave_one_out_idw(&samples, &index, search, None, &powers).unwrap();
            for (of_all, &power) in all.iter().zip(&powers) {
                let alone = &leave_one_out_idw(&samples, &index, search, None, &[power]).unwrap()[0];
                prop_assert_eq!(of_all.pairs.len(), alone.pairs.len());
                for (a, b) in of_all.pairs.iter().zip(&alone.pairs) {
                    prop_assert!((a.estimated - b.estimated).abs() < 1e-11, "{} {:?} {:?}", power, a, b);
                }
            }
        }
    }

    #[test]
    fn moving_the_field_changes_nothing(samples in samples(), east in -9..9_i32) {
        let shift = f64::from(east) * 1024.0;
        let moved = samples.as_slice().iter().map(|s| Sample { easting_m: s.easting_m + shift, ..*s });
        let moved = Samples::new(moved.collect()).unwrap();
        let idw = Idw::new(2.0, Search::nearest(7)).unwrap();
        let here = idw.estimate(&samples, &NeighbourIndex::new(&samples), [31.5, 12.25]);
        let there = idw.estimate(&moved, &NeighbourIndex::new(&moved), [31.5 + shift, 12.25]);
        prop_assert_eq!(here, there);
    }
}

/// Seen from most cells a crowd of samples is about equally far, so that no block of cells has few.
#[test]
fn far_from_crowds_the_fast_way_gives_the_same_bits() {
    let crowd = |k: u32| [f64::from(k * 7919 % 1009), f64::from(k * 104_729 % 997)];
    let sample = |k: u32, far_m: f64| Sample {
        easting_m: 30_000.0 + crowd(k)[0] + far_m,
        northing_m: 20_000.0 + crowd(k)[1] + far_m,
        value: f64::from(k % 45),
    };
    let one: Vec<Sample> = (0..900).map(|k| sample(k, 0.0)).collect();
    let two = one.iter().copied().chain((0..900).map(|k| sample(k, 60_000.0))).collect();
    for all in [one, two] {
        let samples = Samples::new(all).unwrap();
        let index = NeighbourIndex::new(&samples);
        let idw = Idw::new(2.0, Search::nearest(3)).unwrap();
        for grid in [Grid::new(0.0, 0.0, 1_000.0, 100, 100), Grid::new(0.0, 0.0, 45_000.0, 3, 1)] {
            let grid = grid.unwrap();
            let fast = idw.fill(&samples, &index, grid, |_, _| true);
            let plain = idw.fill_plain(&samples, &index, grid, |_, _| true);
            let bits = |values: &[f64]| values.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
            assert_eq!(bits(&fast.values), bits(&plain.values));
        }
    }
}

/// Places that have no square of a distance have no estimate; such samples are refused.
#[test]
fn places_too_far_for_numbers_find_nothing() {
    let sample = |k: u32, spread_m: f64| Sample {
        easting_m: f64::from(k * k % 31) * spread_m,
        northing_m: f64::from(k) * spread_m,
        value: f64::from(k),
    };
    // The last is beyond the rest: nearly all share a bin.
    let all = (0..60).map(|k| sample(k, if k == 59 { 1e90 } else { 1.0 }));
    for samples in [(0..30).map(|k| sample(k, 1.0)).collect(), all.collect()] {
        let samples = Samples::new(samples).unwrap();
        let index = NeighbourIndex::new(&samples);
        let idw = Idw::new(2.0, Search::nearest(4)).unwrap();
        for place in [[f64::NAN, 0.0], [0.0, f64::INFINITY], [f64::NEG_INFINITY, f64::NAN]] {
            assert!(idw.estimate(&samples, &index, place).is_nan());
        }
        let mut found = Vec::new();
        index.find([1e99, -1e99], Search::nearest(4), &mut found);
        assert_eq!(found.len(), 4);
        index.find([1e101, 0.0], Search::nearest(4), &mut found);
        assert!(found.is_empty());
    }
    assert!(Samples::new(vec![sample(1, 1e101)]).is_err());
}

/// A stretched field far from the origin of its coordinates is the same field.
#[test]
fn a_direction_costs_no_digits_far_from_the_origin() {
    let sample = |k: u32, east_m: f64, north_m: f64| Sample {
        easting_m: f64::from(k * 7919 % 1009) + east_m,
        northing_m: f64::from(k * 104_729 % 997) + north_m,
        value: f64::from(k % 45),
    };
    let idw = Idw::new(2.0, Search::nearest(12)).unwrap();
    let direction = Anisotropy::new(37.0, 0.01).unwrap();
    let of = |east_m: f64, north_m: f64| {
        let samples = (0..300).map(|k| sample(k, east_m, north_m)).collect();
        let samples = Samples::new(samples).unwrap();
        let grid = Grid::new(east_m, north_m, 8.5, 120, 120).unwrap();
        let index = NeighbourIndex::stretched(&samples, direction);
        idw.fill(&samples, &index, grid, |_, _| true).values
    };
    assert_eq!(of(0.0, 0.0), of(4_194_304.0, 524_288.0));
}
