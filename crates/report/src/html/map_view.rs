//! What the map script draws, as data.

use std::borrow::Cow;

use geostat::{Grid, Raster};
use mapping::DepthMap;
use serde::Serialize;
use survey::units::{M_PER_FT, M_PER_IN};
use survey::{CheckedSurvey, EastNorth, NoReading, Reading, UnitSystem};

use crate::compass::true_north_deg;
use crate::confidence;
use crate::html::grid_code;
use crate::html::whole_steps::{half_width_steps, whole_steps};
use crate::html::zone_paths::{ClassView, PagePlane, ZonePaths, ground_text, zone_paths};
use crate::page::MapPage;
use crate::palette::{CHANGE, PROBABILITY, Ramp, STANDARD_ERROR};
use crate::value_classes::ValueClasses;
use crate::wording::{count_text, moisture_text, reading_text};

/// A visit that a page shows.
#[derive(Debug, Clone, Copy)]
pub struct VisitView<'a> {
    /// Its day, `2025-04-14`; other text where it is not known.
    pub day: &'a str,
    /// Its day as people read it: `Apr 14, 2025`.
    pub label: &'a str,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// The map made from it.
    pub map: &'a DepthMap,
}

/// The change between two of the visits.
#[derive(Debug, Clone, Copy)]
pub struct ChangeView<'a> {
    /// The earlier and the later visit, by their places among those shown.
    pub visits: [usize; 2],
    /// Later minus earlier depth, centimetres; NaN where one of them has no value.
    pub change_cm: &'a Raster,
    /// Half the width of its interval, centimetres, on the same grid; NaN where nothing is known of it.
    pub half_width_cm: &'a Raster,
    /// How sure that interval is, 0 to 1: 0.95.
    pub confidence: f64,
    /// Limits between classes of change, centimetres: [`change_limits_cm`](crate::change_limits_cm) or
    /// others.
    pub limits_cm: &'a [f64],
}

/// How a map is handed to the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapViewOptions {
    /// Depths are rounded to whole steps of so many centimetres.
    pub step_cm: f64,
    /// All rasters together have no more cells than so many; where they would have more, of each square of
    /// some cells the middle one is shown.
    pub most_cells: usize,
}

impl Default for MapViewOptions {
    fn default() -> Self {
        MapViewOptions { step_cm: 0.25, most_cells: 1_500_000 }
    }
}

/// What the map script draws: serialises to the JSON that `assets/page/map.js` describes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MapView {
    pub(crate) frame: FrameView,
    pub(crate) units: UnitView,
    #[serde(skip)]
    system: UnitSystem,
    /// The threshold with its unit.
    pub(crate) threshold: String,
    /// The field's outline as the data of an SVG path.
    pub(crate) field: String,
    /// The visits, by date.
    pub(crate) visits: Vec<VisitData>,
    pub(crate) change: Option<ChangeData>,
}

/// The frame of the map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct FrameView {
    pub width: f64,
    pub height: f64,
    pub west: f64,
    pub north: f64,
    pub epsg: u16,
    pub plane: String,
    /// Direction of true north, degrees clockwise from up.
    pub true_north: f64,
}

/// The reader's units.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct UnitView {
    pub depth: &'static str,
    /// Centimetres in one of it.
    pub depth_cm: f64,
    pub distance: &'static str,
    /// Metres in one of it.
    pub distance_m: f64,
}

/// A visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct VisitData {
    pub day: String,
    pub label: String,
    /// What stands below the map: how many probes, how moist, how sure.
    pub facts: Vec<String>,
    pub zones: ZonePaths,
    pub depth: GridData,
    pub error: Option<LayerData>,
    pub chance: Option<LayerData>,
    pub probes: Vec<ProbeData>,
}

/// A raster with its classes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct LayerData {
    /// What it shows: `Standard error`, `Chance of < 6 in`.
    pub title: String,
    pub classes: Vec<ClassView>,
    pub grid: GridData,
}

/// The change between two visits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct ChangeData {
    pub visits: [usize; 2],
    pub confidence: f64,
    pub classes: Vec<ClassView>,
    pub grid: GridData,
    pub half_width: GridData,
}

/// A raster as the page carries it: see [`grid_code`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct GridData {
    /// Its north-west corner on the page, metres.
    pub x: f64,
    pub y: f64,
    pub cell: f64,
    pub columns: usize,
    pub rows: usize,
    /// A value is a whole number of such steps: centimetres, or shares of 1.
    pub step: f64,
    pub code: String,
}

/// A probe point: x, y, kind, id, and the reading as it stands on the map. Kinds: 0 reached, 1 not
/// reached, 2 stopped by a stone, 3 skipped.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct ProbeData(pub f64, pub f64, pub u8, pub String, pub String);

/// Steps of a probability.
const CHANCE_STEP: f64 = 0.005;
/// Steps of a standard error, a change and its half-width, centimetres.
const ERROR_STEP_CM: f64 = 0.1;

/// Visits of one field on one page, with the change between two of them.
///
/// # Panics
/// When there is no visit, or the change names one that is not there.
pub fn map_view(
    visits: &[VisitView],
    change: Option<&ChangeView>,
    options: &MapViewOptions,
) -> MapView {
    let first = visits.first().expect("a page shows a visit");
    let field = first.map.field();
    let plane = PagePlane::of(field);
    let units = first.map.classes.units();
    let middle = EastNorth {
        easting_m: plane.west_m + plane.width_m / 2.0,
        northing_m: plane.north_m - plane.height_m / 2.0,
    };
    let turn = true_north_deg(field.utm(), middle);
    let most_cells = options.most_cells / rasters(visits, change.is_some());
    let sheet = Sheet { plane, units, step_cm: options.step_cm, most_cells };
    MapView {
        frame: FrameView {
            width: plane.width_m,
            height: plane.height_m,
            west: plane.west_m,
            north: plane.north_m,
            epsg: field.utm().epsg(),
            plane: field.utm().name(),
            true_north: (turn * 100.0).round() / 100.0,
        },
        units: unit_view(units),
        system: units,
        threshold: first.survey.threshold().to_string(),
        field: plane.path(field.polygons()),
        visits: visits.iter().map(|visit| visit_data(visit, &sheet)).collect(),
        change: change.map(|change| {
            assert!(change.visits.iter().all(|&k| k < visits.len()), "a change of visits shown");
            change_data(change, &sheet)
        }),
    }
}

/// How many rasters a page shows.
fn rasters(visits: &[VisitView], has_change: bool) -> usize {
    let of_visit = |visit: &VisitView| {
        1 + usize::from(visit.map.standard_error_cm.is_some())
            + usize::from(visit.map.probability.is_some())
    };
    visits.iter().map(of_visit).sum::<usize>() + if has_change { 2 } else { 0 }
}

fn unit_view(units: UnitSystem) -> UnitView {
    let (depth_cm, distance, distance_m) = match units {
        UnitSystem::Us => (M_PER_IN * 100.0, "ft", M_PER_FT),
        UnitSystem::Si => (1.0, "m", 1.0),
    };
    UnitView { depth: units.depth_unit(), depth_cm, distance, distance_m }
}

/// What all that is drawn has in common.
struct Sheet {
    plane: PagePlane,
    units: UnitSystem,
    step_cm: f64,
    most_cells: usize,
}

fn visit_data(visit: &VisitView, sheet: &Sheet) -> VisitData {
    let (map, units) = (visit.map, sheet.units);
    let error = map.standard_error_cm.as_ref().map(|raster| {
        let classes = ValueClasses::standard_error(raster, units);
        layer("Standard error".into(), raster, &classes, STANDARD_ERROR, map, ERROR_STEP_CM, sheet)
    });
    let chance = map.probability.as_ref().map(|probability| {
        let title = format!("Chance of < {}", units.depth_text(probability.limit));
        let classes = ValueClasses::probability();
        layer(title, &probability.raster, &classes, PROBABILITY, map, CHANCE_STEP, sheet)
    });
    VisitData {
        day: visit.day.into(),
        label: visit.label.into(),
        facts: facts(visit),
        zones: zone_paths(map),
        depth: grid_data(&map.depth_cm, sheet.step_cm, sheet, |cm| map.classes.class_of_cm(cm)),
        error,
        chance,
        probes: probes(visit.survey, sheet),
    }
}

/// How many probes, how moist, how sure.
fn facts(visit: &VisitView) -> Vec<String> {
    let survey = visit.survey;
    let mut probes = count_text(survey.spots().len(), "probe");
    if survey.not_reached() > 0 {
        let threshold = survey.threshold();
        probes += &format!(", {} did not reach {threshold}", survey.not_reached());
    }
    let moisture = match survey.moisture() {
        Some(_) => format!("soil moisture {}", moisture_text(survey)),
        None => moisture_text(survey),
    };
    let page = MapPage { title: "", survey, map: visit.map };
    vec![
        format!("{probes}; {moisture}."),
        confidence::validation(&page),
        confidence::verdict(&page),
    ]
}

fn layer(
    title: String,
    raster: &Raster,
    classes: &ValueClasses,
    ramp: Ramp,
    map: &DepthMap,
    step: f64,
    sheet: &Sheet,
) -> LayerData {
    let areas = map.areas_m2(raster, classes.len(), |value| classes.class_of(value).unwrap_or(0));
    let mut shown = value_classes(classes, ramp);
    for (class, area_m2) in shown.iter_mut().zip(areas) {
        class.ground = ground_text(area_m2, map, sheet.units);
    }
    let grid = grid_data(raster, step, sheet, |value| classes.class_of(value).unwrap_or(0));
    LayerData { title, classes: shown, grid }
}

fn change_data(change: &ChangeView, sheet: &Sheet) -> ChangeData {
    let classes = ValueClasses::change(change.limits_cm, sheet.units);
    let mut shown = value_classes(&classes, CHANGE);
    for (k, class) in shown.iter_mut().enumerate() {
        class.sign = classes.sign(k).unwrap_or_default();
    }
    let [change_cm, half_width_cm] =
        [change.change_cm, change.half_width_cm].map(|raster| thinned(raster, sheet.most_cells));
    let class_of = |cm| classes.class_of(cm).unwrap_or(0);
    let mut steps = whole_steps(&change_cm.values, ERROR_STEP_CM, class_of);
    let halves =
        half_width_steps(&change_cm.values, &half_width_cm.values, &mut steps, ERROR_STEP_CM);
    ChangeData {
        visits: change.visits,
        confidence: change.confidence,
        classes: shown,
        grid: coded(&change_cm.grid, &steps, ERROR_STEP_CM, sheet),
        half_width: coded(&half_width_cm.grid, &halves, ERROR_STEP_CM, sheet),
    }
}

fn value_classes(classes: &ValueClasses, ramp: Ramp) -> Vec<ClassView> {
    let limits = classes.limits();
    let class = |class: usize| ClassView {
        from: class.checked_sub(1).map(|below| limits[below]),
        to: limits.get(class).copied(),
        ..ClassView::plain(classes.name(class).to_owned(), ramp.class_colour(class, classes.len()))
    };
    (0..classes.len()).map(class).collect()
}

/// A raster of values that have classes.
fn grid_data(
    raster: &Raster,
    step: f64,
    sheet: &Sheet,
    class_of: impl Fn(f64) -> usize,
) -> GridData {
    let thin = thinned(raster, sheet.most_cells);
    coded(&thin.grid, &whole_steps(&thin.values, step, class_of), step, sheet)
}

fn coded(grid: &Grid, steps: &[Option<i64>], step: f64, sheet: &Sheet) -> GridData {
    let plane = &sheet.plane;
    let millimetres = |m: f64| (m * 1e3).round() / 1e3 + 0.0;
    GridData {
        x: millimetres(grid.west_m() - plane.west_m),
        y: millimetres(plane.north_m - grid.north_m()),
        cell: grid.cell_m(),
        columns: grid.columns(),
        rows: grid.rows(),
        step,
        code: grid_code::encode(steps, grid.columns()),
    }
}

/// A raster with no more cells than so many: of squares of cells the middle ones.
fn thinned(raster: &Raster, most_cells: usize) -> Cow<'_, Raster> {
    let grid = &raster.grid;
    let count = |side: usize| grid.columns().div_ceil(side) * grid.rows().div_ceil(side);
    let side = (1..).find(|&side| count(side) <= most_cells.max(1)).expect("one cell in the end");
    if side == 1 {
        return Cow::Borrowed(raster);
    }
    let (columns, rows) = (grid.columns().div_ceil(side), grid.rows().div_ceil(side));
    let cell_m = grid.cell_m() * side as f64;
    let south_m = grid.north_m() - rows as f64 * cell_m;
    let middle = |k: usize, all: usize| (k * side + side / 2).min(all - 1);
    let values = (0..rows * columns).map(|k| {
        let (row, column) = (middle(k / columns, grid.rows()), middle(k % columns, grid.columns()));
        raster.value(row, column)
    });
    let thin = Grid::new(grid.west_m(), south_m, cell_m, columns, rows);
    Cow::Owned(Raster { grid: thin.expect("within the old one"), values: values.collect() })
}

fn probes(survey: &CheckedSurvey, sheet: &Sheet) -> Vec<ProbeData> {
    let plane = &sheet.plane;
    let place = |place: EastNorth| {
        let (x, y) = plane.on_page(place);
        [x, y].map(|m| plane.rounded(m))
    };
    let read = survey.spots().iter().map(|spot| {
        let [x, y] = place(spot.position);
        let kind = match spot.reading {
            Reading::Reached(_) => 0,
            Reading::NotReached { .. } => 1,
        };
        ProbeData(x, y, kind, spot.id.clone(), reading_text(spot.reading, sheet.units))
    });
    let without = survey.without_reading().iter().map(|&(position, why)| {
        let [x, y] = place(position);
        let kind = match why {
            NoReading::Refused => 2,
            NoReading::Skipped => 3,
        };
        ProbeData(x, y, kind, String::new(), String::new())
    });
    read.chain(without).collect()
}

impl MapView {
    /// As JSON that can stand within a page's script element.
    pub fn json(&self) -> String {
        let json = serde_json::to_string(self).expect("numbers, text and lists");
        // No end of a script element, comment or processing instruction can stand in it, nor what turns
        // the writing direction.
        let turns = |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        let json: String = json.chars().filter(|&c| !turns(c)).collect();
        json.replace('<', "\\u003c").replace('\u{2028}', "\\u2028").replace('\u{2029}', "\\u2029")
    }

    /// The units of the page.
    pub(crate) fn unit_system(&self) -> UnitSystem {
        self.system
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::html::grid_code::tests::decode;
    use crate::html::testing::{one_visit, season, unknown};
    use crate::testing;
    use crate::testing_change::Changed;

    fn values_of(grid: &GridData) -> Vec<f64> {
        decode(&grid.code, grid.columns, grid.rows, grid.step)
    }

    fn assert_same(grid: &GridData, raster: &Raster) {
        let back = values_of(grid);
        assert_eq!(back.len(), raster.values.len());
        assert!(raster.values.iter().any(|value| !value.is_nan()));
        for (value, back) in raster.values.iter().zip(back) {
            assert_eq!(value.is_nan(), back.is_nan());
            // Half a step, and one more where the half would have led into another class.
            assert!(value.is_nan() || (value - back).abs() <= grid.step * 1.5 + 1e-9);
        }
    }

    #[test]
    fn rasters_come_back_within_a_step() {
        let sample = &testing::kriged()[0];
        let map = one_visit(sample);
        assert_same(&map.visits[0].depth, &sample.map.depth_cm);
        let error = map.visits[0].error.as_ref().expect("a kriged map");
        assert_same(&error.grid, sample.map.standard_error_cm.as_ref().unwrap());
        assert_eq!(
            error.classes.len(),
            error.classes.iter().filter(|c| !c.ground.is_empty()).count()
        );
        assert!(error.classes.iter().all(|class| class.sign.is_empty()), "an error has no sign");
        let changed = Changed::new(testing::wide());
        let change = season(&changed, 2).change.unwrap();
        assert_same(&change.grid, &changed.change_cm);
        assert_same(&change.half_width, &changed.half_width_cm);
        assert_eq!(change.classes.iter().map(|c| c.sign).collect::<String>(), "−−−+++");
    }

    /// The class of a value as the page's script finds it from the limits that the page carries.
    fn class_on_page(classes: &[ClassView], value: f64) -> usize {
        classes.iter().take_while(|class| class.to.is_some_and(|to| value >= to)).count()
    }

    #[test]
    fn classes_and_changes_on_the_page_are_those_of_the_full_values() {
        let sample = &testing::kriged()[0];
        let visit = &one_visit(sample).visits[0];
        let depths = &sample.map.depth_cm.values;
        for (value, back) in depths.iter().zip(values_of(&visit.depth)).filter(|(v, _)| !v.is_nan())
        {
            let class = sample.map.classes.class_of_cm(*value);
            assert_eq!(class_on_page(&visit.zones.classes, back), class, "{value} {back}");
        }
        let error = visit.error.as_ref().unwrap();
        let raster = sample.map.standard_error_cm.as_ref().unwrap();
        let classes = ValueClasses::standard_error(raster, UnitSystem::Us);
        for (value, back) in
            raster.values.iter().zip(values_of(&error.grid)).filter(|(v, _)| !v.is_nan())
        {
            assert_eq!(Some(class_on_page(&error.classes, back)), classes.class_of(*value));
        }
        let changed = Changed::new(testing::wide());
        let change = season(&changed, 2).change.unwrap();
        let full = changed.change_cm.values.iter().zip(&changed.half_width_cm.values);
        let page = values_of(&change.grid).into_iter().zip(values_of(&change.half_width));
        let mut sure = 0;
        for ((value, half), (back, half_back)) in full.zip(page).filter(|((v, _), _)| !v.is_nan()) {
            assert_eq!(back.abs() > half_back, value.abs() > *half, "{value} {half}");
            sure += usize::from(back.abs() > half_back);
        }
        assert!(sure > 0 && sure < changed.change_cm.values.len());
    }

    #[test]
    fn the_middle_of_a_cell_stands_where_it_lies_in_the_field() {
        let sample = testing::wide();
        let (map, grid) = (one_visit(&sample), sample.map.depth_cm.grid);
        let depth = &map.visits[0].depth;
        let easting_m = map.frame.west + depth.x + 3.5 * depth.cell;
        let northing_m = map.frame.north - depth.y - 2.5 * depth.cell;
        assert!((easting_m - grid.easting_m(3)).abs() < 1e-3);
        assert!((northing_m - grid.northing_m(2)).abs() < 1e-3);
        // The frame holds the field and little more.
        let spot = &sample.survey.spots()[0];
        let ProbeData(x, y, _, id, _) = &map.visits[0].probes[0];
        assert!((map.frame.west + x - spot.position.easting_m).abs() <= 0.05 + 1e-9);
        assert!((map.frame.north - y - spot.position.northing_m).abs() <= 0.05 + 1e-9);
        assert!((0.0..map.frame.width).contains(x) && (0.0..map.frame.height).contains(y));
        assert_eq!(id, &spot.id);
    }

    #[test]
    fn a_probe_that_was_not_reached_is_never_a_reading() {
        let sample = testing::wide();
        let map = one_visit(&sample);
        for (spot, probe) in sample.survey.spots().iter().zip(&map.visits[0].probes) {
            assert_eq!(probe.2 == 1, spot.reading.is_not_reached());
            assert_eq!(probe.4.ends_with('+'), spot.reading.is_not_reached());
        }
        assert!(map.visits[0].probes.iter().any(|probe| probe.2 == 1));
        assert!(map.visits[0].facts[0].contains("did not reach"), "{:?}", map.visits[0].facts);
    }

    #[test]
    fn a_large_raster_is_thinned_to_the_middles_of_squares() {
        let sample = testing::wide();
        let raster = &sample.map.depth_cm;
        let thin = thinned(raster, raster.values.len() / 5);
        assert!(thin.values.len() <= raster.values.len() / 5);
        assert_eq!(thin.grid.cell_m(), 3.0 * raster.grid.cell_m());
        assert_eq!(thin.grid.north_m(), raster.grid.north_m());
        assert_eq!(thin.grid.easting_m(2), raster.grid.easting_m(7));
        assert_eq!(thin.value(1, 2).to_bits(), raster.value(4, 7).to_bits());
        assert!(matches!(thinned(raster, raster.values.len()), Cow::Borrowed(_)));
    }

    #[test]
    fn nothing_known_is_no_zero() {
        let sample = testing::wide();
        let raster = unknown(&sample.map.depth_cm);
        let plane = PagePlane::of(sample.map.field());
        let sheet = Sheet { plane, units: UnitSystem::Us, step_cm: 0.25, most_cells: 1_000_000 };
        assert!(
            values_of(&grid_data(&raster, 0.25, &sheet, |_| 0)).iter().all(|value| value.is_nan())
        );
    }

    #[test]
    fn data_cannot_end_its_element() {
        let mut map = one_visit(&testing::tiny());
        let wild = "</script><!--\u{2028}\"'&";
        map.visits[0].probes[0].3 = wild.into();
        let json = map.json();
        assert!(!json.contains('<') && !json.contains('\u{2028}'));
        let back: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(back["visits"][0]["probes"][0][3], wild);
    }
}
