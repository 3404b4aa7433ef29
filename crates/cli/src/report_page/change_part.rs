//! The season and the change from the first visit to the last: the moisture before any figure.

use report::Section;
use season::RankCorrelations;

use super::{ReportOf, charts, tables};
use crate::{change_picture, compare_table, season_words};

/// The course of the season; `None` of one visit.
pub fn season(of: &ReportOf) -> Option<Section> {
    let compared = of.compared?;
    let mut sentences = vec![compared.found.moisture.sentence()];
    sentences.extend(of.trend.ranks.as_ref().map(RankCorrelations::sentence));
    sentences
        .extend(season_words::notes(of.trend, of.stage).iter().map(|note| tables::sentence(note)));
    Some(Section {
        heading: "The season".into(),
        sentences,
        charts: charts::season(of).into_iter().collect(),
        tables: std::iter::once(tables::visits(of)).chain(tables::falls(of)).collect(),
    })
}

/// What changed; `None` of one visit.
pub fn change(of: &ReportOf) -> Option<Section> {
    let compared = of.compared?;
    let [earlier, later] = compared.visits.map(|visit| of.day(visit));
    let mut sentences = vec![compared.found.moisture.sentence(), change_picture::verdict(compared)];
    sentences
        .push("A change is later minus earlier: below 0 the loose layer became thinner.".into());
    sentences.extend(compare_table::sentences(compared));
    Some(Section {
        heading: format!("What changed from {earlier} to {later}"),
        sentences,
        charts: Vec::new(),
        tables: tables::change(of),
    })
}
