//! Damaged files: whatever is cut off or changed, a reader answers with a survey or an error.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::fs;
use std::path::{Path, PathBuf};

use formats::{ReadSettings, read_boundary, read_survey};

mod shapes;

/// Damaged copies made of each file.
const COPIES: u64 = 400;

/// Knuth's linear congruential generator (The Art of Computer Programming, volume 2, 3.3.4, table 1,
/// line 26): the same damage on every run.
struct Draw(u64);

impl Draw {
    fn below(&mut self, limit: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit.max(1)
    }
}

/// Cuts a file, changes bits and bytes, or repeats or drops a part of it.
fn damaged(bytes: &[u8], draw: &mut Draw) -> Vec<u8> {
    const ODD: &[u8] = b"\0\xff\"\n\r,;\t{}[]<>&\x1e-+.eE09";
    let mut bytes = bytes.to_vec();
    for _ in 0..=draw.below(4) {
        let at = draw.below(bytes.len());
        let to = (at + draw.below(40)).min(bytes.len());
        match draw.below(6) {
            0 => bytes.truncate(at),
            1 if at < bytes.len() => bytes[at] ^= 1 << draw.below(8),
            2 if at < bytes.len() => bytes[at] = ODD[draw.below(ODD.len())],
            3 => drop(bytes.drain(at..to)),
            4 => {
                let part = bytes[at..to].repeat(1 + draw.below(3));
                bytes.splice(at..at, part);
            }
            _ => bytes.insert(at, ODD[draw.below(ODD.len())]),
        }
    }
    bytes
}

fn samples() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

#[test]
fn damaged_files_do_no_harm() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("damaged");
    let join = samples().into_iter().find(|path| path.ends_with("readings.csv"));
    let joined = ReadSettings { join, ..ReadSettings::default() };
    let plane = ReadSettings { crs: "EPSG:32615".parse().ok(), ..ReadSettings::default() };
    let mut draw = Draw(1);
    let mut read = 0;
    for sample in samples() {
        let bytes = fs::read(&sample).unwrap();
        for copy in 0..COPIES {
            fs::write(&path, damaged(&bytes, &mut draw)).unwrap();
            let settings = match copy % 8 {
                0 => &joined,
                1 => &plane,
                _ => &ReadSettings::default(),
            };
            read += usize::from(read_survey(&path, settings).is_ok());
            let _ = read_boundary(&path);
        }
    }
    assert!(read > 200, "most damage is to single records: {read}");
}

#[test]
fn damaged_shapefiles_do_no_harm() {
    let folder = tempfile::tempdir().unwrap();
    let survey = samples().into_iter().find(|path| path.ends_with("survey.geojson")).unwrap();
    let survey = read_survey(&survey, &ReadSettings::default()).unwrap().1;
    let path = shapes::write(folder.path(), &survey, |place| [place.lon_deg, place.lat_deg]);
    fs::write(path.with_extension("prj"), shapes::UTM_15_N).unwrap();
    let prjs = [shapes::WGS_84, shapes::UTM_15_N];
    let parts = ["shp", "dbf", "prj"].map(|extension| path.with_extension(extension));
    let sound = parts.each_ref().map(|part| fs::read(part).unwrap());
    let mut draw = Draw(2);
    for copy in 0..COPIES * 4 {
        let which = draw.below(3);
        fs::write(&parts[2], prjs[copy as usize % 2]).unwrap();
        fs::write(&parts[which], damaged(&sound[which], &mut draw)).unwrap();
        let _ = read_survey(&path, &ReadSettings::default());
        fs::write(&parts[which], &sound[which]).unwrap();
    }
}

#[test]
fn deep_nesting_and_long_repetition_end() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long");
    let answer = |text: &str| {
        fs::write(&path, text).unwrap();
        read_survey(&path, &ReadSettings::default()).map(|(_, survey)| survey)
    };
    assert!(answer(&"[".repeat(1_000_000)).is_err());
    assert!(answer(&"<a>".repeat(300_000)).is_err());
    assert!(answer(&format!("<gpx>{}", "<wpt lat='1' lon='1'>".repeat(300_000))).is_err());
    let quotes = "\"a\n".repeat(300_000);
    assert!(answer(&format!("lon,lat,depth_in\n{quotes}")).is_err());
    let quotes = "\"a\n\"\"b\n".repeat(300_000);
    assert!(answer(&format!("lon,lat,depth_in\n{quotes}")).is_err());
    let columns = "c,".repeat(20_000);
    assert!(answer(&format!("lon,lat,depth_in,{columns}\n1,2,3\n")).is_err());
    let many = "0,".repeat(500_000);
    let features = format!("{{\"type\": \"FeatureCollection\", \"features\": [{many}0]}}");
    assert!(answer(&features).is_err());
    let wide = format!("[{many}0]");
    let feature = format!(
        r#"{{"type": "FeatureCollection", "features": [{{"type": "Feature", "properties": {wide}}},
        {{"type": "Feature", "properties": {{"depth_in": 3}},
          "geometry": {{"type": "Point", "coordinates": [1, 2]}}}}]}}"#
    );
    let survey = answer(&feature).unwrap();
    assert_eq!(survey.insertions.len(), 1);
    assert!(survey.findings[0].problem.contains("more values than"), "{:?}", survey.findings);
}
