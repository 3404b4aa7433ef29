//! The examples of the program's crate, each run once.

use crate::error::XtaskError;
use crate::workspace::{Workspace, read_text, run};

const MANIFEST: &str = "crates/cli/Cargo.toml";

/// Runs every example that the manifest names.
pub fn run_all(workspace: &Workspace) -> Result<(), XtaskError> {
    let manifest = read_text(&workspace.path(MANIFEST))?;
    for name in example_names(&manifest) {
        let command = format!("run --quiet --package loosedepth --example {name}");
        eprintln!("example {name}: cargo {command}");
        run(&mut workspace.cargo(&command))?;
    }
    Ok(())
}

/// The names in the manifest's `[[example]]` tables.
fn example_names(manifest: &str) -> Vec<&str> {
    let mut in_example = false;
    let mut names = Vec::new();
    for line in manifest.lines().map(str::trim) {
        if line.starts_with('[') {
            in_example = line == "[[example]]";
        } else if let Some((key, value)) = line.split_once('=')
            && in_example
            && key.trim() == "name"
        {
            names.push(value.trim().trim_matches('"'));
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_example_is_found_and_nothing_else() {
        let manifest = r#"
            [package]
            name = "loosedepth"
            [[example]]
            name = "map_a_field"
            path = "../../examples/map_a_field.rs"
            [[example]]
            path = "../../examples/read_back.rs"
            name="read_back"
            [[test]]
            name = "command"
        "#;
        assert_eq!(example_names(manifest), ["map_a_field", "read_back"]);
    }
}
