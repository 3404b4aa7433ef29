//! Charts as drawings of their own, for a page that is no sheet of paper: each one SVG, drawn at the size it
//! is shown in, with what it says in words and, where they are few, its numbers. None has an id, a style or a
//! script, so that any number of them fit into one document with a strict policy.

use survey::units::tidy;
use survey::{Depth, Reading, UnitSystem};

use crate::frame::Rect;
use crate::histogram::{self, Bars};
use crate::html::page::{Chart, Column, Table};
use crate::page::MapPage;
use crate::profile_page::ProfilePage;
use crate::profile_panel::layer_text;
use crate::season_page::{SeasonPage, SeasonVisit};
use crate::svg::{Svg, number};
use crate::variogram_page::VariogramPage;
use crate::wording::day;
use crate::{profile_chart as profiles, scatter, season_chart as season};
use crate::{variogram_chart as semivariances, variogram_words};

/// Pixels of a screen for one of a drawing: text of 19 pixels is shown in 14.
const SHOWN: f64 = 0.74;
/// The same for the variogram, whose text is larger.
const VARIOGRAM_SHOWN: f64 = 0.62;

/// A drawing of so many pixels.
type Size = (u32, u32);

/// Charts that have room beside one another, shown 355 pixels wide.
const READINGS: Size = (480, 528);
const CHECK: Size = (480, 482);
/// Charts as wide as the text, shown about 710 pixels wide.
const SEASON: Size = (960, 940);
const PROFILE: Size = (960, 860);
const VARIOGRAM: Size = (1146, 880);

/// How many probes read each depth.
pub fn readings_chart(page: &MapPage) -> Chart {
    let units = page.map.classes.units();
    let readings: Vec<Reading> = page.survey.spots().iter().map(|spot| spot.reading).collect();
    let rows = readings_rows(&Bars::new(&readings, units));
    let title = format!("How many probes read each depth, {}", units.depth_unit());
    let unit = units.depth_unit();
    let told = |row: &Vec<String>| format!("{} {unit}: {}", row[0], row[1]);
    let words = format!(
        "Probes at each depth where {} was first reached; {unit}: probes. {}.",
        page.survey.threshold(),
        rows.iter().map(told).collect::<Vec<_>>().join("; ")
    );
    let svg = drawn(READINGS, SHOWN, &title, &words, |svg, place| {
        histogram::draw(svg, page, place);
    });
    let table = Table {
        caption: title.clone(),
        columns: numbers([format!("Depth, {unit}"), "Probes".into()]),
        rows,
        note: String::new(),
    };
    Chart { title, svg, words, table: Some(table) }
}

/// Depths and how many probes read them; the last may be `18+`, those that did not reach.
fn readings_rows(bars: &Bars) -> Vec<Vec<String>> {
    let read = bars.reached.iter().filter(|bar| bar.count > 0);
    let mut rows: Vec<Vec<String>> =
        read.map(|bar| vec![bar.depth.clone(), bar.count.to_string()]).collect();
    rows.extend(
        bars.not_reached
            .as_ref()
            .map(|(to, count)| vec![format!("not reached, {to}"), count.to_string()]),
    );
    rows
}

/// Each reading beside its estimate from the other probes; `None` where none is within reach of another.
pub fn check_chart(page: &MapPage) -> Option<Chart> {
    let validation = &page.map.method.validation;
    let count = validation.pairs.len();
    let units = page.map.classes.units();
    let title = format!("Depth read against depth estimated, {}", units.depth_unit());
    let words = format!(
        "{} against the estimate made without it. The nearer to the slanted line, the better; typical error \
         {}. Triangles did not reach {}: they lie deeper than drawn.",
        match count {
            1 => "One reading".to_owned(),
            _ => format!("Each of {count} readings"),
        },
        units.depth_text(Depth::from_cm(validation.rmse)),
        page.survey.threshold(),
    );
    (count > 0).then(|| {
        let svg = drawn(CHECK, SHOWN, &title, &words, |svg, place| scatter::draw(svg, page, place));
        Chart { title, svg, words, table: None }
    })
}

/// How unlike readings are by the distance between them.
pub fn variogram_chart(page: &VariogramPage) -> Chart {
    let title = "Semivariance by distance between probes".to_owned();
    let words = [variogram_words::verdict(page), variogram_words::model(page)]
        .into_iter()
        .chain(page.made.iter().cloned())
        .chain(variogram_words::cautions(page))
        .collect::<Vec<_>>()
        .join(" ");
    let svg = drawn(VARIOGRAM, VARIOGRAM_SHOWN, &title, &words, |svg, place| {
        semivariances::draw(svg, page, place);
    });
    Chart { svg, words, table: Some(variogram_table(page, &title)), title }
}

fn variogram_table(page: &VariogramPage, title: &str) -> Table {
    let units = page.units;
    let row = |class: &geostat::DistanceClass| {
        let distance = semivariances::distance(class.distance_m, units);
        let semivariance = variogram_words::semivariance(class.semivariance, units);
        vec![tidy(distance, 0), tidy(semivariance, 2), class.pairs.to_string()]
    };
    Table {
        caption: title.into(),
        columns: numbers([
            format!("Distance, {}", semivariances::distance_unit(units)),
            format!("Semivariance, {}²", units.depth_unit()),
            "Pairs".into(),
        ]),
        rows: page.empirical.classes.iter().map(row).collect(),
        note: String::new(),
    }
}

/// Cone index by depth.
pub fn profile_chart(page: &ProfilePage) -> Chart {
    let title = format!("Cone index by depth, {}", page.units.pressure_unit());
    let at = page.thresholds.first().map_or_else(String::new, |first| format!(" at {first}"));
    let layers =
        page.groups.iter().map(|group| format!("Tight layer{at}: {}.", layer_text(page, group)));
    let words = format!(
        "Line: median; band: from the lower to the upper quartile; shaded: the usual tight layer. {}",
        layers.chain(page.notes.iter().cloned()).collect::<Vec<_>>().join(" ")
    );
    let svg = drawn(PROFILE, SHOWN, &title, &words, |svg, place| profiles::draw(svg, page, place));
    Chart { title, svg, words, table: None }
}

/// The season by its days; `None` where no visit has a day.
pub fn season_chart(page: &SeasonPage) -> Option<Chart> {
    let title = "The season, visit by visit".to_owned();
    let told: Vec<String> =
        page.visits.iter().map(|visit| visit_words(visit, page.units)).collect();
    let words = format!(
        "Dots: the depth within which half of the probes reached the threshold; bars behind them: from the lower \
         to the upper quartile; triangles: not reached, deeper than shown. Squares: mean soil moisture with its \
         range. Ground is coloured as on the map. {}.",
        told.join("; ")
    );
    (!page.visits.is_empty()).then(|| {
        let svg = drawn(SEASON, SHOWN, &title, &told.join("; "), |svg, place| {
            season::draw(svg, page, place);
        });
        Chart { title, svg, words, table: None }
    })
}

fn visit_words(visit: &SeasonVisit, units: UnitSystem) -> String {
    let median = visit.quartiles[1];
    let sign = if median.is_at_least { "at least " } else { "" };
    let moisture = visit.moisture.map_or_else(
        || "not recorded".into(),
        |moisture| format!("{} %", tidy(moisture.mean_pct, 0)),
    );
    format!(
        "{}: median {sign}{}, soil moisture {moisture}",
        day(visit.day, units),
        units.depth_text(Depth::from_cm(median.depth_cm))
    )
}

fn numbers<const N: usize>(headings: [String; N]) -> Vec<Column> {
    headings.into_iter().map(|heading| Column { heading, is_number: true }).collect()
}

/// A drawing in its own document, shown smaller than it is drawn.
fn drawn(
    (width, height): Size,
    shown: f64,
    title: &str,
    words: &str,
    draw: impl FnOnce(&mut Svg, Rect),
) -> String {
    const PER_INCH: u32 = 100;
    let mut svg = Svg::default();
    // The turned name of an axis stands out of a chart's own box a little.
    let whole = Rect::new(0.0, 0.0, f64::from(width), f64::from(height));
    draw(&mut svg, whole.trim(3.0, 3.0, 3.0, 3.0));
    let document = svg.document(width, height, PER_INCH, title, words);
    let size = |times: f64, unit: &str| {
        let length = |pixels: u32| number(f64::from(pixels) * times);
        format!("width=\"{}{unit}\" height=\"{}{unit}\"", length(width), length(height))
    };
    document.replacen(&size(1.0 / f64::from(PER_INCH), "in"), &size(shown, ""), 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{self, assert_texts_are_apart, joined};
    use crate::testing_season::Season;

    /// Charts of a made-up field.
    fn charts() -> Vec<Chart> {
        let sample = testing::wide();
        let page = sample.page("Field");
        let season = Season::new(testing::wide(), 12);
        vec![
            readings_chart(&page),
            check_chart(&page).unwrap(),
            season_chart(&season.page("Field")).unwrap(),
        ]
    }

    #[test]
    fn a_chart_stands_alone_and_obeys_a_strict_policy() {
        for Chart { svg, .. } in charts() {
            let head = svg.split('>').next().unwrap();
            assert!(head.contains("role=\"img\"") && head.contains("viewBox=\"0 0 "), "{head}");
            assert!(!head.contains("in\" height"), "shown in pixels: {head}");
            assert!(svg.contains("<title>") && svg.contains("<desc>"));
            for forbidden in [" style=", "<style", "<script", " id=", "href=", "url("] {
                assert!(!svg.contains(forbidden), "{forbidden}");
            }
            assert_texts_are_apart(&svg, 5);
        }
    }

    #[test]
    fn nothing_runs_out_of_a_chart() {
        for Chart { svg, .. } in charts() {
            let tree = testing::tree(&svg);
            let (drawn, size) = (tree.root().abs_bounding_box(), tree.size());
            // The box of a text is wider than its ink by about a pixel.
            assert!(
                drawn.left() >= -1.0 && drawn.right() <= size.width() + 0.5,
                "{drawn:?} {size:?}"
            );
            assert!(
                drawn.top() >= -1.0 && drawn.bottom() <= size.height() + 0.5,
                "{drawn:?} {size:?}"
            );
        }
    }

    #[test]
    fn the_numbers_are_those_of_the_bars() {
        let readings = [
            Reading::Reached(Depth::from_in(6.0)),
            Reading::Reached(Depth::from_in(12.0)),
            Reading::Reached(Depth::from_in(6.0)),
            Reading::NotReached { probed_to: Depth::from_in(18.0) },
        ];
        let rows = readings_rows(&Bars::new(&readings, UnitSystem::Us));
        assert_eq!(rows, [["6", "2"], ["12", "1"], ["not reached, 18+", "1"]]);
    }

    #[test]
    fn a_chart_has_its_axes() {
        let words: Vec<String> = charts().iter().map(|chart| joined(&chart.svg)).collect();
        assert!(words[0].contains("Depth of 200 psi, in") && words[0].contains("Probes, count"));
        assert!(words[1].contains("Observed, in") && words[1].contains("Estimated, in"));
        assert!(
            words[2].contains("Moisture, %") && words[2].contains("Ground, ac"),
            "{}",
            words[2]
        );
    }
}
