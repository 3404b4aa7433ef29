//! A short walk past all spots, from a place where it starts: to one of the spots near it, then always to the nearest
//! one left, and that improved as long as turning a stretch around (2-opt) or moving up to three spots elsewhere
//! (or-opt) makes it shorter. Both: Croes (1958), Operations Research 6:791–812, and Or (1976), from memory.
//!
//! Distances are straight lines: ditches, fences and holes of the field are not gone around.

use survey::EastNorth;

use crate::distance::distance_m;

/// A change must save more than this, metres, so that rounding never goes round in circles.
const LEAST_SAVED_M: f64 = 1e-7;

/// Spots that are moved together, at most.
const MOVED: usize = 3;

/// Spots near the start that are tried as the first, and the most spots with which they all are.
const FIRST_TRIED: usize = 8;
const SPOTS_TRIED: usize = 400;

/// A walk past some spots.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    /// Where it starts.
    pub start: EastNorth,
    /// The numbers of the spots in the order of the walk.
    pub order: Vec<usize>,
    /// Length from the start to the last spot, metres.
    pub length_m: f64,
    /// From the last spot straight back to the start, metres.
    pub back_m: f64,
    /// Length in the order that the spots were placed in, metres.
    pub plain_m: f64,
}

/// A short walk from a place past all spots; never longer than in the order that they come in.
pub fn shortest_walk(start: EastNorth, spots: &[EastNorth]) -> Walk {
    // Number 0 is the start, and stays first.
    let places: Vec<EastNorth> = [start].into_iter().chain(spots.iter().copied()).collect();
    let plain: Vec<usize> = (0..places.len()).collect();
    let plain_m = length(&places, &plain);
    let tour = |mut order: Vec<usize>| {
        improve(&places, &mut order);
        (length(&places, &order), order)
    };
    let mut best = tour(plain);
    for first in firsts(&places) {
        let found = tour(nearest_first(&places, first));
        if found.0 < best.0 {
            best = found;
        }
    }
    let (length_m, order) = best;
    let back_m = distance_m(places[order[order.len() - 1]], start);
    let order = order[1..].iter().map(|number| number - 1).collect();
    Walk { start, order, length_m, back_m, plain_m }
}

fn length(places: &[EastNorth], order: &[usize]) -> f64 {
    order.windows(2).map(|pair| distance_m(places[pair[0]], places[pair[1]])).sum()
}

/// The spots that are tried as the first of the walk, the nearest to the start first.
fn firsts(places: &[EastNorth]) -> Vec<usize> {
    let mut near: Vec<usize> = (1..places.len()).collect();
    let away = |k: usize| distance_m(places[0], places[k]);
    near.sort_by(|&a, &b| away(a).total_cmp(&away(b)).then(a.cmp(&b)));
    near.truncate(if places.len() <= SPOTS_TRIED { FIRST_TRIED } else { 1 });
    near
}

/// From the start to a spot, then always on to the nearest place left, of equals the first.
fn nearest_first(places: &[EastNorth], first: usize) -> Vec<usize> {
    let mut order = vec![0, first];
    let mut left: Vec<usize> = (1..places.len()).filter(|&k| k != first).collect();
    while let Some((at, _)) = {
        let here = places[order[order.len() - 1]];
        let away = left.iter().enumerate().map(|(at, &n)| (at, distance_m(here, places[n])));
        away.min_by(|a, b| a.1.total_cmp(&b.1))
    } {
        order.push(left.remove(at));
    }
    order
}

fn improve(places: &[EastNorth], order: &mut Vec<usize>) {
    loop {
        let turned = turn_stretches(places, order);
        let moved = move_spots(places, order);
        if !turned && !moved {
            return;
        }
    }
}

/// Turns stretches around that are shorter the other way.
fn turn_stretches(places: &[EastNorth], order: &mut [usize]) -> bool {
    let count = order.len();
    let mut any = false;
    for first in 1..count {
        for last in first + 1..count {
            let at = |k: usize| places[order[k]];
            let mut saved =
                distance_m(at(first - 1), at(first)) - distance_m(at(first - 1), at(last));
            if last + 1 < count {
                saved += distance_m(at(last), at(last + 1)) - distance_m(at(first), at(last + 1));
            }
            if saved > LEAST_SAVED_M {
                order[first..=last].reverse();
                any = true;
            }
        }
    }
    any
}

/// Moves one to three spots to where they lengthen the walk less, either way round.
fn move_spots(places: &[EastNorth], order: &mut Vec<usize>) -> bool {
    let mut any = false;
    for size in 1..=MOVED {
        let mut first = 1;
        while first + size <= order.len() {
            if let Some((to, turned)) = better_place(places, order, first, size) {
                let mut moved: Vec<usize> = order.drain(first..first + size).collect();
                if turned {
                    moved.reverse();
                }
                // Counted in what is left.
                order.splice(to..to, moved);
                any = true;
            }
            first += 1;
        }
    }
    any
}

/// Where a stretch is better put, in the order without it, and whether turned around.
fn better_place(
    places: &[EastNorth],
    order: &[usize],
    first: usize,
    size: usize,
) -> Option<(usize, bool)> {
    let away = |a: usize, b: usize| distance_m(places[a], places[b]);
    let (head, tail) = (order[first], order[first + size - 1]);
    let (before, after) = (order[first - 1], order.get(first + size).copied());
    let saved =
        away(before, head) + after.map_or(0.0, |after| away(tail, after) - away(before, after));
    let rest = |k: usize| if k < first { order[k] } else { order[k + size] };
    let left = order.len() - size;
    let mut best: Option<(f64, usize, bool)> = None;
    for to in 1..=left {
        let from = rest(to - 1);
        let next = (to < left).then(|| rest(to));
        for (turned, start, end) in [(false, head, tail), (true, tail, head)] {
            let added =
                away(from, start) + next.map_or(0.0, |next| away(end, next) - away(from, next));
            let gain = saved - added;
            if gain > best.map_or(LEAST_SAVED_M, |(most, ..)| most) {
                best = Some((gain, to, turned));
            }
        }
    }
    best.map(|(_, to, turned)| (to, turned))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(easting_m: f64, northing_m: f64) -> EastNorth {
        EastNorth { easting_m, northing_m }
    }

    #[test]
    fn a_grid_is_walked_to_and_fro() {
        // Row by row from the west each time: 3 rows of 4 steps and 2 ways back of √(40² + 10²).
        let spots: Vec<EastNorth> =
            (0..15).map(|k| place(10.0 * f64::from(k % 5), 10.0 * f64::from(k / 5))).collect();
        let walk = shortest_walk(place(0.0, 0.0), &spots);
        assert_eq!(walk.length_m, 140.0, "no step longer than the grid");
        assert!((walk.plain_m - (120.0 + 2.0 * 1_700.0_f64.sqrt())).abs() < 1e-9);
        assert_eq!(walk.order[0], 0, "the start is at the first spot");
    }

    #[test]
    fn stretches_that_cross_are_turned() {
        let places = [place(0.0, 0.0), place(10.0, 10.0), place(10.0, 0.0), place(0.0, 10.0)];
        let mut order = vec![0, 1, 2, 3];
        assert!(turn_stretches(&places, &mut order));
        assert_eq!(length(&places, &order), 30.0);
    }

    #[test]
    fn a_spot_out_of_its_place_is_moved() {
        let places: Vec<EastNorth> = (0..8).map(|k| place(f64::from(k), 0.0)).collect();
        let mut order = vec![0, 1, 5, 2, 3, 4, 6, 7];
        assert!(move_spots(&places, &mut order));
        assert_eq!(length(&places, &order), 7.0);
    }

    #[test]
    fn one_spot_or_none_is_a_walk_too() {
        let one = shortest_walk(place(0.0, 0.0), &[place(3.0, 4.0)]);
        assert_eq!((one.order.as_slice(), one.length_m, one.back_m), (&[0][..], 5.0, 5.0));
        let none = shortest_walk(place(0.0, 0.0), &[]);
        assert_eq!((none.order.len(), none.length_m, none.back_m), (0, 0.0, 0.0));
    }

    #[test]
    fn the_walk_of_six_spots_is_nearly_always_the_best_of_all() {
        let mut random = statistics::Random::new(5);
        let mut best_of = 0;
        for _ in 0..40 {
            let mut number = || (random.next_u64() % 1_000) as f64;
            let spots: Vec<EastNorth> = (0..6).map(|_| place(number(), number())).collect();
            let start = place(number(), number());
            let found = shortest_walk(start, &spots).length_m;
            let best = best_of_all(start, &spots);
            assert!(found <= best * 1.1 + 1e-9, "{found} {best}");
            best_of += usize::from(found <= best + 1e-6);
        }
        assert!(best_of >= 36, "{best_of} of 40");
    }

    /// By trying every order.
    fn best_of_all(here: EastNorth, left: &[EastNorth]) -> f64 {
        let on = |(k, &next): (usize, &EastNorth)| {
            let mut rest = left.to_vec();
            rest.remove(k);
            distance_m(here, next) + best_of_all(next, &rest)
        };
        let lengths = left.iter().enumerate().map(on);
        if left.is_empty() { 0.0 } else { lengths.fold(f64::INFINITY, f64::min) }
    }
}
