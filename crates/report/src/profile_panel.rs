//! The panel beside a chart of profiles: what its lines mean, and what is known of the tight layer.

use survey::{Combined, LayersFound, Reading, Threshold, UnitSystem};

use crate::fonts::{self, Weight};
use crate::frame::Rect;
use crate::group_style::{GroupStyle, MOST_GROUPS};
use crate::legend::heading;
use crate::palette::{HAIRLINE, INK, Rgb};
use crate::profile_chart::{MOST_BANDS, TIGHT, usual_layer};
use crate::profile_page::{ProfileGroup, ProfilePage};
use crate::svg::{Paint, Svg, Type};
use crate::wording::count_text;

const SIZE: f64 = 22.0;
const LINE: f64 = 30.0;
/// Room of a line's sample.
const SAMPLE: f64 = 62.0;
/// A band by itself: the first group's blue at the opacity of the chart's bands, on
/// paper.
const BAND: Rgb = Rgb(0xcc, 0xe3, 0xf0);

/// The panel beside the chart, filled from the top.
pub(crate) struct Panel<'a> {
    svg: &'a mut Svg,
    place: Rect,
    /// Where the next line stands.
    top: f64,
}

impl<'a> Panel<'a> {
    pub fn new(svg: &'a mut Svg, place: Rect) -> Self {
        let top = place.top;
        Panel { svg, place, top }
    }

    pub fn draw(mut self, page: &ProfilePage) {
        self.heading("Lines");
        let drawn = page.groups.len().min(MOST_GROUPS);
        for (k, group) in page.groups[..drawn].iter().enumerate() {
            let y = self.top + LINE / 2.0;
            GroupStyle::of(k).draw_sample(self.svg, (self.place.left, y), SAMPLE);
            let name = group.name.trim();
            let count = count_text(group.profiles, "profile");
            let room =
                self.place.width - SAMPLE - 80.0 - fonts::width(&count, SIZE, Weight::Regular);
            let name = fonts::shorten(name, SIZE, Weight::Regular, room);
            self.lines(&format!("{name}: median of {count}"), SAMPLE + 16.0);
        }
        if drawn < page.groups.len() {
            let rest = count_text(page.groups.len() - drawn, "more group");
            self.lines(&format!("{rest}: only in the table"), SAMPLE + 16.0);
        }
        self.band(drawn);
        self.thresholds(page);
        self.layers(page, drawn);
        if page.groups.iter().any(ProfileGroup::count_falls) {
            self.heading("Where the count falls");
            self.lines(
                "Some rods stopped above the greatest depth, most often in hard ground. Below the \
                 first stop the line is that of the softer spots: too low.",
                0.0,
            );
        }
        if !page.notes.is_empty() {
            self.heading("Notes");
            for note in page.notes {
                self.lines(note, 0.0);
            }
        }
    }

    fn band(&mut self, groups: usize) {
        if groups > MOST_BANDS {
            self.lines("no bands of quartiles: too many groups to tell them apart", 0.0);
            return;
        }
        let swatch = Rect::new(self.place.left, self.top + 3.0, SAMPLE, LINE - 6.0);
        self.svg.rect(swatch, Paint::fill(BAND));
        self.lines("band: from lower to upper quartile", SAMPLE + 16.0);
    }

    fn thresholds(&mut self, page: &ProfilePage) {
        if page.thresholds.is_empty() {
            return;
        }
        let y = self.top + LINE / 2.0;
        let mut left = self.place.left;
        while left < self.place.left + SAMPLE {
            let ends = ((left, y), ((left + 12.0).min(self.place.left + SAMPLE), y));
            self.svg.line(ends.0, ends.1, Paint::stroke(INK, 2.0));
            left += 20.0;
        }
        let list: Vec<String> = page.thresholds.iter().map(Threshold::to_string).collect();
        let noun = if list.len() == 1 { "threshold" } else { "thresholds" };
        self.lines(&format!("{noun}: {}", list.join(", ")), SAMPLE + 16.0);
    }

    /// What is known of each group's tight layer.
    fn layers(&mut self, page: &ProfilePage, drawn: usize) {
        let Some(threshold) = page.thresholds.first() else {
            return;
        };
        self.heading(&format!("Tight layer: {threshold} or more"));
        let groups = &page.groups[..drawn];
        let usual: Vec<LayersFound> = groups.iter().filter_map(usual_layer).collect();
        if let Some(layers) = usual.first() {
            let ends = match layers.bottom.reading.is_not_reached() {
                true if groups.len() == 1 => "from median top down, bottom open",
                _ => "median top to median bottom",
            };
            if groups.len() == 1 {
                let swatch = Rect::new(self.place.left, self.top + 3.0, SAMPLE, LINE - 6.0);
                self.svg.rect(swatch, Paint::fill(TIGHT).edge(HAIRLINE, 1.2));
                self.lines(&format!("shaded: {ends}"), SAMPLE + 16.0);
            } else {
                self.lines(
                    &format!("bars at the right: {ends}, without an end where it is open"),
                    0.0,
                );
            }
        }
        for group in groups {
            self.lines(&layer_text(page, group), 0.0);
        }
    }

    fn heading(&mut self, words: &str) {
        if self.top > self.place.top {
            self.top += 22.0;
        }
        if self.has_room(3.0) {
            let place = Rect { top: self.top, ..self.place };
            heading(self.svg, words, place);
        }
        self.top += 38.0;
    }

    fn has_room(&self, lines: f64) -> bool {
        self.top + lines * LINE <= self.place.bottom()
    }

    /// Wrapped text, indented. What does not fit into the panel is left out, and `…` says so.
    fn lines(&mut self, words: &str, indent: f64) {
        let room = self.place.width - indent;
        for line in fonts::wrap(words, SIZE, Weight::Regular, room) {
            let at = (self.place.left + indent, self.top + 22.0);
            match (self.has_room(2.0), self.has_room(1.0)) {
                (true, _) => self.svg.text(&line, at, Type::regular(SIZE)),
                (false, true) => {
                    self.svg.text("… the rest is in the table", at, Type::regular(SIZE));
                }
                (false, false) => return,
            }
            self.top += LINE;
        }
        self.top += 6.0;
    }
}

/// The tight layer of a group in words, with its name where there are several groups.
pub(crate) fn layer_text(page: &ProfilePage, group: &ProfileGroup) -> String {
    let name = match page.groups.len() {
        1 => String::new(),
        _ => format!("{}: ", group.name.trim()),
    };
    let Some(tight) = group.tight else {
        return format!("{name}no profile");
    };
    let all = tight.loose.count;
    let Some(layers) = tight.layers else {
        return format!("{name}never reached in {}", count_text(all, "probe"));
    };
    let found = layers.top.count;
    format!("{name}in {found} of {}; {}", count_text(all, "probe"), ends_text(layers, page.units))
}

/// Medians of top, bottom and thickness.
fn ends_text(layers: LayersFound, units: UnitSystem) -> String {
    let top = depth_text(layers.top, units);
    let bottom = match (layers.bottom.reading, layers.bottom.not_reached) {
        (Reading::NotReached { .. }, _) => "bottom not measured (dig or probe on)".into(),
        (Reading::Reached(depth), 0) => format!("bottom {}", units.depth_text(depth)),
        (Reading::Reached(depth), open) => format!(
            "bottom {} (an estimate: {open} of them ended above theirs)",
            units.depth_text(depth)
        ),
    };
    let thickness = depth_text(layers.thickness, units);
    format!("their medians: top {top}, {bottom}, thickness {thickness}")
}

fn depth_text(combined: Combined, units: UnitSystem) -> String {
    let depth = units.depth_text(combined.reading.at_least());
    match combined.reading.is_not_reached() {
        true => format!("at least {depth}"),
        false => depth,
    }
}
