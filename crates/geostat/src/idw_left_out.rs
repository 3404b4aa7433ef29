//! Inverse-distance estimates of several left-out samples at a time, for several powers at once.
//!
//! Powers at equal steps need one power and then a product for each step. The estimates differ
//! from those of a map by the rounding of these products, some units in the last place.

use pulp::{Arch, Simd, WithSimd};

use crate::blocks::MOST_LANES;
use crate::neighbours::Neighbour;
use crate::power::Power;
use crate::sample::Samples;
use crate::spatial_bins::squared;

/// The samples that estimate each of [`MOST_LANES`] left-out samples: for each the square of its
/// distance, infinite where a lane has fewer, and its value.
#[derive(Default)]
pub(crate) struct LeftOut {
    squares: Vec<[f64; MOST_LANES]>,
    values: Vec<[f64; MOST_LANES]>,
}

impl LeftOut {
    /// Makes room for other samples.
    pub fn clear(&mut self) {
        self.squares.clear();
        self.values.clear();
    }

    /// Takes for each lane all samples but its own, from the `first` on. `places` are those of the
    /// samples, stretched where the index is.
    pub fn set_everything(&mut self, samples: &Samples, places: &[[f64; 2]], first: usize) {
        let lanes: [usize; MOST_LANES] =
            std::array::from_fn(|lane| (first + lane).min(places.len() - 1));
        let own = lanes.map(|number| places[number]);
        self.squares.clear();
        self.squares.extend(places.iter().map(|&place| own.map(|own| squared(own, place))));
        for (lane, number) in lanes.into_iter().enumerate() {
            self.squares[number][lane] = f64::INFINITY;
        }
        if self.values.len() != places.len() {
            self.values =
                samples.as_slice().iter().map(|sample| [sample.value; MOST_LANES]).collect();
        }
    }

    /// Square of the distance of a lane's nearest sample; infinite where there is none.
    pub fn least_m2(&self, lane: usize) -> f64 {
        self.squares.iter().map(|squares| squares[lane]).fold(f64::INFINITY, f64::min)
    }

    /// Adds the square of a smoothing length to all squares.
    pub fn smooth(&mut self, smoothing_m2: f64) {
        if smoothing_m2 > 0.0 {
            self.squares.iter_mut().flatten().for_each(|square| *square += smoothing_m2);
        }
    }

    /// Sets the neighbours of a lane.
    pub fn set(&mut self, lane: usize, samples: &Samples, found: &[Neighbour]) {
        if self.squares.len() < found.len() {
            self.squares.resize(found.len(), [f64::INFINITY; MOST_LANES]);
            self.values.resize(found.len(), [0.0; MOST_LANES]);
        }
        for (number, neighbour) in found.iter().enumerate() {
            self.squares[number][lane] = neighbour.squared_m2;
            self.values[number][lane] = samples.as_slice()[neighbour.index].value;
        }
    }

    /// Estimates by each power of each lane; what a lane without samples gets means nothing.
    pub fn estimates(&self, powers: &[Power]) -> Vec<[f64; MOST_LANES]> {
        let mut estimates = vec![[0.0; MOST_LANES]; powers.len()];
        let step = equal_step(powers);
        let room = &mut vec![0.0; 2 * powers.len() * MOST_LANES];
        for first in (0..MOST_LANES).step_by(Arch::new().dispatch(CountLanes)) {
            let of = self;
            Arch::new().dispatch(Estimates { of, first, powers, step, room, to: &mut estimates });
        }
        estimates
    }
}

/// The step between powers, if it is the same between all.
fn equal_step(powers: &[Power]) -> Option<Power> {
    let quarters = |power: &Power| match power {
        Power::Quarters(quarters) => Some(*quarters),
        Power::Any(_) => None,
    };
    let all: Vec<u8> = powers.iter().map(quarters).collect::<Option<_>>()?;
    let step = all.get(1)?.checked_sub(all[0])?;
    all.windows(2)
        .all(|pair| pair[0].checked_add(step) == Some(pair[1]))
        .then_some(Power::Quarters(step))
}

/// How many numbers the vector unit holds.
struct CountLanes;

impl WithSimd for CountLanes {
    type Output = usize;

    fn with_simd<S: Simd>(self, _: S) -> usize {
        S::F64_LANES
    }
}

/// The estimates of as many lanes as the vector unit holds, from the `first`.
struct Estimates<'a> {
    of: &'a LeftOut,
    first: usize,
    powers: &'a [Power],
    step: Option<Power>,
    room: &'a mut [f64],
    to: &'a mut [[f64; MOST_LANES]],
}

impl WithSimd for Estimates<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Estimates { of, first, powers, step, room, to } = self;
        let lanes = first..first + S::F64_LANES;
        let load = |each: &[f64; MOST_LANES]| simd.partial_load_f64s(&each[lanes.clone()]);
        let infinite = simd.splat_f64s(f64::INFINITY);
        let least =
            of.squares.iter().fold(infinite, |least, squares| simd.min_f64s(load(squares), least));
        let Some(origin) = of.values.first().map(load) else { return };
        room.fill(0.0);
        let (sums, rest) = S::as_mut_simd_f64s(room).0.split_at_mut(powers.len());
        let weights = &mut rest[..powers.len()];
        for (squares, value) in of.squares.iter().zip(&of.values) {
            let ratios = simd.div_f64s(least, load(squares));
            let difference = simd.sub_f64s(load(value), origin);
            let factor = step.map(|step| step.of_ratios(simd, ratios));
            let mut weight = powers[0].of_ratios(simd, ratios);
            let totals = sums.iter_mut().zip(weights.iter_mut());
            for (number, (sum, weights)) in totals.enumerate() {
                if number > 0 {
                    weight = match factor {
                        Some(factor) => simd.mul_f64s(weight, factor),
                        None => powers[number].of_ratios(simd, ratios),
                    };
                }
                *weights = simd.add_f64s(*weights, weight);
                *sum = simd.add_f64s(*sum, simd.mul_f64s(weight, difference));
            }
        }
        for ((to, &sum), &weights) in to.iter_mut().zip(&*sums).zip(&*weights) {
            let estimate = simd.add_f64s(origin, simd.div_f64s(sum, weights));
            simd.partial_store_f64s(&mut to[lanes.clone()], estimate);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lane_counts::LaneCount;

    #[test]
    fn any_number_of_lanes_gives_the_same_bits() {
        let square = |k: u32, lane: u32| f64::from(1 + (k * 37 + lane * 11) % 41) * 0.7;
        let value = |k: u32, lane: u32| f64::from((k * k + lane) % 19);
        let lanes_of = |of: &dyn Fn(u32, u32) -> f64, k| std::array::from_fn(|l| of(k, l as u32));
        let of = LeftOut {
            squares: (0..30).map(|k| lanes_of(&square, k)).collect(),
            values: (0..30).map(|k| lanes_of(&value, k)).collect(),
        };
        for powers in [&[1.0, 1.5, 2.0][..], &[1.0, 1.25, 3.0], &[0.7, 1.9], &[2.0]] {
            let powers: Vec<Power> =
                powers.iter().map(|&power| Power::new(power).unwrap()).collect();
            let estimates = LaneCount::each(|lanes| {
                let mut to = vec![[0.0; MOST_LANES]; powers.len()];
                let room = &mut vec![0.0; 2 * powers.len() * MOST_LANES];
                let (of, powers, step) = (&of, &powers[..], equal_step(&powers));
                for first in (0..MOST_LANES).step_by(lanes.dispatch(CountLanes)) {
                    lanes.dispatch(Estimates { of, first, powers, step, room, to: &mut to });
                }
                to.as_flattened().iter().map(|estimate| estimate.to_bits()).collect::<Vec<_>>()
            });
            let ours = of.estimates(&powers);
            assert!(ours.as_flattened().iter().map(|e| e.to_bits()).eq(estimates));
        }
    }
}
