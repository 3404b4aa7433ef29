//! What must hold for any field, spacing and seed.

use geo::{LineString, MultiPolygon, Polygon};
use proptest::prelude::*;
use sampling::{
    DividedGround, Ground, SamplingError, Transects, allot, distance_m, nearest_m, random_places,
    shortest_walk, square_grid, stratified_places, widest_gaps,
};
use survey::EastNorth;

/// A star-shaped field of some corners, with a hole of the same shape in the middle where asked, and a second part
/// to the east.
fn field(radii: &[f64], hole: bool, second: bool, stretch: f64) -> MultiPolygon {
    let ring = |scale: f64, east: f64| -> LineString {
        let count = radii.len() as f64;
        let corner = |(k, radius): (usize, &f64)| {
            let (sin, cos) = (k as f64 / count * std::f64::consts::TAU).sin_cos();
            (500_000.0 + east + stretch * scale * radius * cos, 4_640_000.0 + scale * radius * sin)
        };
        let mut corners: Vec<(f64, f64)> = radii.iter().enumerate().map(corner).collect();
        corners.push(corners[0]);
        corners.into()
    };
    let holes = if hole { vec![ring(0.3, 0.0)] } else { vec![] };
    let mut parts = vec![Polygon::new(ring(1.0, 0.0), holes)];
    if second {
        parts.push(Polygon::new(ring(0.5, 1_000.0 * stretch), vec![]));
    }
    MultiPolygon(parts)
}

fn any_field() -> impl Strategy<Value = MultiPolygon> {
    let radii = prop::collection::vec(60.0..250.0_f64, 5..12);
    let stretch = prop_oneof![Just(1.0), Just(4.0), Just(0.06)];
    (radii, any::<bool>(), any::<bool>(), stretch)
        .prop_map(|(radii, hole, second, stretch)| field(&radii, hole, second, stretch))
}

/// The ground, where the field is wide enough to have some.
fn ground(field: &MultiPolygon, from_edge_m: f64) -> Option<Ground> {
    match Ground::inside(field, from_edge_m) {
        Err(SamplingError::NoGround { .. }) => None,
        ground => Some(ground.expect("no other error is met")),
    }
}

/// By the crate `geo`, which works in another way.
fn stands_well(field: &MultiPolygon, from_edge_m: f64, place: EastNorth) -> bool {
    use geo::{Contains, Distance, Euclidean, Point};
    let point = Point::new(place.easting_m, place.northing_m);
    let rings = field.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
    let edge = rings.map(|ring| Euclidean.distance(&point, ring)).fold(f64::INFINITY, f64::min);
    field.contains(&point) && edge >= from_edge_m - 1e-6
}

fn is_full(error: &SamplingError) -> bool {
    matches!(error, SamplingError::NoRoom { .. })
}

fn is_permutation(order: &[usize]) -> bool {
    let mut sorted = order.to_vec();
    sorted.sort_unstable();
    sorted.iter().enumerate().all(|(k, &number)| k == number)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn every_spot_is_inside_and_off_the_edge(
        field in any_field(),
        from_edge_m in 0.0..12.0_f64,
        heading_deg in 0.0..360.0_f64,
        spacing_m in 15.0..90.0_f64,
        seed in any::<u64>(),
    ) {
        let Some(ground) = ground(&field, from_edge_m) else { return Ok(()) };
        let mut spots = square_grid(&ground, spacing_m, heading_deg).unwrap();
        // A field that its edges leave little of may have no room for as many as these.
        match random_places(&ground, 12, seed, &spots) {
            Ok(found) => spots.extend(found),
            Err(error) => prop_assert!(is_full(&error), "{error}"),
        }
        match widest_gaps(&ground, &spots, 5) {
            Ok(found) => spots.extend(found.places),
            Err(error) => prop_assert!(is_full(&error), "{error}"),
        }
        let transects = Transects { heading_deg, between_m: spacing_m, along_m: 7.0 };
        match transects.spots(&ground) {
            Ok(found) => spots.extend(found.into_iter().map(|(place, _)| place)),
            Err(error) => prop_assert!(
                matches!(error, SamplingError::NoneInside { .. } | SamplingError::TooMany { .. }),
                "{error}"
            ),
        }
        for spot in spots {
            prop_assert!(ground.holds(spot));
            prop_assert!(stands_well(&field, from_edge_m, spot), "{spot:?}");
        }
    }

    #[test]
    fn grid_spacing_is_exact(
        field in any_field(),
        heading_deg in 0.0..360.0_f64,
        spacing_m in 20.0..60.0_f64,
    ) {
        let ground = Ground::inside(&field, 0.0).unwrap();
        let spots = square_grid(&ground, spacing_m, heading_deg).unwrap();
        let (sin, cos) = heading_deg.to_radians().sin_cos();
        for spot in &spots {
            let (east, north) =
                (spot.easting_m - spots[0].easting_m, spot.northing_m - spots[0].northing_m);
            for length in [east * cos - north * sin, east * sin + north * cos] {
                let steps = length / spacing_m;
                prop_assert!((steps - steps.round()).abs() * spacing_m < 1e-6, "{steps}");
            }
        }
        let others = |k: usize| spots.iter().enumerate().filter(move |(j, _)| *j != k);
        for (k, &spot) in spots.iter().enumerate() {
            let others: Vec<EastNorth> = others(k).map(|(_, &other)| other).collect();
            prop_assert!(nearest_m(spot, &others) > spacing_m - 1e-6);
        }
    }

    #[test]
    fn an_allotment_adds_up_and_keeps_the_least(
        areas in prop::collection::vec(0.001..1.0_f64, 1..9),
        least in 0_usize..6,
        more in 0_usize..200,
    ) {
        let count = areas.len() * least + more;
        let numbers = allot(count, &areas, least).unwrap();
        prop_assert_eq!(numbers.iter().sum::<usize>(), count);
        prop_assert!(numbers.iter().all(|&number| number >= least));
        // A larger stratum never gets fewer, but for the one that a remainder decides.
        for (a, one) in areas.iter().zip(&numbers) {
            for (b, other) in areas.iter().zip(&numbers) {
                prop_assert!(a <= b || one + 1 >= *other, "{areas:?} {numbers:?}");
            }
        }
    }

    #[test]
    fn strata_get_the_spots_that_are_theirs(
        field in any_field(),
        seed in any::<u64>(),
        count in 8_usize..40,
    ) {
        let ground = Ground::inside(&field, 1.0);
        let Ok(ground) = ground else { return Ok(()) };
        let west = geo::Rect::new((0.0, 0.0), (500_000.0, 9_000_000.0)).to_polygon();
        let divided = DividedGround::new(&[("west".into(), MultiPolygon(vec![west]))], "rest");
        let spots = match stratified_places(&ground, &divided, count, 2, seed, &[]) {
            Err(error) if is_full(&error) => return Ok(()),
            spots => spots.unwrap(),
        };
        prop_assert_eq!(spots.len(), count);
        for (place, name) in &spots {
            prop_assert!(ground.holds(*place));
            prop_assert_eq!(name.as_str(), if place.easting_m < 500_000.0 { "west" } else { "rest" });
        }
        let again = stratified_places(&ground, &divided, count, 2, seed, &[]).unwrap();
        prop_assert_eq!(spots, again, "the same seed gives the same spots");
    }

    #[test]
    fn a_walk_meets_every_spot_once_and_is_never_longer_than_the_plain_one(
        places in prop::collection::vec((0.0..900.0_f64, 0.0..400.0_f64), 0..70),
        start in (0.0..900.0_f64, 0.0..400.0_f64),
    ) {
        let place = |&(easting_m, northing_m): &(f64, f64)| EastNorth { easting_m, northing_m };
        let spots: Vec<EastNorth> = places.iter().map(place).collect();
        let walk = shortest_walk(place(&start), &spots);
        prop_assert_eq!(walk.order.len(), spots.len());
        prop_assert!(is_permutation(&walk.order));
        prop_assert!(walk.length_m <= walk.plain_m + 1e-9);
        let mut here = place(&start);
        let mut length_m = 0.0;
        for &number in &walk.order {
            length_m += distance_m(here, spots[number]);
            here = spots[number];
        }
        prop_assert!((length_m - walk.length_m).abs() < 1e-6);
    }

    #[test]
    fn each_spot_in_a_gap_narrows_what_is_left(field in any_field(), seed in any::<u64>()) {
        let Some(ground) = ground(&field, 2.0) else { return Ok(()) };
        let there = match random_places(&ground, 5, seed, &[]) {
            Err(error) if is_full(&error) => return Ok(()),
            there => there.unwrap(),
        };
        let mut last = f64::INFINITY;
        for count in 0..8 {
            let gaps = match widest_gaps(&ground, &there, count) {
                Err(error) if is_full(&error) => return Ok(()),
                gaps => gaps.unwrap(),
            };
            prop_assert!(gaps.after_m <= gaps.before_m && gaps.after_m <= last);
            last = gaps.after_m;
        }
    }
}
