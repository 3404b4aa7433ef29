//! A made-up trial on a sample's field for the tests, with a page of it.

use geo::{BoundingRect, Contains, Coord, MultiPolygon, Rect};

use crate::estimate::Estimate;
use crate::testing::Sample;
use crate::testing_change::{Changed, DRIER};
use crate::trial_page::{TrialPage, TrialStrip};

/// A sample with strips across its field.
pub(crate) struct Trial {
    pub changed: Changed,
    pub names: Vec<String>,
    grounds: Vec<MultiPolygon>,
    changes_cm: Vec<Vec<f64>>,
    pub to_settle: Vec<String>,
    pub notes: Vec<String>,
}

impl Trial {
    /// So many strips side by side with ground between them, every second one a check.
    pub fn new(sample: Sample, count: usize) -> Self {
        let changed = Changed::new(sample);
        let field = changed.sample.survey.field().polygons().bounding_rect().unwrap();
        let step = field.width() / count.max(1) as f64;
        let ground = |k: usize| {
            let west = field.min().x + (k as f64 + 0.15) * step;
            let margin = 0.06 * field.height();
            let low = Coord { x: west, y: field.min().y + margin };
            let high = Coord { x: west + 0.7 * step, y: field.max().y - margin };
            MultiPolygon(vec![Rect::new(low, high).to_polygon()])
        };
        let grounds: Vec<MultiPolygon> = (0..count).map(ground).collect();
        let changes = |ground: &MultiPolygon| {
            let inside =
                changed.pairs.iter().filter(|pair| ground.contains(&Coord::from(pair.position)));
            let known = inside.filter(|pair| pair.change.low_cm == pair.change.high_cm);
            known.map(|pair| pair.change.low_cm).collect::<Vec<f64>>()
        };
        let name = |k: usize| format!("{}{}", if k % 2 == 1 { "C" } else { "T" }, k / 2 + 1);
        Trial {
            changes_cm: grounds.iter().map(changes).collect(),
            names: (0..count).map(name).collect(),
            grounds,
            changed,
            to_settle: vec![
                "Six more pairs of strips, chosen by lot, would bring the interval below 1.5 in either way."
                    .into(),
                "A visit at 31–37 % soil moisture, as before the treatment.".into(),
            ],
            notes: vec![
                "Randomisation test over 252 ways to choose the treated strips: p = 0.087.".into(),
                "Strips are the units, not probes: probes of one strip are not independent.".into(),
                "Seven probes that did not reach the threshold on either date are left out.".into(),
            ],
        }
    }

    pub fn strips(&self) -> Vec<TrialStrip<'_>> {
        (0..self.names.len())
            .map(|k| {
                let changes_cm = &self.changes_cm[k];
                let sum: f64 = changes_cm.iter().sum();
                TrialStrip {
                    name: &self.names[k],
                    is_check: k % 2 == 1,
                    polygons: &self.grounds[k],
                    // Without a probe 0 / 0, which is NaN.
                    mean_change_cm: sum / changes_cm.len() as f64,
                    changes_cm,
                    probes: changes_cm.len(),
                }
            })
            .collect()
    }

    pub fn page<'a>(&'a self, title: &'a str, strips: &'a [TrialStrip<'a>]) -> TrialPage<'a> {
        TrialPage {
            title,
            field: self.changed.sample.survey.field(),
            units: self.changed.sample.map.classes.units(),
            visits: [&self.changed.visits[0], &self.changed.visits[1]],
            moisture: DRIER,
            treatment: "subsoiled in May",
            strips,
            pairs: &self.changed.pairs,
            effect: Some(Estimate {
                mean_cm: 4.1,
                interval_cm: [-0.9, 9.1],
                confidence: 0.95,
                count: strips.len(),
            }),
            matters_cm: Some(5.08),
            verdict: "Not settled: treated strips may have become up to 3.6 in deeper than the checks, or \
                      0.4 in thinner.",
            to_settle: &self.to_settle,
            notes: &self.notes,
        }
    }
}
