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

/// Where the columns of a table stand.
struct Columns {
    /// Where numbers end: one for each class, then the sums.
    ends: Vec<f64>,
    width: f64,
    size: f64,
}

impl TransitionPanel<'_> {
    /// Draws the table into a rectangle.
    pub fn draw(&self, svg: &mut Svg, place: Rect) {
        let count = self.table.class_names.len();
        let (names, unit) = without_unit(self.table.class_names);
        let rows = self.rows(count);
        let columns = self.columns(&names, &rows, place);
        self.draw_head(svg, place, &unit, &names, &columns);
        let top = place.top + HEAD;
        let height = ((place.height - HEAD - FOOT) / (count + 1) as f64).clamp(24.0, ROW);
        for (k, areas) in rows.iter().enumerate() {
            let row = Rect { top: top + k as f64 * height, height, ..place };
            if k < count {
                let left = columns.ends[k] + 6.0 - columns.width;
                let cell = Rect { left, width: columns.width, ..row };
                svg.rect(cell.trim(1.0, 2.0, 1.0, 1.0), Paint::fill(FAINT).edge(INK, 1.6));
            } else {
                draw_rule(svg, row);
            }
            let name = names.get(k).map_or("all", String::as_str);
            self.draw_row(svg, name, areas, &columns, row);
        }
        let foot = top + (count + 1) as f64 * height + 24.0;
        let words = "boxed: same class; right of it deeper, left of it thinner";
        let words = fonts::shorten(words, 18.0, Weight::Regular, place.width);
        svg.text(&words, (place.left, foot), Type::regular(18.0).colour(SOFT_INK));
    }

    fn columns(&self, names: &[String], rows: &[Vec<f64>], place: Rect) -> Columns {
        let widest = |texts: &[String], size: f64| {
            texts.iter().map(|text| fonts::width(text, size, Weight::Regular)).fold(0.0, f64::max)
        };
        let first = widest(names, SIZE).max(30.0) + 20.0;
        let width = (place.width - first - SUMS) / names.len().max(1) as f64;
        let numbers: Vec<String> = rows.iter().flatten().map(|&m2| self.number(m2)).collect();
        let fits = |&size: &f64| widest(&numbers, size).max(widest(names, size)) + 6.0 <= width;
        let size = SIZES.into_iter().find(fits).unwrap_or(SIZES[SIZES.len() - 1]);
        let end = |k: usize| place.left + first + width * (k + 1) as f64 - 6.0;
        Columns { ends: (0..names.len()).map(end).chain([place.right()]).collect(), width, size }
    }

    fn draw_row(&self, svg: &mut Svg, name: &str, areas: &[f64], columns: &Columns, row: Rect) {
        let base = row.middle().1 + columns.size * 0.36;
        svg.text(name, (row.left, base), Type::regular(SIZE).colour(SOFT_INK));
        for (&area_m2, &end) in areas.iter().zip(&columns.ends) {
            let style = Type::regular(columns.size).anchor(Anchor::End);
            let style = if area_m2 > 0.0 { style } else { style.colour(DIM) };
            svg.text(&self.number(area_m2), (end, base), style);
        }
    }

    fn draw_head(
        &self,
        svg: &mut Svg,
        place: Rect,
        unit: &str,
        names: &[String],
        columns: &Columns,
    ) {
        let [earlier, later] = &self.days;
        let depth = if unit.is_empty() { String::new() } else { format!(", {unit}") };
        let words = format!("down: {earlier}{depth}; across: {later}{depth}");
        let words = fonts::shorten(&words, SIZE, Weight::Regular, place.width);
        svg.text(&words, (place.left, place.top + 18.0), Type::regular(SIZE).colour(SOFT_INK));
        let style = Type::regular(columns.size).colour(SOFT_INK).anchor(Anchor::End);
        let names = names.iter().map(String::as_str).chain(["all"]);
        for (name, &end) in names.zip(&columns.ends) {
            let room = columns.width - 4.0;
            let name = fonts::shorten(name, columns.size, Weight::Regular, room);
            svg.text(&name, (end, place.top + HEAD - 8.0), style);
        }
        draw_rule(svg, Rect { top: place.top + HEAD, ..place });
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

/// A line across the top of a row.
fn draw_rule(svg: &mut Svg, row: Rect) {
    svg.line((row.left, row.top), (row.right(), row.top), Paint::stroke(HAIRLINE, 1.6));
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
    use crate::testing;

    fn strings(names: &[&str]) -> Vec<String> {
        names.iter().map(|&name| name.into()).collect()
    }

    /// By hand: 1 + 2 = 3 and 4 acres from the classes, 5 and 2 to them, 7 in all.
    #[test]
    fn rows_and_columns_have_their_sums() {
        let sample = testing::wide();
        let class_names = strings(&["0–3 in", "3–6 in"]);
        let acre = survey::units::M2_PER_AC;
        let areas_m2 = vec![vec![acre, 2.0 * acre], vec![4.0 * acre]];
        let panel = TransitionPanel {
            table: TransitionTable { class_names: &class_names, areas_m2: &areas_m2 },
            field: sample.survey.field(),
            units: UnitSystem::Us,
            days: ["Apr 14".into(), "Jun 9".into()],
        };
        let mut svg = Svg::default();
        panel.draw(&mut svg, Rect::new(0.0, 0.0, 500.0, 200.0));
        let words = testing::joined(&svg.document(500, 200, 200, "t", "s"));
        let table = "down: Apr 14, in; across: Jun 9, in 0–3 3–6 all 0–3 1.0 2.0 3.0 3–6 4.0 · 4.0 all \
                     5.0 2.0 7.0";
        assert!(words.starts_with(table), "{words}");
    }

    #[test]
    fn a_unit_that_all_classes_share_stands_once() {
        let (names, unit) = without_unit(&strings(&["0–3 in", "≥ 3 in"]));
        assert_eq!((names, unit.as_str()), (strings(&["0–3", "≥ 3"]), "in"));
        let (names, unit) = without_unit(&strings(&["shallow", "3 in"]));
        assert_eq!((names.len(), unit.as_str()), (2, ""));
    }
}
