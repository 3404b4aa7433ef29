//! `loosedepth trial`: whether a treatment worked.

use std::error::Error;

use formats::{
    Output, TrialSummary, TrialWords, read_trial_areas, refuse_existing, trial_csv, trial_json,
};
use season::{
    Pairs, PairsWithin, SeasonError, Trial, TrialGround, TrialGroups, TrialSettings,
    USUAL_MOISTURE_WITHIN_PCT, pair_spots, trial,
};
use survey::{Depth, Length, UnitSystem};

use crate::args::{InterpolationArgs, Method, Power, TrialArgs};
use crate::exit::{Exit, WrongArguments};
use crate::trial_picture::{self, TrialPicture};
use crate::visits::{self, Loaded};
use crate::writing::write_files;
use crate::{settings, terminal, trial_table};

const SUMMARY: &str = "trial.json";
const TABLE: &str = "trial.csv";
const PICTURE: &str = "trial.png";
const FILES: [&str; 3] = [SUMMARY, TABLE, PICTURE];

/// Half a mark of a rod marked every 3 inches, or 8 centimetres: common practice.
const MATTERS_IN: f64 = 1.5;
const MATTERS_CM: f64 = 4.0;

/// Judges a trial, prints the answer and writes it where a folder is given.
pub fn run(args: &TrialArgs) -> Result<Exit, Box<dyn Error>> {
    if let Some(folder) = &args.out {
        refuse_existing(folder, &FILES, args.replace)?;
    }
    let words = words(args)?;
    let areas = args.areas.as_deref().map(|path| read_trial_areas(path, &words)).transpose()?;
    let (file, ground) = areas.unzip();
    let mut loaded = visits::pair_without_classes(&args.visits, &plain_map())?;
    loaded.files.extend(file.map(|file| ("trial areas", file)));
    let ground = match ground {
        Some(ground) => ground,
        None => TrialGround::Groups(groups(args, words, &loaded)?),
    };
    let [earlier, later] = loaded.visits.as_slice() else { unreachable!("a pair is two visits") };
    let within = match args.pair_within.map(Length::m) {
        Some(within_m) if within_m > 0.0 => PairsWithin::all_m(within_m),
        Some(within_m) => return Err(SeasonError::PairsWithin { within_m }.into()),
        None => PairsWithin::usual(&earlier.survey, &later.survey),
    };
    loaded.progress.next("tests of the trial");
    let pairs = pair_spots(&earlier.survey, &later.survey, within);
    let units = units(&loaded);
    let found = trial(
        [&earlier.survey, &later.survey],
        &pairs,
        &ground,
        &trial_settings(args, &loaded, &ground, units),
    )
    .map_err(|error| told(args, error))?;
    terminal::print(&trial_table::trial(
        &loaded.field_name,
        [&earlier.name, &later.name],
        &found,
        units,
    ))?;
    terminal::print_notes(&[pairs.notes.as_slice(), found.notes.as_slice()].concat());
    write(args, &loaded, &pairs, &found, units)?;
    Ok(loaded.exit)
}

/// An error with the file it is about, where it is about the areas.
fn told(args: &TrialArgs, error: SeasonError) -> Box<dyn Error> {
    match &args.areas {
        Some(path) if error.is_of_areas() => format!("{}: {error}", path.display()).into(),
        _ => error.into(),
    }
}

fn write(
    args: &TrialArgs,
    loaded: &Loaded,
    pairs: &Pairs,
    found: &Trial,
    units: UnitSystem,
) -> Result<(), Box<dyn Error>> {
    let Some(folder) = &args.out else { return Ok(()) };
    let picture = trial_picture::png(&TrialPicture {
        field_name: &loaded.field_name,
        visits: [&loaded.visits[0], &loaded.visits[1]],
        pairs,
        treatment: args.treated.as_deref().unwrap_or("treated"),
        trial: found,
        units,
    })?;
    let summary = trial_json(&TrialSummary {
        version: env!("CARGO_PKG_VERSION"),
        field_name: &loaded.field_name,
        visits: [&loaded.visits[0].name, &loaded.visits[1].name],
        inputs: &loaded.files,
        units,
        trial: found,
        files: &FILES[1..],
    });
    let files = [
        Output { name: SUMMARY.into(), bytes: summary.into() },
        Output { name: TABLE.into(), bytes: trial_csv(found).into() },
        Output { name: PICTURE.into(), bytes: picture },
    ];
    write_files(folder, &files, args.replace)?;
    terminal::print(&format!("\nwrote {} into {}", FILES.join(", "), folder.display()))?;
    Ok(())
}

/// The words for treated and check ground; groups need both.
fn words(args: &TrialArgs) -> Result<TrialWords, WrongArguments> {
    let words = TrialWords { treated: args.treated.clone(), check: args.check_word.clone() };
    match (&args.areas, &words) {
        (None, TrialWords { treated: None, .. } | TrialWords { check: None, .. }) => {
            Err(WrongArguments(
                "say which values of --group are what, with --treated WORD --check WORD".into(),
            ))
        }
        (_, TrialWords { treated: Some(treated), check: Some(check) })
            if treated.trim().to_lowercase() == check.trim().to_lowercase() =>
        {
            Err(WrongArguments("--treated and --check are the same word".into()))
        }
        _ => Ok(words),
    }
}

fn groups(
    args: &TrialArgs,
    words: TrialWords,
    loaded: &Loaded,
) -> Result<TrialGroups, Box<dyn Error>> {
    let given = |word: Option<String>| word.unwrap_or_default().trim().to_owned();
    Ok(TrialGroups {
        treated: given(words.treated),
        check: given(words.check),
        strips: match &args.strip_field {
            Some(property) => strips(property, loaded)?,
            None => Vec::new(),
        },
    })
}

/// The strip that each record of the later visit names.
fn strips(property: &str, loaded: &Loaded) -> Result<Vec<(usize, String)>, Box<dyn Error>> {
    let mut args = loaded.sources[1].args.clone();
    args.read.options.group = Some(property.to_owned());
    let source = super::source(&args, &loaded.config)?;
    let insertions = source.readings.survey.insertions.into_iter();
    Ok(insertions.filter_map(|insertion| Some((insertion.number, insertion.group?))).collect())
}

fn units(loaded: &Loaded) -> UnitSystem {
    settings::units(&loaded.sources[0].args.read.options)
}

fn trial_settings(
    args: &TrialArgs,
    loaded: &Loaded,
    ground: &TrialGround,
    units: UnitSystem,
) -> TrialSettings {
    let matters = args.matters.unwrap_or(match units {
        UnitSystem::Us => Depth::from_in(MATTERS_IN),
        UnitSystem::Si => Depth::from_cm(MATTERS_CM),
    });
    let moisture_within_pct = args.moisture_within.or(loaded.config.moisture_within);
    TrialSettings {
        confidence: args.confidence,
        matters_cm: matters.cm(),
        is_randomised: args.randomised || matches!(ground, TrialGround::Plan(_)),
        seed: args.seed,
        moisture_within_pct: moisture_within_pct.unwrap_or(USUAL_MOISTURE_WITHIN_PCT),
    }
}

/// A trial needs no map, but visits come with one: the plainest.
fn plain_map() -> InterpolationArgs {
    InterpolationArgs {
        method: Method::Mean,
        power: Power::Auto,
        neighbours: None,
        direction: None,
        sectors: None,
        smoothing: 0.0,
        reach: None,
        cell: None,
    }
}
