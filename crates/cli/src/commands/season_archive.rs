//! The season in one file: the folder's files byte for byte, and what they say as tables.

use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};

use formats::{
    ArchivedFile, ArchivedVisit, FormatError, InputFile, Output, SeasonArchive, read_edits,
    read_survey, season_geopackage,
};
use season::{Trend, Visit};
use survey::{Survey, UnitSystem};

use crate::args::{SeasonArgs, USUAL_EDGE_TOLERANCE_M};
use crate::config::{Config, NAME};
use crate::settings;
use crate::visits::{Loaded, MappedSource};

/// Its name.
pub const ARCHIVE: &str = "season.gpkg";

/// The archive; in words why there is none, where it would not give this season back: a flag changed how the
/// visits were read, or a file cannot be kept in it, since it lies outside of the folder or its name could not
/// be written on every system.
///
/// # Errors
/// When a file cannot be read, or the archive not be made.
pub fn archive(
    args: &SeasonArgs,
    loaded: &Loaded,
    trend: &Trend,
    units: UnitSystem,
    results: &[Output],
) -> Result<Result<Output, String>, Box<dyn Error>> {
    let folder = &args.field;
    if let Some(why) = not_of_folder(args) {
        return Ok(Err(why));
    }
    match bytes(folder, loaded, trend, units, results) {
        Ok(bytes) => {
            let leads_out = Config::leads_out(&folder.join(NAME))?;
            Ok(leads_out.map_or(Ok(Output { name: ARCHIVE.into(), bytes }), Err))
        }
        Err(error) => match error.downcast_ref::<FormatError>() {
            Some(FormatError::Unarchivable { .. }) => Ok(Err(error.to_string())),
            _ => Err(error),
        },
    }
}

/// Why the season is not that of its folder alone, which is all that an archive keeps.
fn not_of_folder(args: &SeasonArgs) -> Option<String> {
    let own = args.field.join(NAME);
    let real = |path: &Path| path.canonicalize().ok();
    if args.read.config.as_deref().is_some_and(|given| real(given) != real(&own)) {
        let own = own.display();
        return Some(format!(
            "this season was made with the settings of --config; put them into {own}"
        ));
    }
    let flag = reading_flag(args)?;
    Some(match flag.has_key {
        true => format!("this season was made with {}; put it into {NAME}", flag.name),
        false => format!("this season was made with {}, which {NAME} cannot say", flag.name),
    })
}

/// A flag that changes how visits are read.
struct Flag {
    name: &'static str,
    /// Whether the settings file can say the same.
    has_key: bool,
}

/// The first such flag that was given.
fn reading_flag(args: &SeasonArgs) -> Option<Flag> {
    let (read, check) = (&args.read, &args.check);
    let kept = [
        ("--boundary", check.boundary.is_some()),
        ("--edits", read.edits.is_some()),
        ("--units", read.units.is_some()),
        ("--threshold", !read.threshold.is_empty()),
        ("--sustained", read.sustained.is_some()),
        ("--rod", check.rod.is_some()),
        ("--classes", args.classes.is_some()),
        ("--column", !read.column.is_empty()),
        ("--depth-field", read.depth_field.is_some()),
        ("--group", read.group.is_some()),
    ];
    let other = [
        ("--crs", read.crs.is_some()),
        ("--join", read.join.is_some()),
        ("--edge-tolerance", !is_usual_tolerance(check.edge_tolerance)),
    ];
    let with = |has_key| move |(name, is_given)| (is_given, Flag { name, has_key });
    let flags = kept.into_iter().map(with(true)).chain(other.into_iter().map(with(false)));
    flags.into_iter().find_map(|(is_given, flag)| is_given.then_some(flag))
}

fn is_usual_tolerance(edge_tolerance_m: f64) -> bool {
    edge_tolerance_m.total_cmp(&USUAL_EDGE_TOLERANCE_M).is_eq()
}

fn bytes(
    folder: &Path,
    loaded: &Loaded,
    trend: &Trend,
    units: UnitSystem,
    results: &[Output],
) -> Result<Vec<u8>, Box<dyn Error>> {
    let Kept { files, name_of } = archived_files(folder, loaded)?;
    let surveys = loaded
        .sources
        .iter()
        .map(|source| as_read(source, loaded))
        .collect::<Result<Vec<Survey>, Box<dyn Error>>>()?;
    let visit = |((visit, source), survey)| -> ArchivedVisit {
        let (visit, source): (&Visit, &MappedSource) = (visit, source);
        let file = &name_of[&source.args.read.survey];
        ArchivedVisit { name: &visit.name, file, survey, checked: &visit.survey }
    };
    let visits: Vec<ArchivedVisit> =
        loaded.visits.iter().zip(&loaded.sources).zip(&surveys).map(visit).collect();
    let edits = loaded.sources.iter().find_map(|source| source.args.read.options.edits.as_ref());
    let edits = edits.map(|path| read_edits(path)).transpose()?.map(|(_, edits)| edits);
    Ok(season_geopackage(&SeasonArchive {
        version: env!("CARGO_PKG_VERSION"),
        field_name: &loaded.field_name,
        created: None,
        files: &files,
        visits: &visits,
        boundary: loaded.sources[0].source.boundary.as_ref(),
        settings: &settings_told(trend, units),
        edits: &edits.unwrap_or_default(),
        results: &hashes(results),
    })?)
}

/// Files of the archive, and the name in it of each file that was read.
struct Kept {
    files: Vec<ArchivedFile>,
    name_of: BTreeMap<PathBuf, String>,
}

/// The files that the season was made from, and those that plan it, each once.
fn archived_files(folder: &Path, loaded: &Loaded) -> Result<Kept, FormatError> {
    let read = loaded.files.iter().map(|(part, file)| {
        let part = if *part == "survey" { "visit" } else { part };
        (part, file.path.as_path())
    });
    let config = &loaded.config;
    let planned = [("rates", config.rates.as_deref()), ("weather", config.weather.as_deref())];
    let planned = planned.into_iter().filter_map(|(part, path)| Some((part, path?)));
    let mut kept = Kept { files: Vec::new(), name_of: BTreeMap::new() };
    for (part, path) in read.chain(planned.filter(|(_, path)| path.is_file())) {
        for (number, file) in ArchivedFile::read(folder, path, part)?.into_iter().enumerate() {
            if number == 0 {
                kept.name_of.insert(path.to_path_buf(), file.name.clone());
            }
            if kept.files.iter().all(|known| known.name != file.name) {
                kept.files.push(file);
            }
        }
    }
    Ok(kept)
}

/// What a visit's file says, before corrections.
fn as_read(
    MappedSource { args, source }: &MappedSource,
    loaded: &Loaded,
) -> Result<Survey, Box<dyn Error>> {
    if args.read.options.edits.is_none() {
        return Ok(source.readings.survey.clone());
    }
    let settings = settings::read_settings(&args.read.options, &loaded.config)?;
    Ok(read_survey(&args.read.survey, &settings)?.1)
}

fn settings_told(trend: &Trend, units: UnitSystem) -> Vec<(String, String)> {
    let settings = &trend.settings;
    let first = &trend.visits[0];
    let marks: Vec<String> = settings.marks.iter().map(|&mark| units.depth_text(mark)).collect();
    let classes: Vec<&str> = first.classes.iter().map(|class| class.name.as_str()).collect();
    [
        ("threshold", first.threshold.to_string()),
        ("units", units.to_string()),
        ("classes", classes.join(", ")),
        ("marks", marks.join(", ")),
        ("visits every", settings.rhythm.to_string()),
        ("moistures match within", format!("{} percentage points", settings.moisture_within_pct)),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .into()
}

/// Name and hash of each result.
fn hashes(results: &[Output]) -> Vec<(String, String)> {
    let hash = |file: &Output| InputFile::of(Path::new(&file.name), &file.bytes).sha256;
    results.iter().map(|file| (file.name.clone(), hash(file))).collect()
}
