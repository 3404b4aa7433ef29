//! What reads: one function for each kind of file.
//!
//! Each writes the bytes into a file, has it read and gives the reader's answer. The last lines of an
//! answer say what was found in single records.

use std::fs;
use std::path::{Path, PathBuf};

use formats::{
    Columns, FormatError, ReadSettings, TrialWords, inspect, inspect_taskdata, is_archive,
    read_archive, read_boundary, read_earlier_zones, read_edits, read_strata, read_survey,
    read_trial_areas, read_weather, read_zones,
};
use season::{GrowingDegrees, TrialGround};
use survey::Survey;
use tempfile::TempDir;

use crate::parts::Parts;
use crate::round_trip::{assert_archived_again, assert_reads_back};

/// Something that reads bytes and says what it made of them: `read …`, or why it could not.
#[derive(Debug, Clone, Copy)]
pub struct Target {
    /// Its name, and that of its folder in `corpus/`.
    pub name: &'static str,
    /// Reads.
    pub read: fn(&[u8]) -> String,
}

/// All targets.
pub const TARGETS: [Target; 20] = [
    Target { name: "geojson", read: geojson },
    Target { name: "sequence", read: sequence },
    Target { name: "csv", read: csv },
    Target { name: "gpx", read: gpx },
    Target { name: "joined", read: joined },
    Target { name: "shapefile", read: shapefile },
    Target { name: "boundary", read: boundary },
    Target { name: "edits", read: edits },
    Target { name: "taskdata", read: taskdata },
    Target { name: "archive", read: archive },
    Target { name: "zones", read: zones },
    Target { name: "inspected", read: inspected },
    Target { name: "shapes", read: shapes },
    Target { name: "package", read: package },
    Target { name: "season", read: season },
    Target { name: "raster", read: raster },
    Target { name: "strata", read: strata },
    Target { name: "earlier_zones", read: earlier_zones },
    Target { name: "trial_areas", read: trial_areas },
    Target { name: "weather", read: weather },
];

/// A survey in GeoJSON.
pub fn geojson(bytes: &[u8]) -> String {
    survey_of(&[("geojson", bytes)])
}

/// A survey in a sequence of features (RFC 8142, or one a line).
pub fn sequence(bytes: &[u8]) -> String {
    survey_of(&[("geojsons", bytes)])
}

/// A survey in delimited text.
pub fn csv(bytes: &[u8]) -> String {
    survey_of(&[("csv", bytes)])
}

/// A survey in GPX waypoints.
pub fn gpx(bytes: &[u8]) -> String {
    survey_of(&[("gpx", bytes)])
}

/// A survey in the parts of a shapefile: see [`Parts`].
pub fn shapefile(bytes: &[u8]) -> String {
    let parts = Parts::of(bytes).named(["shp", "dbf", "prj"]);
    survey_of(&parts.collect::<Vec<_>>())
}

/// A table of readings joined to waypoints: the waypoints, then the table, as [`Parts`].
pub fn joined(bytes: &[u8]) -> String {
    let parts: Vec<_> = Parts::of(bytes).named(["gpx", "csv"]).collect();
    let folder = Folder::with(&parts);
    let settings = ReadSettings { join: Some(folder.path().join("input.csv")), ..settings() };
    folder.survey(&settings)
}

/// A boundary.
pub fn boundary(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("geojson", bytes)]);
    match read_boundary(&folder.first) {
        Ok((_, boundary)) => format!("read {:?}", boundary.name),
        Err(error) => folder.told(&error),
    }
}

/// Strata of a field.
pub fn strata(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("geojson", bytes)]);
    match read_strata(&folder.first) {
        Ok((_, parts)) => format!("read {} parts of strata", parts.len()),
        Err(error) => folder.told(&error),
    }
}

/// Zones of an earlier visit.
pub fn earlier_zones(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("geojson", bytes)]);
    match read_earlier_zones(&folder.first) {
        Ok((_, zones)) => format!("read {} zones", zones.len()),
        Err(error) => folder.told(&error),
    }
}

/// Areas of a trial, or a plan with check strips.
pub fn trial_areas(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("geojson", bytes)]);
    match read_trial_areas(&folder.first, &TrialWords::default()) {
        Ok((_, TrialGround::Areas(areas))) => format!("read {} areas", areas.len()),
        Ok((_, ground)) => format!("read a plan: {}", matches!(ground, TrialGround::Plan(_))),
        Err(error) => folder.told(&error),
    }
}

/// A list of corrections.
pub fn edits(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("csv", bytes)]);
    match read_edits(&folder.first) {
        Ok((_, edits)) => format!("read {} edits", edits.len()),
        Err(error) => folder.told(&error),
    }
}

/// Daily weather, and the growing degrees since its first day.
pub fn weather(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("csv", bytes)]);
    let file = match read_weather(&folder.first) {
        Ok((_, file)) => file,
        Err(error) => return folder.told(&error),
    };
    let (first, last) = file.weather.span().expect("a file without a day is an error");
    let degrees = GrowingDegrees::since(first, &file.weather, last);
    let summed = degrees.map_or_else(
        |why| why.to_string(),
        |degrees| match degrees.reaches(1400.0) {
            Some(day) => format!("reached, {}", day.source.word()),
            None => "not reached".into(),
        },
    );
    let findings = file.findings.iter().take(8).map(|finding| finding.problem.as_str());
    format!("read weather, {summed}\n{}", findings.collect::<Vec<_>>().join("\n"))
}

/// A TASKDATA.XML and its grid, as [`Parts`].
pub fn taskdata(bytes: &[u8]) -> String {
    let [main, grid] = Parts::of(bytes).all();
    let folder = Folder::with(&[("xml", main)]);
    let file = folder.path().join("GRD00001.bin");
    fs::write(file, grid).expect("a small file can be written");
    folder.plan()
}

/// TASKDATA in an archive.
pub fn archive(bytes: &[u8]) -> String {
    Folder::with(&[("zip", bytes)]).plan()
}

/// A file of zones.
pub fn zones(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("geojson", bytes)]);
    match read_zones(&folder.first) {
        Ok((_, map)) => format!("read zones of {}", map.utm.name()),
        Err(error) => folder.told(&error),
    }
}

/// GeoJSON, KML, GPX or a table, inspected.
pub fn inspected(bytes: &[u8]) -> String {
    Folder::with(&[("txt", bytes)]).inspected()
}

/// The parts of a shapefile, inspected: see [`Parts`].
pub fn shapes(bytes: &[u8]) -> String {
    let parts = Parts::of(bytes).named(["shp", "dbf", "prj"]);
    Folder::with(&parts.collect::<Vec<_>>()).inspected()
}

/// A GeoPackage, inspected.
pub fn package(bytes: &[u8]) -> String {
    Folder::with(&[("gpkg", bytes)]).inspected()
}

/// The archive of a season; what is read comes back from an archive of its own.
pub fn season(bytes: &[u8]) -> String {
    let folder = Folder::with(&[("gpkg", bytes)]);
    match read_archive(&folder.first) {
        Ok(archive) => {
            assert!(is_archive(&folder.first), "what can be read counts as an archive");
            assert_archived_again(&archive, folder.path());
            format!("read {} files of {:?}", archive.files().len(), archive.field_name())
        }
        Err(error) => folder.told(&error),
    }
}

/// A GeoTIFF, inspected.
pub fn raster(bytes: &[u8]) -> String {
    Folder::with(&[("tif", bytes)]).inspected()
}

/// The settings that every survey is read with.
fn settings() -> ReadSettings {
    let columns = Columns { group: Some("group".into()), ..Columns::default() };
    ReadSettings { columns, ..ReadSettings::default() }
}

fn survey_of(files: &[(&str, &[u8])]) -> String {
    Folder::with(files).survey(&settings())
}

fn read(survey: &Survey) -> String {
    let findings = survey.findings.iter().take(8).map(|finding| finding.problem.as_str());
    format!("read as {}s\n{}", survey.kind.name(), findings.collect::<Vec<_>>().join("\n"))
}

/// A folder with the files of one input, gone when it is done.
struct Folder {
    folder: TempDir,
    first: PathBuf,
}

impl Folder {
    /// Files called `input`, each with its extension and bytes. In memory where Linux offers it.
    fn with(files: &[(&str, &[u8])]) -> Self {
        let memory = Path::new("/dev/shm");
        let parent = if memory.is_dir() { memory.into() } else { std::env::temp_dir() };
        let folder = tempfile::tempdir_in(parent).expect("a folder for input can be made");
        for (extension, bytes) in files {
            let file = folder.path().join("input").with_extension(extension);
            fs::write(file, bytes).expect("a small file can be written");
        }
        let extension = files.first().map_or("shp", |(extension, _)| extension);
        let first = folder.path().join("input").with_extension(extension);
        Folder { folder, first }
    }

    /// What the reader says of the first file, which must read back to the same survey.
    fn survey(&self, settings: &ReadSettings) -> String {
        match read_survey(&self.first, settings) {
            Ok((_, survey)) => {
                assert_reads_back(&survey, self.path());
                read(&survey)
            }
            Err(error) => self.told(&error),
        }
    }

    /// What the reader says of a plan.
    fn plan(&self) -> String {
        match inspect_taskdata(&self.first) {
            Ok(found) => format!("read {} tasks\n{}", found.layers.len(), found.notes.join("\n")),
            Err(error) => self.told(&error),
        }
    }

    /// What is found in the first file.
    fn inspected(&self) -> String {
        match inspect(&self.first) {
            Ok(found) => {
                let notes = found.notes.iter().take(8).map(String::as_str).collect::<Vec<_>>();
                format!("read {}\n{}", found.format, notes.join("\n"))
            }
            Err(error) => self.told(&error),
        }
    }

    /// An error with its causes, without the folder's name, which is another each time.
    fn told(&self, error: &FormatError) -> String {
        let mut text = error.to_string();
        let mut cause = std::error::Error::source(error);
        while let Some(error) = cause {
            text = format!("{text}\n{error}");
            cause = error.source();
        }
        text.replace(&*self.path().to_string_lossy(), "")
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }
}
