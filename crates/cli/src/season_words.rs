//! What is said of a season in the terminal and on its page.

use season::{Trend, VisitGap};
use survey::DateRange;

use crate::commands::season_stage::ReproductiveStage;

/// What is said of a change where there is one visit.
pub const ONE_VISIT: &str = "One visit: no change to tell yet.";

/// Names told in a sentence; the tables have all.
const TOLD: usize = 5;

/// Sentences, the most important first: late visits and the next one, the crop's stage, spots that are not
/// on every visit or whose change is not known.
pub fn notes(trend: &Trend, stage: Option<&ReproductiveStage>) -> Vec<String> {
    let mut notes: Vec<String> = late(trend).into_iter().collect();
    notes.extend(next_visit(trend, stage));
    notes.extend(stage.map(|stage| stage.sentence.clone()));
    notes.extend(spots_of_falls(trend));
    notes.extend(gone(trend));
    let odd = trend.visits.iter().skip(1).zip(&trend.spots.known_again);
    notes.extend(odd.flat_map(|(visit, again)| {
        again.notes.iter().map(|note| format!("{}: {note}.", visit.name))
    }));
    notes
}

/// The sentences that a page has room for; what it draws need not be said.
pub fn page_notes(trend: &Trend, stage: Option<&ReproductiveStage>) -> Vec<String> {
    let notes = [stage.map(|stage| plan::capitalised(&stage.sentence)), spots_of_falls(trend)];
    notes.into_iter().flatten().collect()
}

/// The days on which the next visit is due, unless the stage that visits go to is over by then.
pub fn due(trend: &Trend, stage: Option<&ReproductiveStage>) -> Option<DateRange> {
    let is_over = |due: &DateRange| {
        stage.and_then(|stage| stage.days).is_some_and(|[_, last]| last < due.first())
    };
    trend.next_due.filter(|due| !is_over(due))
}

/// Which visits came late.
fn late(trend: &Trend) -> Option<String> {
    let longest = trend.settings.rhythm.longest_days();
    let late = trend.gaps.iter().filter(|gap| VisitGap::is_late(gap));
    let late: Vec<String> = late.map(|gap| format!("{} ({} days)", gap.to, gap.days)).collect();
    match (trend.gaps.is_empty(), late.is_empty()) {
        (true, _) => None,
        (_, true) => Some(format!("No visit came more than {longest} days after the one before.")),
        _ => Some(format!(
            "Late, more than {longest} days after the visit before: {}.",
            late.join(", ")
        )),
    }
}

/// When the next visit is due, or that none is of use any more.
pub fn next_visit(trend: &Trend, stage: Option<&ReproductiveStage>) -> Option<String> {
    if let Some(due) = due(trend, stage) {
        return Some(format!("Next visit due {} to {}.", due.first(), due.last()));
    }
    let (stage, _) = (stage?, trend.next_due?);
    let [_, last] = stage.days?;
    Some(format!(
        "No visit is due: visits go to the reproductive stage, and {} is over by {last}.",
        stage.name
    ))
}

/// How many spots did not change, and of how many it is not known.
pub fn spots_of_falls(trend: &Trend) -> Option<String> {
    let falls = trend.falls.as_ref()?;
    let [from, to] = [falls.from, falls.to].map(|visit| &trend.visits[visit].name);
    let parts = [
        (falls.unchanged, "did not change"),
        (falls.undecided, "changed in a way that the readings do not tell"),
        (falls.missing.len(), "have no reading on both"),
    ];
    let others: String = parts
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, what)| format!("; {count} {what}"))
        .collect();
    Some(format!(
        "From {from} to {to} the loose layer became thinner at {} spots and deeper at {}{others}.",
        falls.fell.len(),
        falls.deepened.len(),
    ))
}

/// Spots that were not read on every visit.
fn gone(trend: &Trend) -> Option<String> {
    let spots = trend.spots.with_gaps();
    let names = spots.iter().map(|&spot| trend.spots.spots[spot].id.as_str());
    let more = match spots.len().saturating_sub(TOLD) {
        0 => String::new(),
        count => format!(" and {count} more"),
    };
    let told = names.take(TOLD).collect::<Vec<_>>().join(", ");
    (trend.visits.len() > 1 && !spots.is_empty()).then(|| {
        format!(
            "{} of {} spots have no reading on some visit: {told}{more}.",
            spots.len(),
            trend.spots.spots.len()
        )
    })
}
