//! A set of samples and what another program made of it.

use std::path::{Path, PathBuf};

use geostat::{NeighbourIndex, Sample, Samples, Search};
use serde_json::Value;

pub struct Set {
    /// The file of results.
    file: PathBuf,
    pub samples: Samples,
    pub index: NeighbourIndex,
    pub expected: Value,
    /// Where estimates are compared.
    pub targets: Vec<[f64; 2]>,
    /// Standard deviation of the values.
    pub sd: f64,
}

impl Set {
    /// Reads a file of gstat's results, and the samples it names in the folder beside.
    pub fn read(json: &Path) -> Set {
        let expected = read_json(json);
        // The tests' copy of a table has the name of its results.
        let own = json.with_extension("").with_extension("csv");
        let table = json.with_file_name(text(&expected["file"]));
        let samples = read_samples(if own.exists() { &own } else { &table }, &expected);
        let targets = places(&expected["targets"]);
        let sd = expected["z_summary"]["sd"].as_f64().unwrap();
        let index = NeighbourIndex::new(&samples);
        Set { file: json.to_path_buf(), samples, index, expected, targets, sd }
    }

    /// A file beside the set's folder, if it is there.
    pub fn beside(&self, name: &str) -> Option<PathBuf> {
        let folder = self.file.parent().and_then(Path::parent);
        folder.map(|folder| folder.join(name)).filter(|file| file.exists())
    }

    /// Places of another table in the same folder.
    pub fn others(&self, described: &Value) -> Vec<[f64; 2]> {
        let table = self.file.with_file_name(text(&described["file"]));
        let others = read_samples(&table, &self.expected);
        others.as_slice().iter().map(|sample| [sample.easting_m, sample.northing_m]).collect()
    }

    /// The runs of one kind; none where the file has none.
    pub fn runs(&self, kind: &str) -> &[Value] {
        self.expected[kind].as_array().map_or(&[], Vec::as_slice)
    }
}

/// The samples of a table: columns and rows as a results file describes them.
pub fn read_samples(table: &Path, described: &Value) -> Samples {
    let csv = std::fs::read_to_string(table).unwrap();
    let mut lines = csv.lines();
    let header: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| header.iter().position(|h| *h == name).unwrap();
    let [x, y] = [0, 1].map(|k| column(text(&described["xy"][k])));
    let z = text(&described["z"]);
    let logarithm_of = z.strip_prefix("log(").and_then(|rest| rest.strip_suffix(')'));
    let z = column(logarithm_of.unwrap_or(z));
    // A part of a table is described as column=='value'.
    let part = described["subset"].as_str().map(|part| part.split_once("==").unwrap());
    let part = part.map(|(name, value)| (column(name), value.trim_matches('\'')));
    let sample = |fields: &[&str]| {
        let number = |column: usize| -> f64 { fields[column].parse().unwrap() };
        let value = number(z);
        let value = if logarithm_of.is_some() { libm::log(value) } else { value };
        Sample { easting_m: number(x), northing_m: number(y), value }
    };
    let rows = lines.map(|line| line.split(',').collect::<Vec<_>>());
    let rows = rows.filter(|fields| part.is_none_or(|(column, value)| fields[column] == value));
    Samples::new(rows.map(|fields| sample(&fields)).collect()).unwrap()
}

pub fn read_json(file: &Path) -> Value {
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

pub fn text(value: &Value) -> &str {
    value.as_str().unwrap()
}

/// A number; NaN where there is none.
pub fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

pub fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

pub fn places(value: &Value) -> Vec<[f64; 2]> {
    numbers(&value["x"]).into_iter().zip(numbers(&value["y"])).map(|(x, y)| [x, y]).collect()
}

/// The search of a run: `nmax` is a number or "all", `maxdist` a number or none.
pub fn search(run: &Value) -> Search {
    search_of(run["nmax"].as_u64().map(|count| count as usize), run["maxdist"].as_f64())
}

/// The nearest few, or all, at most so far away.
pub fn search_of(nearest: Option<usize>, within_m: Option<f64>) -> Search {
    let mut search = nearest.map_or(Search::EVERYTHING, Search::nearest);
    search.within_m = within_m;
    search
}

/// Whether the last neighbour of a target and the next are equally far.
pub fn is_tied(run: &Value, target: usize) -> bool {
    let tied = run["tie_targets"].as_array();
    tied.is_some_and(|tied| tied.iter().any(|k| k.as_u64() == Some(target as u64)))
}
