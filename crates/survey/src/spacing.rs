//! How far apart the probes of a survey typically are.

use kdtree::KdTree;
use kdtree::distance::squared_euclidean;

use crate::position::EastNorth;
use crate::quartile::quartile;

/// Which nearest other probe measures the spacing: see [`typical_spacing_m`].
const NEIGHBOUR: usize = 4;

/// Typical spacing of probes in metres: the median, over all probes, of the distance to the
/// fourth-nearest other probe (the farthest one where there are fewer than five probes).
///
/// Inside a square grid that is the side of the grid, and for probes scattered at random it is 1.09
/// times the side of the square that each probe has to itself (Thompson 1956, Ecology 37:391–394,
/// from memory: E\[d₄\] = Γ(4.5) / (Γ(4)·√π) = 1.094 at one probe per unit of area). Unlike the
/// distance to the nearest probe it does not collapse when probes stand in pairs, on and beside a
/// wheel lane for instance.
///
/// Returns 0 for fewer than two probes.
pub fn typical_spacing_m(probes: &[EastNorth]) -> f64 {
    let mut distances = fourth_nearest_m(probes);
    distances.sort_by(f64::total_cmp);
    match distances.is_empty() {
        true => 0.0,
        false => quartile(&distances, 2),
    }
}

/// For each probe the distance to the fourth-nearest other probe, metres; the farthest one where
/// there are fewer than five probes, 0 for a probe that is alone.
pub fn fourth_nearest_m(probes: &[EastNorth]) -> Vec<f64> {
    let tree = tree(probes);
    let farthest = |probe: &EastNorth| {
        let nearest = tree.nearest(&key(*probe), NEIGHBOUR + 1, &squared_euclidean);
        nearest.ok()?.last().map(|(squared, _)| squared.sqrt())
    };
    probes.iter().map(|probe| farthest(probe).unwrap_or(0.0)).collect()
}

/// For each probe the numbers of its nearest others, at most so many, by distance and then number.
pub fn nearest_others(probes: &[EastNorth], count: usize) -> Vec<Vec<usize>> {
    let tree = tree(probes);
    let others = |(index, probe): (usize, &EastNorth)| -> Vec<usize> {
        let found = tree.nearest(&key(*probe), count + 1, &squared_euclidean).unwrap_or_default();
        let mut near: Vec<(f64, usize)> =
            found.into_iter().map(|(squared, &k)| (squared, k)).collect();
        near.retain(|(_, other)| *other != index);
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        near.truncate(count);
        near.into_iter().map(|(_, other)| other).collect()
    };
    probes.iter().enumerate().map(others).collect()
}

/// For each probe, the number of the spot it belongs to: a probe no farther than `within_m` from
/// the first probe of an earlier spot joins the earliest such spot, any other opens a new one.
/// Spots are numbered from 0 in the order of their first probes.
pub fn spots(probes: &[EastNorth], within_m: f64) -> Vec<usize> {
    let tree = tree(probes);
    let mut spot_of: Vec<Option<usize>> = vec![None; probes.len()];
    let mut next = 0;
    for first in 0..probes.len() {
        if spot_of[first].is_some() {
            continue;
        }
        let near = tree.within(&key(probes[first]), within_m * within_m, &squared_euclidean);
        for (_, &member) in near.into_iter().flatten() {
            spot_of[member].get_or_insert(next);
        }
        spot_of[first] = Some(next);
        next += 1;
    }
    spot_of.into_iter().map(|spot| spot.expect("every probe was visited")).collect()
}

fn key(probe: EastNorth) -> [f64; 2] {
    [probe.easting_m, probe.northing_m]
}

fn tree(probes: &[EastNorth]) -> KdTree<f64, usize, [f64; 2]> {
    let mut tree = KdTree::new(2);
    for (index, &probe) in probes.iter().enumerate() {
        tree.add(key(probe), index).expect("projected places are finite");
    }
    tree
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(side: usize, spacing_m: f64) -> Vec<EastNorth> {
        (0..side * side)
            .map(|i| EastNorth {
                easting_m: 5e5 + (i % side) as f64 * spacing_m,
                northing_m: 4.6e6 + (i / side) as f64 * spacing_m,
            })
            .collect()
    }

    #[test]
    fn spacing_of_a_square_grid_is_its_side() {
        assert!((typical_spacing_m(&grid(12, 30.0)) - 30.0).abs() < 1e-9);
    }

    #[test]
    fn probes_in_pairs_do_not_collapse_the_spacing() {
        let mut probes = grid(12, 30.0);
        let pairs: Vec<EastNorth> = probes
            .iter()
            .step_by(5)
            .map(|p| EastNorth { easting_m: p.easting_m + 2.0, ..*p })
            .collect();
        probes.extend(pairs);
        let spacing = typical_spacing_m(&probes);
        assert!((25.0..=31.0).contains(&spacing), "{spacing}");
    }

    #[test]
    fn two_probes_and_one() {
        let two = &grid(2, 7.0)[..2];
        assert!((typical_spacing_m(two) - 7.0).abs() < 1e-9);
        assert!(typical_spacing_m(&two[..1]).abs() < 1e-9);
        assert!(typical_spacing_m(&[]).abs() < 1e-9);
    }

    #[test]
    fn probes_at_one_spot_share_its_number() {
        let mut probes = grid(2, 10.0);
        probes.insert(2, EastNorth { easting_m: probes[0].easting_m + 0.3, ..probes[0] });
        assert_eq!(spots(&probes, 0.5), [0, 1, 0, 2, 3]);
    }
}
