//! Lists the files of the local page, so that each is in the program without being named in the code.

use std::error::Error;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};

/// Where files of the page lie; of one name only one may be there.
const FOLDERS: [&str; 3] = ["assets/open", "../report/assets/page", "../report/assets/fonts"];
/// Ends of their names; sources of the report and licences lie beside them.
const ENDS: [&str; 5] = ["html", "css", "js", "svg", "woff2"];

fn main() -> Result<(), Box<dyn Error>> {
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?);
    let mut files: Vec<(String, PathBuf)> = Vec::new();
    for folder in FOLDERS.map(|folder| root.join(folder)) {
        println!("cargo::rerun-if-changed={}", folder.display());
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry?.path();
            let end = path.extension().unwrap_or_default();
            if ENDS.iter().any(|known| end == *known) {
                files.push((path.file_name().unwrap_or_default().to_string_lossy().into(), path));
            }
        }
    }
    files.sort();
    if let Some(twice) = files.windows(2).find(|pair| pair[0].0 == pair[1].0) {
        return Err(format!("two files of the page are called {}", twice[0].0).into());
    }
    let mut table = String::from("[\n");
    for (name, path) in files {
        writeln!(table, "({name:?}, include_bytes!({path:?})),")?;
    }
    table.push(']');
    fs::write(Path::new(&env::var("OUT_DIR")?).join("page_files.rs"), table)?;
    Ok(())
}
