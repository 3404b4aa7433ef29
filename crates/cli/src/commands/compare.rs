//! `loosedepth compare`: what changed between two visits of a field.

use std::error::Error;
use std::path::PathBuf;

use formats::{CompareFile, Output, Quantity, compare_json, geotiff, pairs_csv, refuse_existing};
use season::{
    AdjustedChange, CompareSettings, Comparison, MoistureFit, SeasonError, Visit, compare,
};
use survey::Length;

use crate::args::{CompareArgs, VisitPairArgs};
use crate::config::Config;
use crate::exit::{Exit, WrongArguments};
use crate::visits::{self, Loaded};
use crate::writing::write_files;
use crate::{change_picture, compare_table, field_folder, terminal};

const CHANGE: &str = "change.tif";
const UNCERTAINTY: &str = "change_uncertainty.tif";
const PAIRS: &str = "pairs.csv";
const PICTURE: &str = "change.png";
const SUMMARY: &str = "compare.json";
const FILES: [&str; 5] = [CHANGE, UNCERTAINTY, PAIRS, PICTURE, SUMMARY];

pub fn run(args: &CompareArgs) -> Result<Exit, Box<dyn Error>> {
    refuse_no_folder(args)?;
    if let Some(out) = &args.result.out {
        refuse_existing(out, &FILES, args.result.replace)?;
    }
    let (loaded, fit) = load(args)?;
    let [earlier, later] = loaded.visits.as_slice() else {
        unreachable!("a pair is two visits");
    };
    let out = folder(args, &loaded.config, [earlier, later])?;
    refuse_existing(&out, &FILES, args.result.replace)?;
    let made = Made::of(args, loaded, fit)?;
    let (compared, loaded, found) = (made.compared(), &made.loaded, &made.found);
    write_files(&out, &files(&compared, loaded)?, args.result.replace)?;
    terminal::print_notes(&found.pairs.notes);
    terminal::print(&compare_table::text(&compared))?;
    terminal::print(&format!("wrote {} into {}", FILES.join(", "), out.display()))?;
    Ok(loaded.exit)
}

/// A comparison and what it was made from.
pub struct Made {
    /// The visits as read.
    pub loaded: Loaded,
    /// What came out.
    pub found: Comparison,
    adjusted: Option<(MoistureFit, AdjustedChange)>,
}

impl Made {
    /// Compares two visits, and writes nothing.
    ///
    /// # Errors
    /// When a visit cannot be read, checked or mapped, or they cannot be compared.
    pub fn unwritten(args: &CompareArgs) -> Result<Self, Box<dyn Error>> {
        let (loaded, fit) = load(args)?;
        Made::of(args, loaded, fit)
    }

    fn of(
        args: &CompareArgs,
        loaded: Loaded,
        fit: Option<MoistureFit>,
    ) -> Result<Self, Box<dyn Error>> {
        let [earlier, later] = loaded.visits.as_slice() else {
            unreachable!("a pair is two visits");
        };
        loaded.progress.next("their change");
        let found = compare(earlier, later, &settings(args, &loaded.config)).map_err(told)?;
        let adjusted = fit.and_then(|fit| {
            let change = adjusted(&fit, &found)?;
            Some((fit, change))
        });
        Ok(Made { loaded, found, adjusted })
    }

    /// The comparison, to be told and drawn.
    pub fn compared(&self) -> Compared<'_> {
        let [earlier, later] = self.loaded.visits.as_slice() else {
            unreachable!("a pair is two visits");
        };
        Compared {
            field_name: &self.loaded.field_name,
            visits: [earlier, later],
            found: &self.found,
            adjusted: self.adjusted.as_ref().map(|(fit, change)| (fit, change)),
        }
    }
}

/// A comparison with what it was made from.
pub struct Compared<'a> {
    /// The field's name.
    pub field_name: &'a str,
    /// The visits, the earlier first.
    pub visits: [&'a Visit; 2],
    /// What came out.
    pub found: &'a Comparison,
    /// The change adjusted for moisture, where it was asked for.
    pub adjusted: Option<(&'a MoistureFit, &'a AdjustedChange)>,
}

/// Two visits, and what moisture does by all visits of the season, where that is asked for.
fn load(args: &CompareArgs) -> Result<(Loaded, Option<MoistureFit>), Box<dyn Error>> {
    let classes = args.classes.as_deref();
    if !args.adjust_moisture {
        return Ok((visits::pair(&args.visits, &args.interpolation, classes)?, None));
    }
    let VisitPairArgs { visits: given, read, check, strata } = &args.visits;
    let [folder, days @ ..] = given.as_slice() else { unreachable!("clap asks for two") };
    if !folder.is_dir() || days.len() != 2 {
        let problem = "--adjust-moisture needs the visits of a season: give the folder of a field and two \
            days";
        return Err(WrongArguments(problem.into()).into());
    }
    let mut all =
        visits::all(folder, read, check, strata.as_deref(), &args.interpolation, classes)?;
    let fit = season::moisture_fit(&all.visits, args.pair_within.map(Length::m))?;
    let days_of_all = &all.sources[0].args.read.options.days_of_all;
    let chosen = days.iter().map(|text| {
        let visit = field_folder::visit_of(folder, days_of_all, visits::day(text)?)?;
        Ok(all.visits[visit].clone())
    });
    all.visits = chosen.collect::<Result<_, Box<dyn Error>>>()?;
    Ok((all, Some(fit)))
}

/// Visits in the wrong order are wrong arguments, here as where two visits are read.
fn told(error: SeasonError) -> Box<dyn Error> {
    match error {
        SeasonError::WrongOrder { .. } => WrongArguments(error.to_string()).into(),
        other => other.into(),
    }
}

/// Flags over the settings file over defaults.
fn settings(args: &CompareArgs, config: &Config) -> CompareSettings {
    let usual = CompareSettings::default();
    CompareSettings {
        confidence: args.confidence,
        pair_within_m: args.pair_within.map(Length::m),
        moisture_within_pct: args
            .moisture_within
            .or(config.moisture_within)
            .unwrap_or(usual.moisture_within_pct),
    }
}

/// Two files have no folder for results: this is said before anything is read.
fn refuse_no_folder(args: &CompareArgs) -> Result<(), WrongArguments> {
    let is_folder = args.visits.visits.first().is_some_and(|first| first.is_dir());
    match is_folder || args.result.out.is_some() {
        true => Ok(()),
        false => Err(field_folder::no_folder()),
    }
}

/// The folder given, or one for these two visits in the results of the field's folder.
fn folder(
    args: &CompareArgs,
    config: &Config,
    [earlier, later]: [&Visit; 2],
) -> Result<PathBuf, WrongArguments> {
    let field = args.visits.visits.first().filter(|first| first.is_dir());
    let of_field = field.map(|field| {
        let name = format!("{}_to_{}", earlier.name, later.name);
        field_folder::results_folder(field, config).join(name)
    });
    args.result.out.clone().or(of_field).ok_or_else(field_folder::no_folder)
}

/// The mean change at the spots that both visits have, without what the fit gives to moisture; `None`
/// where there is no such spot or a moisture is missing.
fn adjusted(fit: &MoistureFit, found: &Comparison) -> Option<AdjustedChange> {
    let [earlier, later] = found.moisture.moistures();
    let moistures_pct = [earlier?.mean_pct, later?.mean_pct];
    Some(fit.adjusted(found.paired.mean_cm?, moistures_pct, found.settings.confidence))
}

fn files(compared: &Compared, loaded: &Loaded) -> Result<Vec<Output>, Box<dyn Error>> {
    let (found, [_, later]) = (compared.found, compared.visits);
    let (utm, units) = (later.survey.field().utm(), later.map.classes.units());
    let summary = compare_json(&CompareFile {
        version: env!("CARGO_PKG_VERSION"),
        field_name: compared.field_name,
        inputs: &loaded.files,
        visits: compared.visits,
        comparison: found,
        adjusted: compared.adjusted,
        files: &FILES[..FILES.len() - 1],
    });
    let change = &found.change;
    let half_width = Quantity::change_half_width(change.confidence);
    let output = |name: &str, bytes: Vec<u8>| Output { name: name.into(), bytes };
    Ok(vec![
        output(CHANGE, geotiff(&change.change_cm, utm, Quantity::change())),
        output(UNCERTAINTY, geotiff(&change.half_width_cm, utm, half_width)),
        output(PAIRS, pairs_csv(&found.pairs, utm, units).into()),
        output(PICTURE, change_picture::png(compared)?),
        output(SUMMARY, summary.into()),
    ])
}
