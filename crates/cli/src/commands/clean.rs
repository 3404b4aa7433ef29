//! `loosedepth clean`: the checked survey in files that others can read.

use std::error::Error;

use formats::{Output, refuse_existing, survey_csv, survey_geojson, survey_geopackage};
use survey::Survey;

use crate::args::CleanArgs;
use crate::exit::Exit;
use crate::writing::write_files;
use crate::{field_folder, settings, table, terminal};

const GEOJSON: &str = "survey.geojson";
const CSV: &str = "survey.csv";
const GEOPACKAGE: &str = "survey.gpkg";
const FILES: [&str; 3] = [GEOJSON, CSV, GEOPACKAGE];

pub fn run(mut args: CleanArgs) -> Result<Exit, Box<dyn Error>> {
    let completed = field_folder::complete(&mut args.survey)?;
    let config = &completed.config;
    let out = completed.folder_for(&args.result)?;
    refuse_existing(&out, &FILES, args.result.replace)?;
    let source = super::source(&args.survey, config)?;
    let [threshold] = super::thresholds(&args.survey.read)[..] else {
        return Err("clean takes one --threshold; a profile stays whole at any".into());
    };
    let (_, checked) = super::checked(&args.survey, &source, threshold)?;
    let cleaned = Survey {
        insertions: checked.kept().to_vec(),
        findings: Vec::new(),
        ..source.readings.survey.clone()
    };
    let files = [
        Output { name: GEOJSON.into(), bytes: survey_geojson(&cleaned).into() },
        Output { name: CSV.into(), bytes: survey_csv(&cleaned).into() },
        Output { name: GEOPACKAGE.into(), bytes: survey_geopackage(&cleaned, &checked)? },
    ];
    write_files(&out, &files, args.result.replace)?;
    let units = settings::units(&args.survey.read.options);
    terminal::print(&table::survey(&source.field_name, &checked, units))?;
    let shown = out.display();
    terminal::print(&format!("wrote {} into {shown}", FILES.join(", ")))?;
    Ok(super::exit(&checked))
}
