//! Tables beside the results.

use std::fs;
use std::path::PathBuf;

/// Folders that are looked through in this order.
pub struct Files {
    pub folders: Vec<PathBuf>,
}

impl Files {
    /// Where a file is; `None` where no folder has it.
    pub fn path(&self, name: &str) -> Option<PathBuf> {
        self.folders.iter().map(|folder| folder.join(name)).find(|path| path.exists())
    }

    /// A table with a line of names.
    pub fn table(&self, name: &str) -> Table {
        let path = self.path(name).unwrap_or_else(|| panic!("no folder has {name}"));
        let text = fs::read_to_string(path).unwrap();
        let mut lines = text
            .lines()
            .map(|line| line.split(',').map(|s| s.trim_matches('"').to_owned()).collect());
        Table { names: lines.next().expect("a line of names"), rows: lines.collect() }
    }
}

pub struct Table {
    names: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl Table {
    pub fn texts(&self, name: &str) -> Vec<&str> {
        let column = self.names.iter().position(|known| known == name).expect("a known column");
        self.rows.iter().map(|row| row[column].as_str()).collect()
    }

    pub fn numbers(&self, name: &str) -> Vec<f64> {
        self.texts(name).iter().map(|text| text.parse().unwrap()).collect()
    }

    pub fn places(&self, east: &str, north: &str) -> Vec<[f64; 2]> {
        self.numbers(east).into_iter().zip(self.numbers(north)).map(Into::into).collect()
    }
}
