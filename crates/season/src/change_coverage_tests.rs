//! Whether intervals of a change hold what they say: fields with a known change, probed with errors, many
//! times.

use std::f64::consts::PI;

use statistics::Random;

use crate::change::{ChangeBasis, ChangeMap, change_map};
use crate::made_up::{CORNER, Probe, reached, settings, square, visit};
use crate::pairs::{PairsWithin, pair_spots};

/// A smooth surface without direction: waves of random direction, phase and length added up, with a
/// standard deviation of 1. Some 30 waves make it about normal.
struct Surface(Vec<[f64; 3]>);

const WAVES: usize = 30;

impl Surface {
    /// Waves of so many metres and up to twice that.
    fn new(random: &mut Random, shortest_m: f64) -> Self {
        let wave = |_| {
            let direction = 2.0 * PI * uniform(random);
            let per_m = 2.0 * PI / (shortest_m * (1.0 + uniform(random)));
            let (sin, cos) = libm::sincos(direction);
            [per_m * sin, per_m * cos, 2.0 * PI * uniform(random)]
        };
        Surface((0..WAVES).map(wave).collect())
    }

    fn at(&self, [east_m, north_m]: [f64; 2]) -> f64 {
        let wave =
            |[east, north, phase]: &[f64; 3]| libm::sin(east * east_m + north * north_m + phase);
        self.0.iter().map(wave).sum::<f64>() * (2.0 / WAVES as f64).sqrt()
    }
}

fn uniform(random: &mut Random) -> f64 {
    (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

/// The sum of twelve uniform numbers less 6: about normal with a standard deviation of 1.
fn error(random: &mut Random) -> f64 {
    (0..12).map(|_| uniform(random)).sum::<f64>() - 6.0
}

/// A field whose change has a mean of −6 cm and a standard deviation of 4 cm, probed at a square of spots
/// twice with errors of so many centimetres: the change found, and the share of cells whose interval holds
/// the true change.
fn found(seed: u64, spots: usize, error_cm: f64) -> (ChangeMap, f64) {
    let side_m = 40.0 * spots as f64;
    let random = &mut Random::new(seed);
    let (base, fall) = (Surface::new(random, 120.0), Surface::new(random, 150.0));
    let change_cm = |place| -6.0 + 4.0 * fall.at(place);
    let places: Vec<(String, [f64; 2])> = square(spots, 40.0)
        .into_iter()
        .map(|(id, place)| (id, place.map(|m| m + 30.0 * (uniform(random) - 0.5))))
        .collect();
    let mut probed = |day: &str, changed: f64| {
        let probe = |(id, place): &(String, [f64; 2])| {
            let true_cm = 40.0 + 4.0 * base.at(*place) + changed * change_cm(*place);
            (id.clone(), *place, reached(true_cm + error_cm * error(random)))
        };
        let probes: Vec<Probe> = places.iter().map(probe).collect();
        visit(day, None, side_m, &probes, &settings(10.0))
    };
    let (earlier, later) = (probed("2025-04-14", 0.0), probed("2025-08-24", 1.0));
    let within = PairsWithin::usual(&earlier.survey, &later.survey);
    let pairs = pair_spots(&earlier.survey, &later.survey, within);
    let change = change_map(&earlier, &later, &pairs, 0.95).unwrap();
    let grid = change.change_cm.grid;
    let holds = |cell: usize| {
        let (row, column) = (cell / grid.columns(), cell % grid.columns());
        let east_m = grid.easting_m(column) - CORNER.easting_m;
        let true_cm = change_cm([east_m, grid.northing_m(row) - CORNER.northing_m]);
        let off_cm = (change.change_cm.values[cell] - true_cm).abs();
        (!off_cm.is_nan()).then_some(off_cm <= change.half_width_cm.values[cell])
    };
    let held: Vec<bool> = (0..grid.cells()).filter_map(holds).collect();
    let share = held.iter().filter(|&&held| held).count() as f64 / held.len() as f64;
    (change, share)
}

/// Mean share held over so many fields.
fn coverage(fields: u64, spots: usize, error_cm: f64, is_basis: fn(&ChangeBasis) -> bool) -> f64 {
    let share = |seed| {
        let (change, share) = found(seed, spots, error_cm);
        assert!(is_basis(&change.basis), "{:?}", change.basis);
        share
    };
    (1..=fields).map(share).sum::<f64>() / fields as f64
}

/// Cells of one field go together, so shares scatter by some 4 % from field to field; that of the mean of
/// twenty is 1 %.
#[test]
fn kriged_intervals_hold_about_what_they_say() {
    let is_kriged = |basis: &ChangeBasis| matches!(basis, ChangeBasis::KrigedPairs { .. });
    for error_cm in [1.0, 3.0] {
        let share = coverage(20, 10, error_cm, is_kriged);
        assert!((0.92..0.97).contains(&share), "{error_cm}: {share}");
    }
}

/// The error of single probes is in them, so they hold no less.
#[test]
fn intervals_of_left_out_pairs_hold_at_least_about_what_they_say() {
    let is_left_out = |basis: &ChangeBasis| matches!(basis, ChangeBasis::PairsLeftOut { .. });
    let share = coverage(20, 6, 3.0, is_left_out);
    assert!((0.94..1.0).contains(&share), "{share}");
}
