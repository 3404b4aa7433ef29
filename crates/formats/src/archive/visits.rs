//! The visits in summary, and what was found in them.

use rusqlite::{Result, params};
use survey::{NoReading, Reading, Severity, combined};

use super::layout::{FINDINGS, VISITS};
use super::readings::of_visit;
use super::{ArchivedVisit, shown_text};
use crate::degrees::rounded;
use crate::geopackage::{Contents, cm, count, kpa};

/// Decimals of moistures and distances.
const DECIMALS: u32 = 3;

/// Writes both tables.
pub(super) fn write(contents: &Contents, visits: &[ArchivedVisit]) -> Result<()> {
    VISITS.create(contents.db)?;
    for (index, visit) in visits.iter().enumerate() {
        write_visit(contents, visit, of_visit(visits, index).count())?;
    }
    contents.attributes(VISITS.name, VISITS.what)?;
    FINDINGS.create(contents.db)?;
    for visit in visits {
        write_findings(contents, visit)?;
    }
    contents.attributes(FINDINGS.name, FINDINGS.what)
}

fn write_visit(contents: &Contents, visit: &ArchivedVisit, insertions: usize) -> Result<()> {
    let checked = visit.checked;
    let readings: Vec<Reading> = checked.spots().iter().map(|spot| spot.reading).collect();
    let of = combined(&readings);
    let (first, last) = checked.dates().unzip();
    let moisture = checked.moisture();
    let pct =
        |of: fn(&survey::Moisture) -> f64| moisture.as_ref().map(|it| rounded(of(it), DECIMALS));
    contents.db.prepare_cached(&VISITS.insertion())?.execute(params![
        visit.name,
        visit.file,
        first.map(|day| day.to_string()),
        last.map(|day| day.to_string()),
        count(insertions),
        count(of.count),
        count(of.not_reached),
        count(checked.count_without(NoReading::Refused)),
        count(checked.count_without(NoReading::Skipped)),
        cm(of.reading.at_least()),
        of.reading.is_not_reached(),
        of.lower_quartile.map(cm),
        of.upper_quartile.map(cm),
        kpa(checked.threshold().pressure()),
        cm(checked.sustained()),
        pct(|it| it.mean_pct),
        pct(|it| it.min_pct),
        pct(|it| it.max_pct),
        rounded(checked.spacing_m(), DECIMALS),
    ])?;
    Ok(())
}

fn write_findings(contents: &Contents, visit: &ArchivedVisit) -> Result<()> {
    let mut insert = contents.db.prepare_cached(&FINDINGS.insertion())?;
    for finding in visit.checked.findings() {
        let severity = match finding.severity {
            Severity::Note => "note",
            Severity::Doubt => "doubt",
            Severity::Fault => "fault",
        };
        insert.execute(params![visit.name, severity, shown_text(&finding.to_string())])?;
    }
    Ok(())
}
