//! Made-up reports for the tests.

use geostat::Raster;

use crate::change_page::change_limits_cm;
use crate::html::map_view::{ChangeView, MapView, MapViewOptions, VisitView, map_view};
use crate::html::page::{Chart, Column, GrowerSummary, ReportPage, Section, Table};
use crate::testing::Sample;
use crate::testing_change::Changed;

/// A map of one visit.
pub(crate) fn one_visit(sample: &Sample) -> MapView {
    map_view(&[visit(sample, "2025-04-14", "Apr 14, 2025")], None, &MapViewOptions::default())
}

fn visit<'a>(sample: &'a Sample, day: &'a str, label: &'a str) -> VisitView<'a> {
    VisitView { day, label, survey: &sample.survey, map: &sample.map }
}

/// A map of so many visits with the change from the first to the last.
pub(crate) fn season(changed: &Changed, visits: usize) -> MapView {
    let days: Vec<String> = (0..visits).map(|k| format!("2025-04-{:02}", k + 1)).collect();
    let views: Vec<VisitView> = days.iter().map(|day| visit(&changed.sample, day, day)).collect();
    let units = changed.sample.map.classes.units();
    let change = ChangeView {
        visits: [0, visits - 1],
        change_cm: &changed.change_cm,
        half_width_cm: &changed.half_width_cm,
        confidence: 0.95,
        limits_cm: &change_limits_cm(units),
    };
    map_view(&views, Some(&change), &MapViewOptions::default())
}

/// A raster of the same grid without a value.
pub(crate) fn unknown(raster: &Raster) -> Raster {
    Raster { grid: raster.grid, values: vec![f64::NAN; raster.values.len()] }
}

pub(crate) fn table(caption: &str) -> Table {
    let column = |heading: &str, is_number| Column { heading: heading.into(), is_number };
    Table {
        caption: caption.into(),
        columns: vec![column("Zone", false), column("Ground, ac", true)],
        rows: vec![vec!["Z1".into(), "4.2".into()], vec!["Z2".into(), "11.0".into()]],
        note: "Areas are on the ground.".into(),
    }
}

/// A page of everything there is.
pub(crate) fn page(map: MapView) -> ReportPage {
    let sentences = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect();
    let chart = Chart {
        title: "Readings by depth".into(),
        svg: "<?xml version=\"1.0\"?><svg xmlns=\"http://www.w3.org/2000/svg\" width=\"480\" height=\"200\" \
              viewBox=\"0 0 480 200\"><rect width=\"480\" height=\"200\" fill=\"#eee\"/><text x=\"20\" \
              y=\"40\">9 in</text></svg>"
            .into(),
        words: "Most readings lie between 6 and 12 in.".into(),
        table: Some(table("Readings by class")),
    };
    ReportPage {
        title: "North Bench".into(),
        subtitle: "Loose-layer depth, Apr 14, 2025".into(),
        facts: vec![("Field".into(), "74 ac".into()), ("Probes".into(), "108".into())],
        summary: GrowerSummary {
            headline: "The loose layer is thinner than 6 in on a fifth of the field.".into(),
            sentences: sentences(&["It is thinnest in the west.", "It is deepest by the creek."]),
            do_next: sentences(&["Dig three pits in Z1."]),
            not_known: sentences(&["The ground south of the lane was not probed."]),
        },
        map,
        sections: vec![Section {
            heading: "How sure the map is".into(),
            sentences: sentences(&["The map beats one number for the whole field."]),
            charts: vec![chart],
            tables: vec![table("Zones")],
        }],
        made: vec![("Survey".into(), "2025-04-14.geojson, SHA-256 c2c0e0".into())],
        cautions: sentences(&["Dig and look before treating.", "Call before you dig."]),
    }
}
