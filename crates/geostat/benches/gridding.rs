//! Speed of interpolation: `cargo bench --package geostat --bench gridding`.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use geostat::{
    Bins, EmpiricalVariogram, Estimator, GlobalKriging, Grid, Idw, Kriging, NeighbourIndex, Sample,
    Samples, Search, Shape, Variogram, Weighting, leave_one_out_idw,
};

const SIDE_M: f64 = 1000.0;

/// Samples spread evenly at random over the square, the same each time: a linear congruential
/// generator (Knuth, The Art of Computer Programming, vol. 2, section 3.3.4, multiplier of MMIX).
fn samples(count: usize) -> Samples {
    let mut state = 20_250_414_u64;
    let mut uniform = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let sample = |_| Sample {
        easting_m: uniform() * SIDE_M,
        northing_m: uniform() * SIDE_M,
        value: uniform() * 45.0,
    };
    Samples::new((0..count).map(sample).collect()).expect("samples are finite and apart")
}

fn fill(criterion: &mut Criterion) {
    let grid = Grid::new(0.0, 0.0, SIDE_M / 500.0, 500, 500).expect("the grid has cells");
    let idw = Idw::new(2.0, Search::nearest(12)).expect("the power is allowed");
    let mut group = criterion.benchmark_group("fill 500 x 500 cells from the nearest 12");
    group.sample_size(10);
    for count in [200, 2000] {
        let samples = samples(count);
        let index = NeighbourIndex::new(&samples);
        group.bench_function(BenchmarkId::from_parameter(count), |bencher| {
            bencher.iter(|| idw.fill(black_box(&samples), &index, grid, |_, _| true));
        });
    }
    group.finish();
}

fn leave_one_out(criterion: &mut Criterion) {
    // From 0.5 to 5 by quarters.
    let powers: Vec<f64> = (2..=20).map(|quarters| f64::from(quarters) / 4.0).collect();
    let samples = samples(2000);
    let index = NeighbourIndex::new(&samples);
    let mut group = criterion.benchmark_group("leave one out, 2000 samples, 19 powers");
    group.sample_size(10);
    for (name, search) in [("nearest 64", Search::nearest(64)), ("all", Search::EVERYTHING)] {
        group.bench_function(name, |bencher| {
            bencher.iter(|| leave_one_out_idw(black_box(&samples), &index, search, None, &powers));
        });
    }
    group.finish();
}

fn krige(criterion: &mut Criterion) {
    let grid = Grid::new(0.0, 0.0, SIDE_M / 500.0, 500, 500).expect("the grid has cells");
    let samples = samples(2000);
    let index = NeighbourIndex::new(&samples);
    let model = Variogram::new(Shape::Spherical, 20.0, 100.0, 150.0).expect("a sound model");
    let global = Kriging::new(model).expect("a sound model");
    let local = global.with_search(Search::nearest(16)).expect("a sound search");
    let mut group = criterion.benchmark_group("krige 500 x 500 cells, 2000 samples");
    group.sample_size(10);
    group.bench_function("nearest 16, with variance", |bencher| {
        bencher.iter(|| local.fill(black_box(&samples), &index, grid, true, |_, _| true));
    });
    group.bench_function("all, factorise", |bencher| {
        bencher.iter(|| GlobalKriging::new(black_box(&samples), &global));
    });
    let factorised = GlobalKriging::new(&samples, &global).expect("samples are apart");
    group.bench_function("all, without variance", |bencher| {
        bencher.iter(|| black_box(&factorised).fill(grid, false, |_, _| true));
    });
    group.bench_function("all, leave one out", |bencher| {
        bencher.iter(|| black_box(&factorised).leave_one_out());
    });
    group.finish();
}

fn variogram(criterion: &mut Criterion) {
    let samples = samples(2000);
    let estimate =
        || EmpiricalVariogram::new(black_box(&samples), Estimator::Matheron, &Bins::Default, None);
    let mut group = criterion.benchmark_group("variogram, 2000 samples");
    group.sample_size(10);
    group.bench_function("estimate", |bencher| bencher.iter(estimate));
    let empirical = estimate().expect("samples differ");
    group.bench_function("fit the best of three shapes", |bencher| {
        let shapes = [Shape::Spherical, Shape::Exponential, Shape::Gaussian];
        bencher.iter(|| empirical.fit_best(&shapes, Weighting::default()));
    });
    group.finish();
}

criterion_group!(benches, fill, leave_one_out, krige, variogram);
criterion_main!(benches);
