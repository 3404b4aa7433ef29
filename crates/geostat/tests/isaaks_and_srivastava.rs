//! Isaaks and Srivastava 1989, "An Introduction to Applied Geostatistics", chapters 11 to 16 (chapters from memory): seven
//! samples around (65, 137).

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use geostat::{
    Anisotropy, GlobalKriging, Idw, Kriging, NeighbourIndex, Sample, Samples, Search, Shape,
    Variogram,
};

fn seven_samples() -> Samples {
    let samples = [
        (61.0, 139.0, 477.0),
        (63.0, 140.0, 696.0),
        (64.0, 129.0, 227.0),
        (68.0, 128.0, 646.0),
        (71.0, 140.0, 606.0),
        (73.0, 141.0, 791.0),
        (75.0, 128.0, 783.0),
    ];
    let sample =
        |&(easting_m, northing_m, value): &(f64, f64, f64)| Sample { easting_m, northing_m, value };
    Samples::new(samples.iter().map(sample).collect()).unwrap()
}

fn assert_close(ours: f64, theirs: f64, tolerance: f64, what: &str) {
    assert!((ours - theirs).abs() <= tolerance, "{what}: {ours}, expected {theirs}");
}

/// Values computed with two independent programs.
#[test]
fn inverse_distance() {
    let samples = seven_samples();
    let index = NeighbourIndex::new(&samples);
    for (power, expected) in
        [(1.0, 593.9537), (2.0, 597.6204), (3.0, 609.2596), (5.0, 635.3748), (10.0, 672.9934)]
    {
        let idw = Idw::new(power, Search::EVERYTHING).unwrap();
        let estimate = idw.estimate(&samples, &index, [65.0, 137.0]);
        assert!((estimate - expected).abs() < 5e-5, "power {power}: {estimate}");
    }
}

/// The book prints values in whole units and variances with two decimals; the further digits are of
/// two independent programs.
#[test]
fn kriging() {
    let samples = seven_samples();
    let model = |shape, nugget, sill, range_m, direction: Option<(f64, f64)>| {
        let mut variogram = Variogram::new(shape, nugget, sill, range_m).unwrap();
        if let Some((azimuth_deg, ratio)) = direction {
            variogram.anisotropy = Anisotropy::new(azimuth_deg, ratio).unwrap();
        }
        GlobalKriging::new(&samples, &Kriging::new(variogram).unwrap()).unwrap()
    };
    let (exponential, gaussian) = (Shape::Exponential, Shape::Gaussian);
    let third = 10.0 / 3.0;
    let plain = model(exponential, 0.0, 10.0, third, None);
    for (global, value, variance) in [
        (&plain, 592.7289, 8.95605),
        (&model(exponential, 5.0, 5.0, third, None), 596.7770, 10.30585),
        (&model(gaussian, 0.0, 10.0, 10.0 / 3.0_f64.sqrt(), None), 559.3700, 4.78060),
        (&model(exponential, 0.0, 10.0, 2.0 * third, None), 572.3899, 5.75850),
        (&model(exponential, 0.0, 10.0, 2.0 * third, Some((135.0, 0.5))), 619.8083, 6.29859),
        (&model(exponential, 0.0, 10.0, 2.0 * third, Some((45.0, 0.5))), 574.0486, 8.15629),
        (&model(exponential, 0.0, 10.0, 10.0 * third, Some((135.0, 0.1))), 653.7378, 2.82997),
    ] {
        let estimate = global.estimate([65.0, 137.0]);
        assert_close(estimate.value, value, 5.1e-5, "value");
        assert_close(estimate.variance, variance, 5.1e-6, "variance");
    }
    let thousandths = [173.0, 318.0, 129.0, 86.0, 151.0, 57.0, 86.0];
    for (weight, expected) in plain.weights([65.0, 137.0]).iter().zip(thousandths) {
        assert_close(1000.0 * weight, expected, 0.51, "weight");
    }
    let negative = model(gaussian, 0.0, 10.0, 10.0 / 3.0_f64.sqrt(), None).weights([65.0, 137.0]);
    assert!(negative.iter().any(|&weight| weight < 0.0), "{negative:?}");
}
