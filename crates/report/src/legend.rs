//! The legend: each class with its ground, ground without a value, and the marks.

use survey::{CheckedSurvey, Field, NoReading, UnitSystem};

use crate::base_map::NO_VALUE;
use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::marks::Mark;
use crate::palette::{DIM, HAIRLINE, SOFT_INK};
use crate::probe_marks::MARK;
use crate::svg::{Anchor, Paint, Svg, Type};
use crate::wording::{area_text, share_text};

const SIZE: f64 = 22.0;
const SMALL: f64 = 20.0;
/// Heights of a row, by the room there is.
const ROW: (f64, f64) = (31.0, 44.0);
/// Room for the marks below the classes.
const MARKS: f64 = 330.0;
/// Room of the line below "no value".
const NOTE: f64 = 24.0;
const SWATCH: f64 = 46.0;
/// From a mark to what it means.
const INDENT: f64 = 40.0;
/// From a name to what it means.
const NAME_INDENT: f64 = 66.0;
const MARK_LINE: f64 = 28.0;
/// Room of an area's interval, in a narrow table and in another.
const INTERVAL: (f64, f64) = (100.0, 114.0);
/// Room of a share, `100 %`, and of the words above it, in a narrow table and in another.
const SHARE: (f64, f64) = (82.0, 92.0);
/// Room of an area, `0.038 ac`, and before it.
const AREA: f64 = 104.0;
/// A narrower table is narrow.
const NARROW: f64 = 450.0;
/// From here on the marks stand beside the classes, not below.
const WIDE: f64 = 600.0;
/// From the classes to the marks beside them.
const BESIDE: f64 = 28.0;
/// The classes' table is no wider: a row must be read across.
const WIDEST_TABLE: f64 = 500.0;

/// What a legend explains.
#[derive(Debug, Default)]
pub(crate) struct Legend {
    pub title: String,
    /// A line below the title.
    pub caption: Option<String>,
    pub rows: Vec<Row>,
    pub marks: Vec<(Mark, String)>,
    /// Words that stand on the map, with what they mean.
    pub names: Vec<(String, String)>,
}

/// One row: a swatch, what it means, how much ground.
#[derive(Debug)]
pub(crate) struct Row {
    pub swatch: Paint,
    pub name: String,
    /// A line below, where there is such ground.
    pub note: Option<String>,
    pub area_m2: f64,
    /// How little and how much it may be, without the unit.
    pub interval: Option<String>,
}

impl Row {
    /// The row of ground without a value.
    pub fn no_value(note: Option<String>, area_m2: f64) -> Row {
        Row {
            swatch: Paint::pattern(NO_VALUE),
            name: "no value".into(),
            note,
            area_m2,
            interval: None,
        }
    }
}

/// The legend of a survey's map.
pub(crate) struct LegendPanel<'a> {
    pub field: &'a Field,
    pub units: UnitSystem,
    pub legend: Legend,
}

impl LegendPanel<'_> {
    /// Height that the legend needs where it has so much width.
    pub fn height(&self, width: f64) -> f64 {
        self.height_of_rows(width, ROW.1)
    }

    /// The same with its lowest rows.
    pub fn least_height(&self, width: f64) -> f64 {
        self.height_of_rows(width, ROW.0)
    }

    fn height_of_rows(&self, width: f64, row: f64) -> f64 {
        let classes = self.head() + NOTE + self.legend.rows.len() as f64 * row;
        match width < WIDE {
            true => classes + self.marks_height(width),
            false => {
                let table = self.table_width(width);
                classes.max(self.marks_height(width - table - BESIDE))
            }
        }
    }

    /// Room of the title and the line below it.
    fn head(&self) -> f64 {
        if self.legend.caption.is_some() { 36.0 + CAPTION } else { 36.0 }
    }

    /// Draws the legend into a rectangle.
    pub fn draw(&self, svg: &mut Svg, place: Rect) {
        if place.width < WIDE {
            let marks = MARKS.max(self.marks_height(place.width));
            let foot = self.draw_classes(svg, place, self.row_height(place.height - marks));
            self.draw_marks(svg, place.trim(0.0, foot - place.top + 30.0, 0.0, 0.0));
            return;
        }
        let (classes, marks) = place.split_left(self.table_width(place.width), BESIDE);
        self.draw_classes(svg, classes, self.row_height(place.height));
        self.draw_marks(svg, marks);
    }

    /// Width of the table of classes beside the marks; names longer than usual get their room where
    /// there is some.
    fn table_width(&self, width: f64) -> f64 {
        let name = |row: &Row| fonts::width(&row.name, SIZE, Weight::Regular);
        let widest = self.legend.rows.iter().map(name).fold(0.0, f64::max);
        let needed = (SWATCH + 14.0 + widest + AREA + SHARE.1).min(width * 0.6);
        let usual = (width * if self.has_intervals() { 0.65 } else { 0.54 }).min(WIDEST_TABLE);
        usual.max(needed)
    }

    fn has_intervals(&self) -> bool {
        self.legend.rows.iter().any(|row| row.interval.is_some())
    }

    /// Height of a row of the table of classes where there is so much room.
    fn row_height(&self, room: f64) -> f64 {
        ((room - self.head() - NOTE) / self.legend.rows.len() as f64).clamp(ROW.0, ROW.1)
    }

    /// Draws the table of classes and returns where it ends.
    fn draw_classes(&self, svg: &mut Svg, place: Rect, height: f64) -> f64 {
        heading(svg, &self.legend.title, place);
        let share_right = place.right();
        let is_narrow = self.has_intervals() && place.width < NARROW;
        let interval_right = share_right - if is_narrow { SHARE.0 } else { SHARE.1 };
        let area_right = match self.has_intervals() {
            true if is_narrow => interval_right - INTERVAL.0,
            true => interval_right - INTERVAL.1,
            false => interval_right,
        };
        let small = Type::regular(SMALL).colour(SOFT_INK).anchor(Anchor::End);
        svg.text("ground", (area_right, place.top + 20.0), small);
        svg.text("of field", (share_right, place.top + 20.0), small);
        if self.has_intervals() {
            svg.text("80 % int.", (interval_right, place.top + 20.0), small);
        }
        if let Some(caption) = &self.legend.caption {
            draw_caption(svg, caption, place);
        }
        let mut top = place.top + self.head();
        for row in &self.legend.rows {
            let none = row.area_m2 <= 0.0;
            let base = top + height / 2.0 + SIZE * 0.36;
            let style = match none {
                true => Type::regular(SIZE).colour(DIM),
                false => Type::regular(SIZE),
            };
            let swatch = Rect::new(place.left, top + 3.0, SWATCH, height - 6.0);
            svg.rect(swatch, row.swatch.edge(HAIRLINE, 1.2));
            let left = place.left + SWATCH + 14.0;
            let area = match none {
                true => "none".into(),
                false => area_text(row.area_m2, self.field, self.units),
            };
            let area_right = if none { share_right } else { area_right };
            let room = area_right - fonts::width(&area, SIZE, Weight::Regular) - 3.0 - left;
            let name = fonts::shorten(&row.name, SIZE, Weight::Regular, room);
            svg.text(&name, (left, base), style);
            svg.text(&area, (area_right, base), style.anchor(Anchor::End));
            if !none {
                let share = share_text(row.area_m2 / self.field.ground_area_m2());
                svg.text(&share, (share_right, base), style.anchor(Anchor::End));
            }
            if let Some(interval) = &row.interval {
                svg.text(interval, (interval_right, base), small);
            }
            top += height;
            if let (Some(note), false) = (&row.note, none) {
                let style = Type::regular(SMALL).colour(SOFT_INK);
                svg.text(note, (place.left + SWATCH + 14.0, top + 15.0), style);
                top += NOTE;
            }
        }
        top
    }

    /// Height of the marks where they have so much width.
    fn marks_height(&self, width: f64) -> f64 {
        let rows = self.legend.marks.iter().map(|(_, words)| (words, width - INDENT));
        let names = self.legend.names.iter().map(|(_, words)| (words, width - NAME_INDENT));
        let height = |(words, room): (&String, f64)| {
            fonts::wrap(words, SIZE, Weight::Regular, room).len() as f64 * MARK_LINE + 8.0
        };
        30.0 + 36.0 + rows.chain(names).map(height).sum::<f64>()
    }

    /// Draws what the marks mean.
    fn draw_marks(&self, svg: &mut Svg, place: Rect) {
        heading(svg, "Marks", place);
        let room = place.width - INDENT;
        let mut base = place.top + 36.0 + 23.0;
        for (mark, words) in &self.legend.marks {
            mark.draw(svg, (place.left + 12.0, base - SIZE * 0.36), MARK * 1.15);
            for line in fonts::wrap(words, SIZE, Weight::Regular, room) {
                svg.text(&line, (place.left + INDENT, base), Type::regular(SIZE));
                base += MARK_LINE;
            }
            base += 8.0;
        }
        for (name, words) in &self.legend.names {
            svg.text(name, (place.left - 4.0, base), Type::semi_bold(SIZE));
            for line in fonts::wrap(words, SIZE, Weight::Regular, place.width - NAME_INDENT) {
                svg.text(&line, (place.left + NAME_INDENT, base), Type::regular(SIZE));
                base += MARK_LINE;
            }
            base += 8.0;
        }
    }
}

/// The row of marks for places without a reading, if there are any.
pub(crate) fn no_reading(survey: &CheckedSurvey) -> Option<(Mark, String)> {
    let reasons = [(NoReading::Refused, "stopped by a stone"), (NoReading::Skipped, "skipped")];
    let reasons: Vec<String> = reasons
        .into_iter()
        .map(|(why, words)| (survey.count_without(why), words))
        .filter(|(count, _)| *count > 0)
        .map(|(count, words)| format!("{count} {words}"))
        .collect();
    (!reasons.is_empty()).then(|| (Mark::NoReading, format!("no reading: {}", reasons.join(", "))))
}

/// The depth unit in full: numbers beside marks stand without it.
pub(crate) fn depth_unit_name(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "inches",
        UnitSystem::Si => "centimetres",
    }
}

/// Room of the line below a heading.
pub(crate) const CAPTION: f64 = 28.0;

/// A line below a panel's heading: under what conditions its figures hold.
pub(crate) fn draw_caption(svg: &mut Svg, words: &str, place: Rect) {
    let words = fonts::shorten(words, SMALL, Weight::Regular, place.width);
    let style = Type::regular(SMALL).colour(SOFT_INK);
    svg.text(&words, (place.left, place.top + 20.0 + CAPTION), style);
}

/// A panel's heading, at the top of its rectangle.
pub(crate) fn heading(svg: &mut Svg, words: &str, place: Rect) {
    svg.text(words, (place.left, place.top + 20.0), Type::semi_bold(25.0));
}
