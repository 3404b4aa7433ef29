//! Results of GDAL's gridder.

use std::path::Path;

use geostat::{Idw, NeighbourIndex, Samples, Search};
use serde_json::Value;

use crate::agreement::Check;
use crate::agreement::set::{numbers, read_json, read_samples, search_of, text};

/// The results of one kind over all sets, one check for each kind. Left out are those in single
/// precision (power 2 of all points, by its vector instructions) and those that are not inverse
/// distance.
pub fn checks(file: &Path) -> Vec<Check> {
    let all = read_json(file);
    let check = |(what, names): (&'static str, &[&str])| {
        let mut check = Check::new(what);
        for (name, described) in all["sets"].as_object().unwrap() {
            let set = Set::read(name, described, file.parent().unwrap());
            for name in names {
                set.compare(&described["results"][name], &mut check);
            }
        }
        check
    };
    [
        ("inverse distance", &["invdist_p1_all", "invdist_p2_all_noSIMD", "invdist_p3_all"][..]),
        ("inverse distance, smoothed", &["invdist_p2_smoothing"]),
        ("inverse distance, radius", &["invdist_p2_radius"]),
        ("inverse distance, nearest", &["invdistnn_p2_r_max12", "invdistnn_p2_r_max8"]),
    ]
    .map(check)
    .into()
}

struct Set<'a> {
    name: &'a str,
    samples: Samples,
    index: NeighbourIndex,
    /// Middles of the cells, which are not squares, row by row from the south-west.
    cells: Vec<[f64; 2]>,
}

impl Set<'_> {
    fn read<'a>(name: &'a str, described: &Value, folder: &Path) -> Set<'a> {
        let samples = read_samples(&folder.join(text(&described["file"])), described);
        let [west, east, south, north] = numbers(&described["extent"])[..] else {
            panic!("{name}: an extent has four numbers");
        };
        let [columns, rows] = ["nx", "ny"].map(|side| described[side].as_u64().unwrap());
        let middle = |from: f64, to: f64, k: u64, count: u64| {
            from + (k as f64 + 0.5) * ((to - from) / count as f64)
        };
        let row = |row| {
            let y = middle(south, north, row, rows);
            (0..columns).map(move |column| [middle(west, east, column, columns), y])
        };
        let index = NeighbourIndex::new(&samples);
        Set { name, samples, index, cells: (0..rows).flat_map(row).collect() }
    }

    fn compare(&self, result: &Value, check: &mut Check) {
        let algorithm = text(&result["algorithm"]);
        let setting = |name: &str| -> Option<f64> {
            let settings = algorithm.split(':').filter_map(|setting| setting.split_once('='));
            settings
                .into_iter()
                .find(|(key, _)| *key == name)
                .map(|(_, value)| value.parse().unwrap())
        };
        let count = setting("max_points").map(|count| count as usize);
        let search = search_of(count, setting("radius").or(setting("radius1")));
        let idw = Idw::new(setting("power").unwrap(), search).unwrap();
        let idw = idw.smoothed(setting("smoothing").unwrap_or(0.0)).unwrap();
        let mean = self.samples.mean();
        for (&cell, expected) in self.cells.iter().zip(numbers(&result["values"])) {
            if count.is_some_and(|count| self.is_tied(cell, count)) {
                check.tied += 1;
                continue;
            }
            let ours = idw.estimate(&self.samples, &self.index, cell);
            check.compare(ours, expected, mean, || format!("{}, {algorithm}, {cell:?}", self.name));
        }
    }

    /// Whether the last of so many neighbours and the next are equally far, up to rounding.
    fn is_tied(&self, cell: [f64; 2], count: usize) -> bool {
        let mut found = Vec::new();
        self.index.find(cell, Search::nearest(count + 1), &mut found);
        found.sort_by(|a, b| a.squared_m2.total_cmp(&b.squared_m2));
        found[count].squared_m2 - found[count - 1].squared_m2 <= 1e-9 * found[count].squared_m2
    }
}
