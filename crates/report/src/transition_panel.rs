//! The table of ground by the depth class that it had and the one it has.

use survey::{Field, UnitSystem};

use crate::change_page::TransitionTable;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::palette::{DIM, FAINT, HAIRLINE, INK, SOFT_INK};
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::wording::area_text;

/// Sizes of the numbers, the largest with which all fit.
const SIZES: [f64; 5] = [20.0, 19.0, 18.0, 17.0, 16.0];
const SIZE: f64 = 20.0;
/// Height of a row, the most.
const ROW: f64 = 34.0;
/// Room of the sums at the right.
const SUMS: f64 = 78.0;
/// Lines above the rows: what the columns are, and their names.
const HEAD: f64 = 58.0;
/// The line below the rows.
const FOOT: f64 = 34.0;

/// Height that a table of so many classes takes at most.
pub(crate) fn height(classes: usize) -> f64 {
    HEAD + (classes + 1) as f64 * ROW + FOOT
}

/// A table on its page.
pub(crate) struct TransitionPanel<'a> {
    pub table: TransitionTable<'a>,
    pub field: &'a Field,
    pub units: UnitSystem,
    /// The days of both visits.
    pub days: [String; 2],
}

impl TransitionPanel<'_> {
    /// Draws the table into a rectangle.
    pub fn draw(&self, svg: &mut Svg, place: Rect) {
        let count = self.table.class_names.len();
        let (names, unit) = without_unit(self.table.class_names);
        let widest = |texts: &[String], size: f64| {
            texts.iter().map(|text| fonts::width(text, size, Weight::Regular)).fold(0.0, f64::max)
        };
        let first = widest(&names, SIZE).max(30.0) + 20.0;
        let column = (place.width - first - SUMS) / count.max(1) as f64;
        let row = ((place.height - HEAD - FOOT) / (count + 1) as f64).clamp(24.0, ROW);
        let rows = self.rows(count);
        let numbers: Vec<String> = rows.iter().flatten().map(|&m2| self.number(m2)).collect();
        let fits = |&size: &f64| widest(&numbers, size).max(widest(&names, size)) + 6.0 <= column;
        let size = SIZES.into_iter().find(fits).unwrap_or(SIZES[SIZES.len() - 1]);
        let right = |k: usize| place.left + first + column * (k + 1) as f64 - 6.0;
        self.draw_head(svg, place, &unit);
        let head = place.top + HEAD - 8.0;
        let soft = Type::regular(size).colour(SOFT_INK);
        for (k, name) in names.iter().enumerate() {
            let name = fonts::shorten(name, size, Weight::Regular, column - 4.0);
            svg.text(&name, (right(k), head), soft.anchor(Anchor::End));
        }
        svg.text("all", (place.right(), head), soft.anchor(Anchor::End));
        let top = place.top + HEAD;
        svg.line((place.left, top), (place.right(), top), Paint::stroke(HAIRLINE, 1.6));
        for (k, areas) in rows.iter().enumerate() {
            let top = top + k as f64 * row;
            let base = top + row / 2.0 + size * 0.36;
            let name = names.get(k).map_or("all", String::as_str);
            svg.text(name, (place.left, base), Type::regular(SIZE).colour(SOFT_INK));
            if k < count {
                let cell = Rect::new(right(k) + 6.0 - column, top, column, row);
                svg.rect(cell.trim(1.0, 2.0, 1.0, 1.0), Paint::fill(FAINT).edge(INK, 1.6));
            } else {
                svg.line((place.left, top), (place.right(), top), Paint::stroke(HAIRLINE, 1.6));
            }
            for (column, &area_m2) in areas.iter().enumerate() {
                let end = if column == count { place.right() } else { right(column) };
                let style = if area_m2 > 0.0 { Type::regular(size) } else { soft.colour(DIM) };
                svg.text(&self.number(area_m2), (end, base), style.anchor(Anchor::End));
            }
        }
        let foot = top + (count + 1) as f64 * row + 24.0;
        let words = "boxed: same class; right of it deeper, left of it thinner";
        let words = fonts::shorten(words, 18.0, Weight::Regular, place.width);
        svg.text(&words, (place.left, foot), Type::regular(18.0).colour(SOFT_INK));
    }

    fn draw_head(&self, svg: &mut Svg, place: Rect, unit: &str) {
        let [earlier, later] = &self.days;
        let depth = if unit.is_empty() { String::new() } else { format!(", {unit}") };
        let words = format!("down: {earlier}{depth}; across: {later}{depth}");
        let words = fonts::shorten(&words, SIZE, Weight::Regular, place.width);
        svg.text(&words, (place.left, place.top + 18.0), Type::regular(SIZE).colour(SOFT_INK));
    }

    /// Areas with their sums at the right and at the foot.
    fn rows(&self, count: usize) -> Vec<Vec<f64>> {
        let area = |row: usize, column: usize| {
            let area = self.table.areas_m2.get(row).and_then(|areas| areas.get(column));
            area.copied().unwrap_or(0.0)
        };
        let with_sum = |mut areas: Vec<f64>| {
            areas.push(areas.iter().sum());
            areas
        };
        let row = |k| with_sum((0..count).map(|column| area(k, column)).collect());
        let sum = |column: usize| (0..count).map(|k| area(k, column)).sum();
        (0..count).map(row).chain([with_sum((0..count).map(sum).collect())]).collect()
    }

    /// An area without its unit, which the heading has.
    fn number(&self, area_m2: f64) -> String {
        if area_m2 <= 0.0 {
            return "·".into();
        }
        let text = area_text(area_m2, self.field, self.units);
        text.trim_end_matches(self.units.area_unit()).trim_end().to_owned()
    }
}

/// Names without the unit that they share, and that unit.
fn without_unit(names: &[String]) -> (Vec<String>, String) {
    let unit = |name: &String| name.rsplit_once(' ').map(|(_, unit)| unit.to_owned());
    let first = names.first().and_then(unit).unwrap_or_default();
    let shared = !first.is_empty() && names.iter().all(|name| unit(name).as_ref() == Some(&first));
    match shared {
        true => {
            let cut = |name: &String| name.trim_end_matches(&first).trim_end().to_owned();
            (names.iter().map(cut).collect(), first)
        }
        false => (names.to_vec(), String::new()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strings(names: &[&str]) -> Vec<String> {
        names.iter().map(|&name| name.into()).collect()
    }

    #[test]
    fn a_unit_that_all_classes_share_stands_once() {
        let (names, unit) = without_unit(&strings(&["0–3 in", "≥ 3 in"]));
        assert_eq!((names, unit.as_str()), (strings(&["0–3", "≥ 3"]), "in"));
        let (names, unit) = without_unit(&strings(&["shallow", "3 in"]));
        assert_eq!((names.len(), unit.as_str()), (2, ""));
    }
}
