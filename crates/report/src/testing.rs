//! Made-up surveys for the tests.

use geo::{MultiPolygon, Polygon};
use mapping::{DepthClasses, DepthMap, MapSettings, MethodChoice, map_survey};
use survey::{
    Boundary, CheckSettings, CheckedSurvey, Depth, EastNorth, Insertion, LonLat, Measured, Outcome,
    Survey, UnitSystem, Utm, check,
};

use resvg::usvg;

use crate::fonts;
use crate::page::MapPage;

/// A survey with its map.
pub(crate) struct Sample {
    pub survey: CheckedSurvey,
    pub map: DepthMap,
}

impl Sample {
    pub fn page<'a>(&'a self, title: &'a str) -> MapPage<'a> {
        MapPage { title, survey: &self.survey, map: &self.map }
    }
}

/// South-west corner of all made-up fields.
const CORNER: EastNorth = EastNorth { easting_m: 450_000.0, northing_m: 4_640_000.0 };

fn utm() -> Utm {
    Utm::for_place(LonLat { lon_deg: -95.6, lat_deg: 41.9 }).unwrap()
}

fn place(east_m: f64, north_m: f64) -> LonLat {
    utm().unproject(EastNorth {
        easting_m: CORNER.easting_m + east_m,
        northing_m: CORNER.northing_m + north_m,
    })
}

fn rectangle(width_m: f64, height_m: f64) -> Boundary {
    let corners = [(0.0, 0.0), (width_m, 0.0), (width_m, height_m), (0.0, height_m), (0.0, 0.0)];
    let ring: Vec<geo::Coord> = corners.map(|(e, n)| place(e, n).into()).to_vec();
    Boundary { name: None, polygons: MultiPolygon(vec![Polygon::new(ring.into(), vec![])]) }
}

/// What to make up.
struct Recipe {
    width_m: f64,
    height_m: f64,
    spacing_m: f64,
    boundary: bool,
    units: UnitSystem,
    dated: bool,
    cell_m: Option<f64>,
    method: MethodChoice,
    /// Depth read at a place, inches; `None` is a stone.
    depth: fn(usize, f64, f64) -> Option<f64>,
}

const PLAIN: Recipe = Recipe {
    width_m: 800.0,
    height_m: 400.0,
    spacing_m: 60.0,
    boundary: true,
    units: UnitSystem::Us,
    dated: true,
    cell_m: Some(5.0),
    method: MethodChoice::InverseDistance,
    depth: |k, east_m, north_m| {
        let depth_in = 10.0 + 9.0 * (east_m / 150.0).sin() + 5.0 * (north_m / 120.0).cos();
        (k % 29 != 7).then(|| (depth_in / 3.0).round().max(0.0) * 3.0)
    },
};

/// Readings deeper than this were "not reached".
const ROD_IN: f64 = 18.0;

fn make(recipe: &Recipe) -> Sample {
    let (columns, rows) = (
        (recipe.width_m / recipe.spacing_m) as usize,
        (recipe.height_m / recipe.spacing_m) as usize,
    );
    let insertions: Vec<Insertion> = (0..columns * rows)
        .map(|k| {
            let at = |n: usize| (n as f64 + 0.6) * recipe.spacing_m;
            let (east_m, north_m) = (at(k % columns), at(k / columns));
            let outcome = match (recipe.depth)(k, east_m, north_m) {
                None => Outcome::Refused,
                Some(depth_in) if depth_in >= ROD_IN => {
                    Outcome::NotReached { probed_to: Depth::from_in(ROD_IN) }
                }
                Some(depth_in) => Outcome::Reached(Depth::from_in(depth_in)),
            };
            Insertion {
                date: recipe.dated.then(|| "2025-04-14".parse().unwrap()),
                moisture_pct: recipe.dated.then_some(24.0 + (k % 9) as f64),
                ..Insertion::at(k + 1, place(east_m, north_m), Measured::Once(outcome))
            }
        })
        .collect();
    let survey = Survey { features: insertions.len(), insertions, ..Survey::default() };
    let boundary = recipe.boundary.then(|| rectangle(recipe.width_m, recipe.height_m));
    let threshold = match recipe.units {
        UnitSystem::Us => "200psi",
        UnitSystem::Si => "1379kPa",
    };
    let settings =
        CheckSettings { threshold: Some(threshold.parse().unwrap()), ..CheckSettings::default() };
    let survey = check(&survey, boundary.as_ref(), &settings).unwrap();
    let settings = MapSettings {
        classes: DepthClasses::rod_marks(recipe.units),
        cell_m: recipe.cell_m,
        method: recipe.method,
        realisations: 20,
        ..MapSettings::new(recipe.units)
    };
    let map = map_survey(&survey, &settings).unwrap();
    Sample { survey, map }
}

pub(crate) fn wide() -> Sample {
    make(&PLAIN)
}

pub(crate) fn very_wide() -> Sample {
    make(&Recipe { width_m: 1_200.0, height_m: 260.0, ..PLAIN })
}

pub(crate) fn tall() -> Sample {
    make(&Recipe { width_m: 300.0, height_m: 900.0, ..PLAIN })
}

/// Kriged maps, with intervals of their classes' ground: a wide field, a very wide one, a tall one and
/// one about as wide as high, which leaves least beside the map.
pub(crate) fn kriged() -> [Sample; 4] {
    [(800.0, 400.0), (1_200.0, 260.0), (300.0, 900.0), (510.0, 460.0)].map(|(width_m, height_m)| {
        let (spacing_m, method) = (52.0, MethodChoice::Kriging);
        make(&Recipe { width_m, height_m, spacing_m, method, ..PLAIN })
    })
}

/// Four probes, nothing else recorded.
pub(crate) fn tiny() -> Sample {
    make(&Recipe {
        width_m: 24.0,
        height_m: 20.0,
        spacing_m: 10.0,
        dated: false,
        cell_m: None,
        ..PLAIN
    })
}

pub(crate) fn without_boundary() -> Sample {
    make(&Recipe { boundary: false, ..PLAIN })
}

pub(crate) fn si() -> Sample {
    make(&Recipe { units: UnitSystem::Si, ..PLAIN })
}

/// No probe in the eastern half.
pub(crate) fn with_gap() -> Sample {
    make(&Recipe { depth: |_, east_m, _| (east_m < 350.0).then_some(9.0), ..PLAIN })
}

/// More cells across than the surface's picture has pixels.
pub(crate) fn fine() -> Sample {
    make(&Recipe { cell_m: Some(0.9), ..PLAIN })
}

/// Neighbours tell nothing: a chessboard.
pub(crate) fn noise() -> Sample {
    make(&Recipe {
        depth: |_, east_m, north_m| {
            let tile = |m: f64| (m / 60.0) as usize;
            Some(if (tile(east_m) + tile(north_m)).is_multiple_of(2) { 3.0 } else { 15.0 })
        },
        ..PLAIN
    })
}

/// The same depth everywhere.
pub(crate) fn equal() -> Sample {
    make(&Recipe { depth: |_, _, _| Some(6.0), ..PLAIN })
}

/// A pixel of the page in the middle of the eastern half of [`with_gap`]'s map, clear of the marks
/// and the graticule: the map's frame is found by drawing what is there and nothing else.
pub(crate) fn pixel_of_gap(page: &MapPage) -> (u32, u32) {
    let svg = crate::map_svg(page);
    let clip = svg.split("field-on-map\"><path d=\"").nth(1).unwrap();
    let path = clip.split('"').next().unwrap();
    let numbers: Vec<f64> = path
        .split(|c: char| c.is_ascii_alphabetic() || c == ' ')
        .filter_map(|number| number.parse().ok())
        .collect();
    let (xs, ys): (Vec<f64>, Vec<f64>) = numbers.chunks(2).map(|pair| (pair[0], pair[1])).unzip();
    let ends = |values: &[f64]| {
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        (low, values.iter().copied().fold(0.0, f64::max))
    };
    let ((left, right), (top, bottom)) = (ends(&xs), ends(&ys));
    // Between two rows of probes: they stand 60 m apart in 400 m.
    let row = bottom - (bottom - top) * (0.6 + 2.5) * 60.0 / 400.0;
    ((left + (right - left) * 0.8) as u32, row as u32)
}

/// A page as resvg sees it.
pub(crate) fn tree(svg: &str) -> usvg::Tree {
    let options = usvg::Options { fontdb: fonts::database(), dpi: 200.0, ..Default::default() };
    usvg::Tree::from_str(svg, &options).unwrap()
}

/// Every line of text of a page, with the box around its letters.
pub(crate) fn texts(svg: &str) -> Vec<(String, usvg::Rect)> {
    fn collect(group: &usvg::Group, found: &mut Vec<(String, usvg::Rect)>) {
        for node in group.children() {
            match node {
                usvg::Node::Group(inner) => collect(inner, found),
                usvg::Node::Text(text) => {
                    let words = text.chunks().iter().map(usvg::TextChunk::text).collect();
                    let letters = text.flattened().bounding_box();
                    found.push((words, letters.transform(text.abs_transform()).unwrap()));
                }
                _ => {}
            }
        }
    }
    let mut found = Vec::new();
    collect(tree(svg).root(), &mut found);
    found
}

/// All text of a page in one line.
pub(crate) fn joined(svg: &str) -> String {
    texts(svg).into_iter().map(|(words, _)| words).collect::<Vec<_>>().join(" ")
}

/// Fails where anything that is drawn leaves the page.
pub(crate) fn assert_on_page(svg: &str) {
    let drawn = tree(svg).root().abs_bounding_box();
    assert!(drawn.left() >= 0.0 && drawn.right() <= 2200.0, "{drawn:?}");
    assert!(drawn.top() >= 0.0 && drawn.bottom() <= 1700.0, "{drawn:?}");
}

/// Fails where text covers other text or leaves the page.
pub(crate) fn assert_text_is_apart(svg: &str) {
    assert_texts_are_apart(svg, 20);
}

/// The same of a drawing that has more than so many texts.
pub(crate) fn assert_texts_are_apart(svg: &str, more_than: usize) {
    let texts = texts(svg);
    assert!(texts.len() > more_than);
    for (k, (words, a)) in texts.iter().enumerate() {
        assert!(a.left() >= 0.0 && a.right() <= 2200.0, "{words:?}: {a:?}");
        assert!(a.top() >= 0.0 && a.bottom() <= 1700.0, "{words:?}: {a:?}");
        for (other, b) in &texts[k + 1..] {
            let apart = a.left() >= b.right()
                || b.left() >= a.right()
                || a.top() >= b.bottom()
                || b.top() >= a.bottom();
            assert!(apart, "{words:?} covers {other:?}: {a:?} {b:?}");
        }
    }
}
