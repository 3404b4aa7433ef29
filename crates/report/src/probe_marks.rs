//! The marks of the probe points on a map, with what was read beside them.

use survey::{CheckedSurvey, Field, Reading, UnitSystem};

use crate::estimate::PairedSpot;
use crate::fonts::CAP_HEIGHT;
use crate::frame::Rect;
use crate::labels::{Taken, around, beside};
use crate::marks::Mark;
use crate::palette::{PAPER, Rgb, ink_on};
use crate::svg::{Anchor, Svg, Type};
use crate::view::View;
use crate::wording::{between_text, reading_text};

/// Size of a reading's number.
const READING: f64 = 20.0;
/// Radius of a mark where probes stand far apart.
pub(crate) const MARK: f64 = 7.0;

/// The marks of a survey on the page.
pub(crate) struct ProbeMarks {
    /// What stands where, with its label.
    marks: Vec<(Mark, (f64, f64), String)>,
    pub radius: f64,
}

impl ProbeMarks {
    /// Marks chosen by reading, each labelled with it.
    pub fn new(
        survey: &CheckedSurvey,
        units: UnitSystem,
        view: &View,
        mark: impl Fn(Reading) -> Mark,
    ) -> Self {
        let without = survey.without_reading().iter();
        let without =
            without.map(|(place, _)| (Mark::NoReading, view.on_page(*place), String::new()));
        let spots = survey.spots().iter().map(|spot| {
            let label = reading_text(spot.reading, units);
            (mark(spot.reading), view.on_page(spot.position), label)
        });
        let radius = radius(survey.spacing_m(), view);
        ProbeMarks { marks: without.chain(spots).collect(), radius }
    }

    /// Spots that two visits read, each labelled with its change: a circle where it is known, a triangle
    /// where it is no more than a bound, a square where nothing is known.
    pub fn of_pairs(pairs: &[PairedSpot], field: &Field, units: UnitSystem, view: &View) -> Self {
        let of_pair = |pair: &PairedSpot| {
            let mark = Mark::of_change(pair.change);
            let label = match mark {
                Mark::Unknown => String::new(),
                _ => between_text(pair.change, units),
            };
            (mark, view.on_page(pair.position), label)
        };
        let spacing_m = (field.plane_area_m2() / pairs.len().max(1) as f64).sqrt();
        ProbeMarks { marks: pairs.iter().map(of_pair).collect(), radius: radius(spacing_m, view) }
    }

    /// Without the readings beside the marks.
    pub fn unlabelled(mut self) -> Self {
        for (_, _, label) in &mut self.marks {
            label.clear();
        }
        self
    }

    /// Where the marks stand.
    pub fn places(&self) -> Vec<(f64, f64)> {
        self.marks.iter().map(|&(_, at, _)| at).collect()
    }

    /// Keeps labels off the marks.
    pub fn take(&self, taken: &mut Taken) {
        for &(_, at, _) in &self.marks {
            taken.take(around(at, 2.0 * self.radius + 3.0, 2.0 * self.radius + 3.0));
        }
    }

    /// Draws marks and labels; the ground's colour at a place decides the ink, and `None` is beyond
    /// the outline.
    pub fn draw(
        &self,
        svg: &mut Svg,
        taken: &mut Taken,
        ground_at: impl Fn((f64, f64)) -> Option<Rgb>,
    ) {
        for (mark, at, label) in &self.marks {
            mark.draw(svg, *at, self.radius);
            if label.is_empty() {
                continue;
            }
            let rank = |rect: &Rect| legibility(&ground_at, rect);
            if let Some(foot) = beside(taken, label, READING, *at, self.radius, rank) {
                let middle = (foot.0, foot.1 - READING * CAP_HEIGHT / 2.0);
                let (ink, halo) = ink_on(ground_at(middle).unwrap_or(PAPER));
                let style = Type::regular(READING).colour(ink).halo(halo, 2.5);
                svg.text(label, foot, style.anchor(Anchor::Middle));
            }
        }
    }
}

/// Marks shrink where probes stand close.
fn radius(spacing_m: f64, view: &View) -> f64 {
    (spacing_m * view.scale * 0.16).clamp(2.2, MARK)
}

/// Rank of a place for a label: best on one colour, then across colours, never across the outline.
fn legibility(ground_at: impl Fn((f64, f64)) -> Option<Rgb>, rect: &Rect) -> Option<u8> {
    let middle = ground_at(rect.middle())?;
    let mut rank = 0;
    for corner in rect.corners() {
        rank |= u8::from(ground_at(corner)? != middle);
    }
    Some(rank)
}
