//! Readings against the marks of the rod, and units typed wrong.

use super::Checking;
use crate::finding::Finding;
use crate::insertion::{DepthUnit, Insertion, Measured, Outcome};
use crate::units::{Depth, tidy};

/// Steps that rods are marked in (common practice), the coarsest first.
const STEPS_IN: [f64; 3] = [3.0, 2.0, 1.0];
const STEPS_CM: [f64; 3] = [10.0, 5.0, 2.5];

/// So many readings on one step, of all, show that a rod with marks was read.
const ON_MARKS: f64 = 0.9;

/// Fewer readings show nothing.
const ENOUGH: usize = 10;

impl Checking<'_> {
    /// Doubts about depths on no mark of the rod, deeper than it, or in another unit than said.
    pub(super) fn doubt_marks(&mut self, insertions: &[&Insertion]) {
        for (unit, steps) in
            [(DepthUnit::Inches, &STEPS_IN[..]), (DepthUnit::Centimetres, &STEPS_CM[..])]
        {
            let read: Vec<(&Insertion, f64)> = insertions
                .iter()
                .filter(|insertion| insertion.depth_unit == Some(unit))
                .filter_map(|insertion| Some((*insertion, number(insertion, unit)?)))
                .collect();
            if read.len() < ENOUGH {
                continue;
            }
            if unit == DepthUnit::Centimetres && looks_like_inches(&read) {
                self.findings.push(Finding::doubt(
                    "the depths are said to be centimetres, but all lie on the 3-inch marks of a rod \
                     (0, 3, … 24)",
                    "used as centimetres; are they inches?",
                ));
                continue;
            }
            let on_step = |step: f64| read.iter().filter(|(_, n)| is_on(*n, step)).count() as f64;
            let enough = ON_MARKS * read.len() as f64;
            if let Some(step) = steps.iter().copied().find(|&step| on_step(step) >= enough) {
                for (insertion, number) in read.iter().filter(|(_, n)| !is_on(*n, step)) {
                    let unit = unit.name();
                    self.doubt(
                        insertion,
                        format!(
                            "{} {unit} is on no mark of the rod, which has one every {} {unit}",
                            tidy(*number, 3),
                            tidy(step, 2)
                        ),
                    );
                }
            }
        }
        self.doubt_deeper_than_rod(insertions);
    }

    /// Where several insertions ended at one depth without reaching the threshold, that is the rod.
    fn doubt_deeper_than_rod(&mut self, insertions: &[&Insertion]) {
        let ends: Vec<Depth> = insertions
            .iter()
            .filter_map(|insertion| match insertion.measured {
                Measured::Once(Outcome::NotReached { probed_to }) => Some(probed_to),
                _ => None,
            })
            .collect();
        let same = |a: Depth, b: Depth| (a.cm() - b.cm()).abs() < 0.1;
        let count = |depth: Depth| ends.iter().filter(|end| same(**end, depth)).count();
        let Some(rod) = ends.iter().copied().max_by_key(|&end| count(end)) else { return };
        if count(rod) < 3 {
            return;
        }
        for insertion in insertions {
            if let Measured::Once(Outcome::Reached(depth)) = insertion.measured
                && depth.cm() > rod.cm() + 0.1
            {
                let (depth, rod) = (depth.in_both_units(), rod.in_both_units());
                self.doubt(
                    insertion,
                    format!("{depth} is deeper than the rod, which ends at {rod}"),
                );
            }
        }
    }
}

/// A single depth in the unit it was given in.
fn number(insertion: &Insertion, unit: DepthUnit) -> Option<f64> {
    match insertion.measured {
        Measured::Once(Outcome::Reached(depth)) => Some(depth.m() / unit.depth(1.0).m()),
        _ => None,
    }
}

fn is_on(number: f64, step: f64) -> bool {
    (number / step - (number / step).round()).abs() < 1e-6
}

/// Whether all readings are whole multiples of 3 up to 24, and not all of them of 5 as well.
fn looks_like_inches(read: &[(&Insertion, f64)]) -> bool {
    let on = |step: f64| read.iter().filter(|(_, number)| is_on(*number, step)).count();
    let largest = read.iter().map(|(_, number)| *number).fold(0.0, f64::max);
    on(3.0) == read.len() && largest <= 24.0 && on(5.0) < read.len()
}
