//! A plan made by hand that has everything that files lose: holes, an island in a hole, ground in several
//! pieces, a check strip, three operations, and names that no format likes.

use geo::orient::Direction;
use geo::{Coord, LineString, MultiPolygon, Orient, Polygon};
use plan::{Dose, MassRate, Operation, OperationKind, Part, Plan, VolumeRate};
use survey::{Depth, EastNorth, LonLat, SurveyError, UnitSystem, Utm};

/// Names as they come, and what TASKDATA must make of them.
pub const NAMES: [(&str, &str); 8] = [
    ("Nørth \"Bench\" <2> & Söhne's\tfield", "Nørth \"Bench\" <2> & Söhne's fiel"),
    ("Farm\u{202e}\u{0} ]]>", "Farm ]]>"),
    ("  Groß & Töchter\r\nGbR  ", "Groß & Töchter GbR"),
    ("Gypsum, 94 % – \u{1f33e} a very, very long name", "Gypsum, 94 % – \u{1f33e} a very, very lo"),
    ("Z1", "Z1"),
    ("Zone with a name far beyond the thirty-two", "Zone with a name far beyond the"),
    ("Zone with a name far beyond the thirty-three", "Zone with a name far beyond th 2"),
    ("\u{7}\u{200f}", "Zone"),
];

/// The plan: a field near 41.5° N, 95.4° W.
pub fn sample_plan() -> Result<Plan, SurveyError> {
    let utm = Utm::for_place(LonLat { lon_deg: -95.4, lat_deg: 41.5 })?;
    let origin = utm.project(LonLat { lon_deg: -95.4, lat_deg: 41.5 })?;
    let shape = |outer: &[[f64; 2]], holes: &[&[[f64; 2]]]| {
        Polygon::new(ring(origin, outer), holes.iter().map(|hole| ring(origin, hole)).collect())
    };
    let part = |id: &str, polygons: Vec<Polygon>, check_strip, doses: [Option<Dose>; 3]| {
        let polygons = MultiPolygon::new(polygons).orient(Direction::Default);
        Part {
            id: id.into(),
            zone_id: id.into(),
            class_no: 1,
            class_name: "3–6 in".into(),
            check_strip,
            action: "see the doses".into(),
            ground_area_m2: utm.ground_area_m2(&polygons),
            polygons,
            doses: doses.to_vec(),
            few_probes: false,
        }
    };
    // Beside the check strip, around a pond and around the second zone.
    let west = shape(&[[0.0, 0.0], [20.0, 0.0], [20.0, 150.0], [0.0, 150.0]], &[]);
    let east = shape(
        &[[30.0, 0.0], [200.0, 0.0], [200.0, 150.0], [30.0, 150.0]],
        &[
            &[[60.0, 40.0], [140.0, 40.0], [140.0, 110.0], [60.0, 110.0]],
            &[[160.0, 20.0], [185.0, 20.0], [172.0, 45.0]],
        ],
    );
    let around_island = shape(
        &[[60.0, 40.0], [140.0, 40.0], [140.0, 110.0], [60.0, 110.0]],
        &[&[[90.0, 60.0], [115.0, 60.0], [115.0, 90.0], [90.0, 90.0]]],
    );
    let island = shape(&[[90.0, 60.0], [115.0, 60.0], [115.0, 90.0], [90.0, 90.0]], &[]);
    let beyond_the_road = shape(&[[220.0, 0.0], [300.0, 10.0], [250.0, 90.0]], &[]);
    let strip = shape(&[[20.0, 0.0], [30.0, 0.0], [30.0, 150.0], [20.0, 150.0]], &[]);
    let depth = |cm| Some(Dose::Depth(Depth::from_cm(cm)));
    let mass = |kg_per_ha| Some(Dose::Mass(MassRate::from_kg_per_ha(kg_per_ha)));
    let volume = |l_per_ha| Some(Dose::Volume(VolumeRate::from_l_per_ha(l_per_ha)));
    let parts = vec![
        part(NAMES[4].0, vec![west, east], None, [depth(35.56), mass(1_500.0), volume(250.5)]),
        part(NAMES[5].0, vec![around_island], None, [depth(25.4), None, volume(93.539_58)]),
        part(NAMES[6].0, vec![island], None, [None, mass(2_241.702_3), volume(180.0)]),
        part(NAMES[7].0, vec![beyond_the_road], None, [depth(30.05), mass(250.505), None]),
        part("Z1 check 1", vec![strip], Some(1), [None, None, None]),
    ];
    Ok(Plan {
        name: "A plan for readers".into(),
        field_name: NAMES[0].0.into(),
        farm: Some(NAMES[1].0.into()),
        grower: Some(NAMES[2].0.into()),
        utm,
        units: UnitSystem::Us,
        visit: None,
        operations: operations(),
        parts,
        swath_m: Some(5.0),
        heading_deg: Some(36.9),
        stamps: vec!["RATES NOT BACKED BY A SOIL TEST".into()],
        warnings: Vec::new(),
        stop_rules: vec!["Stop where the soil smears.".into()],
        hazards: vec!["Gas line along the road.".into()],
        workings: Vec::new(),
        cautions: Vec::new(),
        check_strips: None,
    })
}

fn operations() -> Vec<Operation> {
    let operation = |slug: &str, name: &str, kind, out_of_field, signal_lost| Operation {
        slug: slug.into(),
        name: name.into(),
        kind,
        basis: None,
        treated_m2: 0.0,
        total: None,
        hopper: None,
        fills: None,
        cost: None,
        out_of_field,
        signal_lost,
    };
    let depth = |cm| Dose::Depth(Depth::from_cm(cm));
    let mass = |kg_per_ha| Dose::Mass(MassRate::from_kg_per_ha(kg_per_ha));
    let volume = |l_per_ha| Dose::Volume(VolumeRate::from_l_per_ha(l_per_ha));
    vec![
        operation("loosen", "Loosen", OperationKind::Loosen, depth(0.0), depth(25.4)),
        operation(
            "gypsum",
            "Spread gypsum & lime \u{202e}",
            OperationKind::AmendMass { product: NAMES[3].0.into() },
            mass(0.0),
            mass(0.0),
        ),
        operation(
            "slurry",
            "",
            OperationKind::AmendVolume { product: "Slurry <6 % dry matter>".into() },
            volume(0.0),
            volume(50.0),
        ),
    ]
}

/// A closed ring turned by the angle of a 3-4-5 triangle, so that nothing lies along a meridian.
fn ring(origin: EastNorth, corners: &[[f64; 2]]) -> LineString {
    let turned = |&[across_m, along_m]: &[f64; 2]| Coord {
        x: (origin.easting_m + 0.8 * across_m - 0.6 * along_m).round(),
        y: (origin.northing_m + 0.6 * across_m + 0.8 * along_m).round(),
    };
    corners.iter().chain(&corners[..1]).map(turned).collect()
}
