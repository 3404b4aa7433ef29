//! The dial: a gauge read on the scale of the other cone.

use super::{Checking, name};
use crate::finding::Finding;
use crate::insertion::{Insertion, Measured};

/// Ratio of the base areas of the two standard cones, 322.7 and 129.3 mm² (base diameters 20.27 and
/// 12.83 mm, USDA Forest Service T&D 0524-2837-MTDC, Kees 2005): what reading the wrong scale does.
const CONES: f64 = 322.7 / 129.3;

/// How far off that ratio a block of profiles may be, as a factor.
const ABOUT: f64 = 1.2;

/// A block of fewer profiles shows nothing, and as many others must remain.
const ENOUGH: usize = 5;

/// Longer surveys are searched in steps, so that the work stays small.
const MOST_STARTS: usize = 400;

impl Checking<'_> {
    /// A doubt about a run of profiles, in file order, whose mean cone index is about 2.5 times that
    /// of the others, or 2.5 times less. The run that stands off most clearly is named.
    pub(super) fn doubt_dial(&mut self, insertions: &[&Insertion]) {
        let logs: Vec<(&Insertion, f64)> = insertions
            .iter()
            .filter_map(|insertion| Some((*insertion, mean_log_pressure(insertion)?)))
            .collect();
        let Some((from, to, factor)) = block(&logs.iter().map(|(_, log)| *log).collect::<Vec<_>>())
        else {
            return;
        };
        let (first, last) = (logs[from].0, logs[to - 1].0);
        let kind = self.survey.kind;
        self.findings.push(Finding::doubt(
            format!(
                "the {} profiles from {} to {} read {factor:.1} times the others: the ratio of the two \
                 standard cones is 2.5",
                to - from,
                name(kind, first),
                name(kind, last)
            ),
            "used as they are; was the dial read on the other cone's scale?",
        ));
    }
}

/// Mean logarithm of a profile's pressures above zero.
fn mean_log_pressure(insertion: &Insertion) -> Option<f64> {
    let Measured::Profile(profile) = &insertion.measured else { return None };
    let logs: Vec<f64> = profile
        .readings()
        .iter()
        .map(|reading| reading.pressure.pa())
        .filter(|pa| *pa > 0.0)
        .map(libm::log)
        .collect();
    (!logs.is_empty()).then(|| logs.iter().sum::<f64>() / logs.len() as f64)
}

/// The run whose mean stands off from that of the others most clearly, where that is by about the
/// ratio of the cones: its first and one past its last, and the factor.
fn block(logs: &[f64]) -> Option<(usize, usize, f64)> {
    let count = logs.len();
    let sums: Vec<f64> = std::iter::once(0.0)
        .chain(logs.iter().scan(0.0, |sum, log| {
            *sum += log;
            Some(*sum)
        }))
        .collect();
    let step = count.div_ceil(MOST_STARTS).max(1);
    let mut clearest: Option<(f64, usize, usize, f64)> = None;
    for from in (0..count).step_by(step) {
        for to in (from + ENOUGH..=count).step_by(step).filter(|to| count - (to - from) >= ENOUGH) {
            let (inside, outside) = ((to - from) as f64, (count - (to - from)) as f64);
            let sum = sums[to] - sums[from];
            let difference = sum / inside - (sums[count] - sum) / outside;
            // The variance between the two groups: large where the parting is clear.
            let clarity = difference * difference * inside * outside;
            if clearest.is_none_or(|(best, ..)| clarity > best) {
                clearest = Some((clarity, from, to, difference));
            }
        }
    }
    let (_, from, to, difference) = clearest?;
    let factor = libm::exp(difference);
    let is_cones = |factor: f64| (CONES / ABOUT..=CONES * ABOUT).contains(&factor);
    (is_cones(factor) || is_cones(1.0 / factor)).then_some((from, to, factor))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_that_stands_off_by_the_ratio_of_the_cones_is_found() {
        let plain = |k: usize| 6.0 + 0.1 * ((k * 7 % 5) as f64 - 2.0);
        let mut logs: Vec<f64> = (0..30).map(plain).collect();
        assert!(block(&logs).is_none(), "nothing stands off");
        logs[10..18].iter_mut().for_each(|log| *log += CONES.ln());
        let (from, to, factor) = block(&logs).unwrap();
        assert_eq!((from, to), (10, 18));
        assert!((factor - CONES).abs() < 0.2, "{factor}");
        logs[10..18].iter_mut().for_each(|log| *log += 1.0);
        assert!(block(&logs).is_none(), "nearly seven times is something else");
    }
}
