//! A made-up change of a sample's depths for the tests, with a page of it.

use geostat::Raster;
use survey::{CheckedSurvey, Moisture, UnitSystem};

use crate::change_page::{ChangePage, TransitionTable, change_limits_cm};
use crate::estimate::{Between, Estimate, PairedSpot};
use crate::notice::Notice;
use crate::testing::Sample;
use crate::value_classes::ValueClasses;
use crate::visit_facts::VisitFacts;

/// A sample with what a page of change needs.
pub(crate) struct Changed {
    pub sample: Sample,
    pub visits: [VisitFacts; 2],
    pub change_cm: Raster,
    pub half_width_cm: Raster,
    pub limits_cm: Vec<f64>,
    pub class_areas_m2: Vec<f64>,
    /// Within its uncertainty, thinner and deeper.
    pub sums_m2: [f64; 3],
    pub pairs: Vec<PairedSpot>,
    pub class_names: Vec<String>,
    pub transitions_m2: Vec<Vec<f64>>,
    pub notes: Vec<String>,
}

pub(crate) const DRIER: Notice = Notice {
    words: "The change is not evidence of compaction or loosening: the soil was drier later (16.0 % \
            against 34.0 %, more than 3 percentage points apart), and moisture moves these readings more \
            than density does.",
    is_warning: true,
};
pub(crate) const MATCHED: Notice =
    Notice { words: "Moisture matches: 34.0 % earlier, 33.1 % later.", is_warning: false };

/// A moisture with its range.
pub(crate) fn moisture(mean_pct: f64) -> Option<Moisture> {
    Some(Moisture { mean_pct, min_pct: mean_pct - 4.0, max_pct: mean_pct + 5.0, insertions: 96 })
}

/// What is said of a visit on a day.
pub(crate) fn visit(day: &str, mean_pct: Option<f64>) -> VisitFacts {
    let day = day.parse().unwrap();
    VisitFacts {
        name: String::new(),
        days: Some((day, day)),
        probes: 108,
        moisture: mean_pct.and_then(moisture),
    }
}

impl Changed {
    pub fn new(sample: Sample) -> Self {
        let units = sample.map.classes.units();
        let depth_cm = &sample.map.depth_cm;
        let grid = depth_cm.grid;
        let change = |(k, &cm): (usize, &f64)| {
            let east = (k % grid.columns()) as f64 / grid.columns() as f64;
            let north = (k / grid.columns()) as f64 / grid.rows() as f64;
            let tilt = 26.0 * libm::sin(3.0 * east + 1.6 * north) * libm::cos(2.2 * north - east);
            (8.0 - tilt - 0.2 * cm).clamp(-30.0, 28.0)
        };
        let values = depth_cm.values.iter().enumerate();
        let change_cm = Raster {
            grid,
            values: values
                .map(|cell| if cell.1.is_nan() { f64::NAN } else { change(cell) })
                .collect(),
        };
        let half_width_cm = Raster {
            grid,
            values: (0..grid.cells())
                .map(|k| 4.0 + 4.0 * (k % grid.columns()) as f64 / grid.columns() as f64)
                .collect(),
        };
        let limits_cm = change_limits_cm(units).to_vec();
        let ground_m2 = sample.map.field_area_m2 - sample.map.unmapped.ground_area_m2;
        let (class_areas_m2, sums_m2) =
            areas(&change_cm, &half_width_cm, &limits_cm, units, ground_m2);
        let classes = &sample.map.classes;
        let class_names: Vec<String> =
            (0..classes.len()).map(|class| classes.name(class)).collect();
        let transitions_m2 = transitions(&sample, &change_cm, ground_m2);
        let pairs = pairs(&sample.survey, &change_cm);
        Changed {
            visits: [visit("2025-04-14", Some(34.0)), visit("2025-06-09", Some(16.0))],
            notes: vec![
                "Half-widths are 1.96 times the root of the sum of both maps' squared standard errors; \
                 errors of both visits are taken as independent."
                    .into(),
                "Wilcoxon signed rank over 96 pairs: V = 511, p < 0.001, ties and zeros by Pratt. Seven \
                 pairs whose two readings were both not reached are left out of it."
                    .into(),
                "Of both maps' classes 71 % agree (kappa 0.58); 24 % lie in a shallower class."
                    .into(),
            ],
            sample,
            change_cm,
            half_width_cm,
            limits_cm,
            class_areas_m2,
            sums_m2,
            pairs,
            class_names,
            transitions_m2,
        }
    }

    pub fn page<'a>(&'a self, title: &'a str) -> ChangePage<'a> {
        ChangePage {
            title,
            field: self.sample.survey.field(),
            units: self.sample.map.classes.units(),
            visits: [&self.visits[0], &self.visits[1]],
            moisture: DRIER,
            change_cm: &self.change_cm,
            half_width_cm: Some(&self.half_width_cm),
            confidence: 0.95,
            limits_cm: &self.limits_cm,
            class_areas_m2: &self.class_areas_m2,
            within_m2: self.sums_m2[0],
            unmapped_m2: self.sample.map.unmapped.ground_area_m2,
            thinner_m2: self.sums_m2[1],
            deeper_m2: self.sums_m2[2],
            pairs: &self.pairs,
            paired: Some(Estimate {
                mean_cm: -5.3,
                interval_cm: [-7.4, -3.2],
                confidence: 0.95,
                count: self.pairs.len(),
            }),
            transitions: Some(TransitionTable {
                class_names: &self.class_names,
                areas_m2: &self.transitions_m2,
            }),
            verdict: "At equal moisture the loose layer would count as thinner on a third of the field.",
            notes: &self.notes,
        }
    }
}

/// Ground of each class, then within, thinner and deeper: its cells' share of the field.
fn areas(
    change_cm: &Raster,
    half_width_cm: &Raster,
    limits_cm: &[f64],
    units: UnitSystem,
    ground_m2: f64,
) -> (Vec<f64>, [f64; 3]) {
    let classes = ValueClasses::change(limits_cm, units);
    let (mut cells, mut sums, mut all) = (vec![0.0; classes.len()], [0.0; 3], 0.0_f64);
    for (&change, &half_width) in change_cm.values.iter().zip(&half_width_cm.values) {
        let Some(class) = classes.class_of(change) else { continue };
        all += 1.0;
        match change.abs() > half_width {
            false => sums[0] += 1.0,
            true => {
                cells[class] += 1.0;
                sums[if change < 0.0 { 1 } else { 2 }] += 1.0;
            }
        }
    }
    let area = |count: f64| count / all.max(1.0) * ground_m2;
    (cells.into_iter().map(area).collect(), sums.map(area))
}

fn transitions(sample: &Sample, change_cm: &Raster, ground_m2: f64) -> Vec<Vec<f64>> {
    let classes = &sample.map.classes;
    let mut cells = vec![vec![0.0; classes.len()]; classes.len()];
    let depths = &sample.map.depth_cm.values;
    let known = depths.iter().filter(|cm| !cm.is_nan()).count() as f64;
    for (&cm, &change) in depths.iter().zip(&change_cm.values) {
        if !cm.is_nan() {
            let later = classes.class_of_cm((cm + change).max(0.0));
            cells[classes.class_of_cm(cm)][later] += ground_m2 / known;
        }
    }
    cells
}

/// Changes rounded to the rod's marks; a few are no more than bounds.
fn pairs(survey: &CheckedSurvey, change_cm: &Raster) -> Vec<PairedSpot> {
    let of_spot = |(k, spot): (usize, &survey::Spot)| {
        let grid = change_cm.grid;
        let (row, column) = grid.row_column(spot.position.easting_m, spot.position.northing_m);
        let cm = change_cm.values[grid.cell(row, column)?];
        let cm = (cm / 7.62).round() * 7.62;
        if cm.is_nan() {
            return None;
        }
        let (none, all) = (f64::NEG_INFINITY, f64::INFINITY);
        let (low_cm, high_cm) = match k % 11 {
            3 => (none, cm),
            7 => (cm, all),
            9 => (none, all),
            _ => (cm, cm),
        };
        Some(PairedSpot { position: spot.position, change: Between { low_cm, high_cm } })
    };
    survey.spots().iter().enumerate().filter_map(of_spot).collect()
}
