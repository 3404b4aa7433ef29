//! Values of a raster, counted.

use std::collections::BTreeMap;

use survey::units::tidy;

use crate::inspected::InspectedZone;

/// Values are listed one by one up to so many.
const MOST_VALUES: usize = 24;

/// Values counted.
#[derive(Default)]
pub(super) struct Tally {
    pub count: u64,
    pub empty: u64,
    pub least: f64,
    pub most: f64,
    /// How often each value stands, by its bits; `None` when there are too many.
    each: Option<BTreeMap<u64, u64>>,
}

impl Tally {
    pub fn add(&mut self, number: f64, no_data: Option<f64>) {
        if !number.is_finite() || no_data == Some(number) {
            self.empty += 1;
            return;
        }
        match self.count {
            0 => (self.least, self.most, self.each) = (number, number, Some(BTreeMap::new())),
            _ => (self.least, self.most) = (self.least.min(number), self.most.max(number)),
        }
        self.count += 1;
        if let Some(each) = &mut self.each {
            *each.entry((number + 0.0).to_bits()).or_default() += 1;
            if each.len() > MOST_VALUES {
                self.each = None;
            }
        }
    }

    pub fn zones(&self, cell_m2: Option<f64>, unit: &str) -> Vec<InspectedZone> {
        let mut each: Vec<(f64, u64)> = self
            .each
            .iter()
            .flatten()
            .map(|(bits, count)| (f64::from_bits(*bits), *count))
            .collect();
        each.sort_by(|a, b| a.0.total_cmp(&b.0));
        each.into_iter()
            .map(|(number, count)| InspectedZone {
                name: format!("{count} cells"),
                area_m2: cell_m2.map(|cell_m2| cell_m2 * count as f64),
                holes: 0,
                values: vec![format!("{}{unit}", tidy(number, 3))],
            })
            .collect()
    }
}
