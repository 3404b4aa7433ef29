//! The rows of the survey's tables.

use rusqlite::{Connection, Result, params};
use survey::{
    CheckedSurvey, Depth, DepthUnit, Finding, Insertion, LonLat, Measured, Outcome, Pressure,
    Reading, Severity, Survey,
};

use super::geometry::point;

/// Decimals of a degree that positions out of the plane are rounded to: 1.1 mm.
const DEGREE_DECIMALS: i32 = 8;
/// Decimals of centimetres and kilopascals: more than any gauge, fewer than the arithmetic's noise.
const DECIMALS: i32 = 6;

/// Places of a layer.
pub(super) type Places = Vec<LonLat>;

/// One row for each spot of the checked survey; their places.
pub(super) fn probes(db: &Connection, checked: &CheckedSurvey) -> Result<Places> {
    let sql = "INSERT INTO probes (geom, point_id, outcome, depth_cm, insertions, not_reached, \
               lower_quartile_cm, upper_quartile_cm) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)";
    let mut insert = db.prepare(sql)?;
    let mut places = Places::new();
    for spot in checked.spots() {
        let exact = checked.field().utm().unproject(spot.position);
        let place = LonLat {
            lon_deg: rounded(exact.lon_deg, DEGREE_DECIMALS),
            lat_deg: rounded(exact.lat_deg, DEGREE_DECIMALS),
        };
        let outcome = match spot.reading {
            Reading::Reached(_) => "reached",
            Reading::NotReached { .. } => "not_reached",
        };
        let of = spot.combined;
        insert.execute(params![
            point(place),
            spot.id,
            outcome,
            cm(spot.reading.at_least()),
            count(of.count),
            count(of.not_reached),
            of.lower_quartile.map(cm),
            of.upper_quartile.map(cm),
        ])?;
        places.push(place);
    }
    Ok(places)
}

/// One row for each insertion of the survey as read, those that were left out later included, and
/// one for each reading of a profile; the places of the insertions.
pub(super) fn insertions(db: &Connection, survey: &Survey) -> Result<Places> {
    for (index, insertion) in survey.insertions.iter().enumerate() {
        let fid = count(index + 1);
        insert_insertion(db, fid, insertion)?;
        if let Measured::Profile(profile) = &insertion.measured {
            let sql =
                "INSERT INTO profiles (insertion, depth_cm, cone_index_kpa) VALUES (?1, ?2, ?3)";
            let mut insert = db.prepare_cached(sql)?;
            for reading in profile.readings() {
                insert.execute(params![fid, cm(reading.depth), kpa(reading.pressure)])?;
            }
        }
    }
    Ok(survey.insertions.iter().map(|insertion| insertion.place).collect())
}

fn insert_insertion(db: &Connection, fid: i64, insertion: &Insertion) -> Result<()> {
    let (outcome, depth) = match insertion.measured {
        Measured::Once(Outcome::Reached(depth)) => ("reached", Some(depth)),
        Measured::Once(Outcome::NotReached { probed_to }) => ("not_reached", Some(probed_to)),
        Measured::Once(Outcome::Refused) => ("stone", None),
        Measured::Once(Outcome::Skipped) => ("skipped", None),
        Measured::Profile(_) => ("profile", None),
    };
    let sql = "INSERT INTO insertions \
               VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)";
    db.prepare_cached(sql)?.execute(params![
        fid,
        point(insertion.place),
        count(insertion.number),
        insertion.id,
        insertion.date.map(|date| date.to_string()),
        insertion.time.map(|time| time.to_string()),
        outcome,
        depth.map(cm),
        insertion.depth_unit.map(DepthUnit::name),
        insertion.threshold.map(kpa),
        insertion.moisture_pct,
        insertion.accuracy_m,
        insertion.cone.map(mm),
        insertion.instrument,
        insertion.operator,
        insertion.group,
        insertion.note,
    ])?;
    Ok(())
}

/// One row for each finding of the checked survey, in its order.
pub(super) fn findings(db: &Connection, findings: &[Finding]) -> Result<()> {
    let sql = "INSERT INTO findings (severity, subject, text) VALUES (?1, ?2, ?3)";
    let mut insert = db.prepare(sql)?;
    for finding in findings {
        let severity = match finding.severity {
            Severity::Note => "note",
            Severity::Doubt => "doubt",
            Severity::Fault => "fault",
        };
        let text = format!("{}; {}", finding.problem, finding.done);
        let whole = finding.to_string();
        let subject = whole.strip_suffix(&text).unwrap_or(&whole).trim_end_matches(": ");
        insert.execute(params![severity, subject, text])?;
    }
    Ok(())
}

/// What the survey was checked with, as names and values.
pub(super) fn run_info(db: &Connection, survey: &Survey, checked: &CheckedSurvey) -> Result<()> {
    let text = |number: f64, decimals| rounded(number, decimals).to_string();
    let days = checked.dates().map_or((None, None), |(a, b)| (Some(a), Some(b)));
    let said = [
        ("program", Some("loosedepth".into())),
        ("version", Some(env!("CARGO_PKG_VERSION").into())),
        ("survey", survey.name.clone()),
        ("records", Some(checked.features().to_string())),
        ("insertions", Some(survey.insertions.len().to_string())),
        ("probes", Some(checked.spots().len().to_string())),
        ("not_reached", Some(checked.not_reached().to_string())),
        ("threshold_kpa", Some(text(checked.threshold().pressure().kpa(), 3))),
        ("threshold_psi", Some(text(checked.threshold().pressure().psi(), 3))),
        ("first_day", days.0.map(|day| day.to_string())),
        ("last_day", days.1.map(|day| day.to_string())),
        ("spacing_m", Some(text(checked.spacing_m(), 2))),
        ("plane", Some(format!("EPSG:{}", checked.field().utm().epsg()))),
    ];
    let mut insert = db.prepare("INSERT INTO run_info (name, value) VALUES (?1, ?2)")?;
    for (name, value) in said.iter().filter(|(_, value)| value.is_some()) {
        insert.execute(params![name, value])?;
    }
    Ok(())
}

/// A depth in centimetres.
pub(crate) fn cm(depth: Depth) -> f64 {
    rounded(depth.cm(), DECIMALS)
}

/// A short length in millimetres.
pub(crate) fn mm(length: Depth) -> f64 {
    rounded(length.m() * 1e3, DECIMALS)
}

/// A pressure in kilopascals.
pub(crate) fn kpa(pressure: Pressure) -> f64 {
    rounded(pressure.kpa(), DECIMALS)
}

fn rounded(number: f64, decimals: i32) -> f64 {
    let factor = 10_f64.powi(decimals);
    (number * factor).round() / factor
}

/// A count as SQLite takes it.
pub(crate) fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}
