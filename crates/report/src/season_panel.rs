//! What the lines and colours of a season's chart mean.

use crate::base_map::NO_VALUE;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::group_style::{GroupStyle, MOST_GROUPS};
use crate::legend::heading;
use crate::marks::triangle;
use crate::palette::{HAIRLINE, INK, PAPER, SOFT_INK, class_colour};
use crate::season_chart::{POINT, QUARTILES};
use crate::season_page::SeasonPage;
use crate::svg::{Paint, Svg, Type};

const SIZE: f64 = 20.0;
const ROW: f64 = 29.0;
const HEADING: f64 = 36.0;
/// Room of a sample.
const SAMPLE: f64 = 46.0;

/// What stands before a line of words.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Sample {
    Median,
    Quartiles,
    NotReached,
    Moisture,
    Share(usize),
    Late,
    Due,
}

fn rows(page: &SeasonPage) -> Vec<(Sample, String)> {
    let has = |is: &dyn Fn(&crate::season_page::SeasonVisit) -> bool| page.visits.iter().any(is);
    let mut rows = vec![
        (Sample::Median, "median depth of the probes".to_owned()),
        (Sample::Quartiles, "from lower to upper quartile".into()),
    ];
    if has(&|visit| visit.quartiles[1].is_at_least || visit.quartiles[2].is_at_least) {
        rows.push((Sample::NotReached, "not reached: deeper than shown".into()));
    }
    rows.push((Sample::Moisture, "soil moisture, mean and range".into()));
    let shares = page.share_names.iter().take(MOST_GROUPS).enumerate();
    rows.extend(shares.map(|(k, name)| {
        (Sample::Share(k), format!("{}, {}", page.shares_of.trim(), name.trim()))
    }));
    if has(&|visit| visit.late_gap_days.is_some()) {
        let words = format!("late: more than {} days apart", page.visit_within_days);
        rows.push((Sample::Late, words));
    }
    if page.next_due.is_some() {
        rows.push((Sample::Due, "when the next visit is due".into()));
    }
    rows
}

/// Classes and ground without a value stand in two columns.
fn class_rows(page: &SeasonPage) -> usize {
    (page.class_names.len() + 1).div_ceil(2)
}

/// Height of the panel.
pub(crate) fn height(page: &SeasonPage) -> f64 {
    2.0 * HEADING + 24.0 + (rows(page).len() + class_rows(page)) as f64 * ROW
}

/// Draws the panel from the top of a rectangle.
pub(crate) fn draw(svg: &mut Svg, page: &SeasonPage, place: Rect) {
    heading(svg, "Lines", place);
    let rows = rows(page);
    for (k, (sample, words)) in rows.iter().enumerate() {
        let middle = place.top + HEADING + (k as f64 + 0.5) * ROW;
        draw_sample(svg, *sample, (place.left, middle));
        let room = place.width - SAMPLE - 14.0;
        let words = fonts::shorten(words, SIZE, Weight::Regular, room);
        svg.text(&words, (place.left + SAMPLE + 14.0, middle + SIZE * 0.36), Type::regular(SIZE));
    }
    let top = HEADING + rows.len() as f64 * ROW + 24.0;
    let classes = place.trim(0.0, top, 0.0, 0.0);
    heading(svg, "Ground by loose-layer depth", classes);
    draw_classes(svg, page, classes.trim(0.0, HEADING, 0.0, 0.0));
}

fn draw_classes(svg: &mut Svg, page: &SeasonPage, place: Rect) {
    let count = page.class_names.len();
    let down = class_rows(page);
    let columns = place.columns(2, 24.0);
    let no_value = [(Paint::pattern(NO_VALUE), "no value")];
    let classes = page.class_names.iter().enumerate();
    let classes = classes.map(|(k, name)| (Paint::fill(class_colour(k, count)), name.as_str()));
    for (k, (paint, name)) in classes.chain(no_value).enumerate() {
        let (column, row) = (columns[(k / down).min(1)], k % down);
        let top = column.top + row as f64 * ROW;
        svg.rect(Rect::new(column.left, top + 3.0, SAMPLE, ROW - 6.0), paint.edge(HAIRLINE, 1.2));
        let name = fonts::shorten(name, SIZE, Weight::Regular, column.width - SAMPLE - 14.0);
        let at = (column.left + SAMPLE + 14.0, top + ROW / 2.0 + SIZE * 0.36);
        svg.text(&name, at, Type::regular(SIZE));
    }
}

fn draw_sample(svg: &mut Svg, sample: Sample, (left, y): (f64, f64)) {
    let middle = left + SAMPLE / 2.0;
    let stroke = |width| Paint::stroke(INK, width);
    match sample {
        Sample::Median => {
            svg.line((left, y), (left + SAMPLE, y), Paint::stroke(POINT, 3.0));
            svg.circle((middle, y), 8.0, Paint::fill(POINT).edge(PAPER, 2.0));
        }
        Sample::Quartiles => {
            svg.rect(Rect::new(middle - 5.0, y - 13.0, 10.0, 26.0), Paint::fill(QUARTILES));
        }
        Sample::NotReached => {
            let path = triangle((middle, y), 11.0);
            svg.path(&path, Paint::fill(PAPER).edge(POINT, 2.0));
        }
        Sample::Moisture => {
            svg.line((middle, y - 13.0), (middle, y + 13.0), Paint::stroke(SOFT_INK, 2.0));
            let square = Rect::new(middle - 6.0, y - 6.0, 12.0, 12.0);
            svg.rect(square, Paint::fill(SOFT_INK).edge(PAPER, 2.0));
        }
        Sample::Share(k) => {
            let style = GroupStyle::of(k);
            style.draw_sample(svg, (left, y), SAMPLE);
            svg.circle((middle, y), 6.0, Paint::fill(style.colour));
        }
        Sample::Late => {
            svg.line((left, y + 3.0), (left + SAMPLE, y + 3.0), stroke(3.0));
            for x in [left + 1.5, left + SAMPLE - 1.5] {
                svg.line((x, y - 4.0), (x, y + 3.0), stroke(3.0));
            }
        }
        Sample::Due => {
            let bar = Rect::new(left + 1.5, y - 7.0, SAMPLE - 3.0, 14.0);
            svg.rect(bar, Paint::fill(PAPER).edge(INK, 3.0));
        }
    }
}
