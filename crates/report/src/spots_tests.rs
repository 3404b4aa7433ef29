//! The field sheet of made-up fields.

use geo::{MultiPolygon, polygon};
use sampling::{Ground, PlacedSpot, PlannedSpot, Walk, Why, in_walking_order, square_grid};
use survey::{Field, LonLat, UnitSystem, Utm};

use crate::spots_sheet::{SpotsSheet, spots_pdf, spots_png, spots_svgs};
use crate::testing;

struct Made {
    field: Field,
    spots: Vec<PlannedSpot>,
    walk: Walk,
}

fn made(width_m: f64, height_m: f64, spacing_m: f64) -> Made {
    let (west, south) = (282_000.0, 4_645_000.0);
    let (east, north) = (west + width_m, south + height_m);
    let ring = polygon![
        (x: west, y: south), (x: east, y: south), (x: east, y: north), (x: west, y: north)
    ];
    let polygons = MultiPolygon(vec![ring]);
    let utm = Utm::for_place(LonLat { lon_deg: -95.62, lat_deg: 41.93 }).unwrap();
    let ground = Ground::inside(&polygons, 3.0).unwrap();
    let places = square_grid(&ground, spacing_m, 0.0).unwrap().into_iter().enumerate();
    let placed: Vec<PlacedSpot> = places
        .map(|(k, place)| {
            let why = [Why::Grid, Why::Again, Why::LeastSure][k % 3];
            let kept_name = (why == Why::Again).then(|| format!("A{k:03}"));
            PlacedSpot { place, why, stratum: (k % 4 == 0).then(|| "headland".into()), kept_name }
        })
        .collect();
    let (spots, walk) = in_walking_order(ground.south_west_corner(), &placed);
    Made { field: Field::in_plane(utm, &polygons).unwrap(), spots, walk }
}

fn sheet<'a>(made: &'a Made, insertions: usize, texts: &'a [Vec<String>; 2]) -> SpotsSheet<'a> {
    SpotsSheet {
        title: "North Bench",
        field: &made.field,
        units: UnitSystem::Us,
        spots: &made.spots,
        walk: &made.walk,
        has_start: false,
        insertions,
        threshold: Some("200 psi"),
        rod: Some("18 in"),
        placed: &texts[0],
        cautions: &texts[1],
    }
}

fn texts() -> [Vec<String>; 2] {
    let placed = "108 spots on a square grid of 180 ft, rows along 0° from north.".to_owned();
    let caution = "Do not probe over buried cables, gas or drain lines; before you dig a pit, have them \
        marked (in the US call 811, three business days ahead; private lines are not marked).";
    [vec![placed], vec![caution.into(), caution.into(), caution.into(), caution.into()]]
}

#[test]
fn every_page_has_its_spots_and_no_text_covers_another() {
    let texts = texts();
    for (width_m, height_m, spacing_m) in
        [(900.0, 400.0, 55.0), (14.0, 900.0, 30.0), (1_200.0, 90.0, 30.0), (40.0, 40.0, 20.0)]
    {
        let made = made(width_m, height_m, spacing_m);
        for insertions in [1, 4, 9] {
            let pages = spots_svgs(&sheet(&made, insertions, &texts));
            assert_eq!(pages.len(), 1 + made.spots.len().div_ceil(20));
            for page in &pages {
                testing::assert_text_is_apart(page);
            }
            let rows: String = pages[1..].concat();
            for spot in &made.spots {
                assert!(rows.contains(&format!(">{}</text>", spot.id)), "{}", spot.id);
            }
        }
    }
}

/// A4 is 210 mm high and Letter 215.9 mm: of a sheet printed in the middle without scaling 3 mm are lost above and
/// below, and a printer leaves some 4 mm free (common practice).
#[test]
fn nothing_is_lost_on_a4() {
    let (texts, made) = (texts(), made(900.0, 400.0, 55.0));
    let free = (215.9 - 210.0) / 2.0 + 4.0;
    let free_px = (free / 25.4 * f64::from(crate::DPI)) as f32;
    for page in spots_svgs(&sheet(&made, 4, &texts)) {
        for (words, drawn) in testing::texts(&page) {
            assert!(
                drawn.top() >= free_px && drawn.bottom() <= 1_700.0 - free_px,
                "{words:?} {drawn:?}"
            );
            assert!(
                drawn.left() >= free_px && drawn.right() <= 2_200.0 - free_px,
                "{words:?} {drawn:?}"
            );
        }
    }
}

#[test]
fn the_same_spots_give_the_same_files() {
    let (texts, made) = (texts(), made(300.0, 200.0, 50.0));
    let sheet = sheet(&made, 4, &texts);
    assert!(spots_pdf(&sheet).unwrap() == spots_pdf(&sheet).unwrap());
    let picture = image::load_from_memory(&spots_png(&sheet).unwrap()).unwrap();
    assert_eq!((picture.width(), picture.height()), (2200, 1700));
}

#[test]
fn a_wild_name_is_escaped_and_shortened() {
    let (texts, mut made) = (texts(), made(300.0, 200.0, 50.0));
    made.spots[0].id = format!("<&\">{}", "W".repeat(300));
    let title = format!("<b>{}\u{202e}", "name ".repeat(80));
    let pages = spots_svgs(&SpotsSheet { title: &title, ..sheet(&made, 4, &texts) });
    for page in pages {
        assert!(!page.contains("<b>") && !page.contains('\u{202e}'));
        testing::assert_text_is_apart(&page);
    }
}
