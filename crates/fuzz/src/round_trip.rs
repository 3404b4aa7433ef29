//! Whatever was read is the same once it is written by our writers and read again.

use std::fs;
use std::path::Path;

use formats::{
    Archive, ReadSettings, SeasonArchive, read_archive, read_survey, season_geopackage, survey_csv,
    survey_geojson, unpack,
};
use survey::{Insertion, Measured, Survey};

/// Depths nearer than this are one depth to the reader of profiles that take several lines.
const SAME_DEPTH_M: f64 = 2e-9;

/// Panics where a survey reads back to something else.
pub(crate) fn assert_reads_back(survey: &Survey, folder: &Path) {
    let geojson = again(folder, "again.geojson", &survey_geojson(survey));
    let read = without_numbers(survey);
    assert!(geojson == read, "GeoJSON reads back as {geojson:#?}, not as {read:#?}");
    let Some(read) = as_a_table_can_say(read) else {
        return;
    };
    let csv = again(folder, "again.csv", &survey_csv(survey));
    assert!(csv == read, "CSV reads back as {csv:#?}, not as {read:#?}");
}

/// Panics where the files of an archive come out of another one changed, or cannot be unpacked.
pub(crate) fn assert_archived_again(archive: &Archive, folder: &Path) {
    let season = SeasonArchive {
        version: "",
        field_name: "",
        created: None,
        files: archive.files(),
        visits: &[],
        boundary: None,
        settings: &[],
        edits: &[],
        results: &[],
    };
    let bytes = season_geopackage(&season).expect("what was accepted can be archived");
    let file = folder.join("again.gpkg");
    fs::write(&file, bytes).expect("a file can be written beside the input");
    let again = read_archive(&file).expect("what we wrote can be read");
    assert!(again.files() == archive.files(), "the files are others: {:#?}", again.files());
    let unpacked = folder.join("unpacked");
    unpack(archive, &unpacked).expect("accepted names can be written");
    for file in archive.files() {
        let bytes = fs::read(unpacked.join(&file.name)).expect("the file lies below the folder");
        assert!(bytes == file.bytes, "{} is another", file.name);
    }
}

fn again(folder: &Path, name: &str, text: &str) -> Vec<Insertion> {
    let file = folder.join(name);
    fs::write(&file, text).expect("a file can be written beside the input");
    match read_survey(&file, &ReadSettings::default()) {
        Ok((_, survey)) => without_numbers(&survey),
        Err(error) => panic!("what we wrote cannot be read: {error}\n{text}"),
    }
}

fn without_numbers(survey: &Survey) -> Vec<Insertion> {
    let same_number = |insertion: &Insertion| Insertion { number: 0, ..insertion.clone() };
    survey.insertions.iter().map(same_number).collect()
}

/// The same without NULs; `None` where a profile has two readings so close that a table makes one of
/// them.
fn as_a_table_can_say(mut insertions: Vec<Insertion>) -> Option<Vec<Insertion>> {
    for insertion in &mut insertions {
        let Insertion { id, instrument, operator, group, note, .. } = insertion;
        for text in [id, instrument, operator, group, note] {
            let plain = text.take().map(|text| text.replace('\0', "").trim().to_owned());
            *text = plain.filter(|text| !text.is_empty());
        }
        if let Measured::Profile(profile) = &insertion.measured {
            let close =
                |pair: &[survey::ConeIndex]| pair[1].depth.m() - pair[0].depth.m() < SAME_DEPTH_M;
            if profile.readings().windows(2).any(close) {
                return None;
            }
        }
    }
    Some(insertions)
}
