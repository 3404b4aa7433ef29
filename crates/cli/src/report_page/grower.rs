//! The grower's page: what was found, how sure that is, what changed, what may be done and what is not known, in
//! words that need no dictionary.

use mapping::{DepthMap, FEW_PROBES, MUCH_OF_OTHER_CLASS, Zone};
use report::{GrowerSummary, LITTLE_SKILL};
use season::ShareShallower;
use survey::{Depth, FieldOrigin, KaplanMeier, NoReading, Reading, Severity};

use super::ReportOf;
use super::days::readable;
use super::thin_ground::{ThinGround, listed};
use crate::{season_words, words};

/// With fewer spots an error found by leaving each of them out is itself hardly known (common practice).
const LITTLE_SPOTS: usize = 20;

/// Zones told by name; the table has all.
const NAMES_TOLD: usize = 6;

/// The page.
pub fn summary(of: &ReportOf) -> GrowerSummary {
    let thin = ThinGround::of(&of.latest().map);
    let mut sentences: Vec<String> = where_thin(of, &thin).into_iter().collect();
    sentences.push(readings(of, &thin));
    sentences.extend(sure(of));
    sentences.extend(sure_of_zones(&thin));
    sentences.extend(change(of));
    let readable = |all: Vec<String>| -> Vec<String> {
        all.iter().map(|sentence| readable(sentence, of.units())).collect()
    };
    GrowerSummary {
        // A share is not parted from its sign at the end of a line.
        headline: headline(of, &thin).replace(" %", "\u{a0}%"),
        sentences: readable(sentences),
        do_next: readable(do_next(of)),
        not_known: readable(not_known(of)),
    }
}

/// How a sentence on the latest visit begins.
fn on_day(of: &ReportOf) -> String {
    match of.latest().day() {
        Some(_) => format!("On {}", of.day(of.latest())),
        None => "On the day of the visit".into(),
    }
}

fn headline(of: &ReportOf, thin: &ThinGround) -> String {
    let (on_day, units) = (on_day(of), of.units());
    let map = &of.latest().map;
    if !map.method.beats_field_mean() {
        let mean = map.probed.mean_at_least.map(|mean| units.depth_text(mean));
        let about =
            mean.map_or_else(String::new, |mean| format!(", with about {mean} of loose soil"));
        return format!(
            "{on_day} the readings did not tell one part of the field from another: take it as one{about}."
        );
    }
    let limit = units.depth_text(thin.limit);
    match thin.area_m2 > 0.0 {
        true => format!(
            "{on_day} the loose layer was thinner than {limit} on {} of {}, {} of the field: {} on average there.",
            of.area(thin.area_m2),
            of.area(map.field_area_m2),
            words::percent(map.share(thin.area_m2)),
            units.depth_text(thin.mean()),
        ),
        false => format!("{on_day} no zone of the field had less than {limit} of loose soil."),
    }
}

/// Where the thin ground lies, or the thinnest where none is thin.
fn where_thin(of: &ReportOf, thin: &ThinGround) -> Option<String> {
    let map = &of.latest().map;
    if !map.method.beats_field_mean() {
        return None;
    }
    let told = |zones: &[&Zone]| thin.told(zones, |area_m2| of.area(area_m2));
    if thin.zones.len() == 1 {
        return Some(format!("The thin ground is {}.", told(&thin.zones)));
    }
    if !thin.zones.is_empty() {
        return Some(format!("Thin ground, the largest first: {}.", told(&thin.zones)));
    }
    let (name, zones) = thin.thinnest()?;
    Some(format!("The thinnest, with {name} of loose soil, was {}.", told(&zones)))
}

/// What the spots themselves read.
fn readings(of: &ReportOf, thin: &ThinGround) -> String {
    let survey = &of.latest().survey;
    let readings: Vec<Reading> = survey.spots().iter().map(|spot| spot.reading).collect();
    let curve = KaplanMeier::of(&readings).expect("a checked survey has readings");
    let share = ShareShallower::of(&readings, &curve, thin.limit);
    let (threshold, units) = (survey.threshold(), of.units());
    let half = match curve.median() {
        Reading::Reached(depth) => {
            format!("half of all reached {threshold} within {}", units.depth_text(depth))
        }
        Reading::NotReached { probed_to } => {
            format!("more than half had not reached {threshold} at {}", units.depth_text(probed_to))
        }
    };
    let limit = units.depth_text(thin.limit);
    format!(
        "The loose layer ends where the gauge first reads {threshold}: of {} spots probed, {} did so at less than \
         {limit}, and {half}.",
        readings.len(),
        share.shallower
    )
}

/// How far off the map typically is, and whether that is better than one number.
fn sure(of: &ReportOf) -> Vec<String> {
    let map = &of.latest().map;
    let validation = &map.method.validation;
    let spots = validation.pairs.len();
    let error = |cm: f64| of.units().depth_text(Depth::from_cm(cm));
    if spots == 0 {
        return vec![
            "How far off the map is cannot be told: no spot is near enough to another to check it by.".into(),
        ];
    }
    let start = if map.strata.is_empty() { "A" } else { "On the main ground a" };
    let mut all = vec![format!(
        "{start} spot's true depth is typically within ±{} of the map. That was found by leaving out each of {spots} \
         spots in turn and reading its depth off the map made from the others.",
        error(validation.rmse)
    )];
    if map.method.estimator.kind() != mapping::MethodKind::Mean && validation.mean_rmse.is_finite()
    {
        all.push(beside_one_number(map, &error(validation.mean_rmse)));
    }
    if spots < LITTLE_SPOTS {
        all.push(format!("With {spots} spots even that is a rough figure."));
    }
    all
}

/// The map's error beside that of one number for the whole field.
fn beside_one_number(map: &DepthMap, plain: &str) -> String {
    let start = format!("One number for the whole field would be within ±{plain}");
    match (map.method.beats_field_mean(), map.method.validation.skill() < LITTLE_SKILL) {
        (false, _) => format!("{start}: the map tells no more than that."),
        (true, true) => format!("{start}: the map is only a little better."),
        (true, false) => format!("{start}: the map is better."),
    }
}

/// Thin zones to be taken with care.
fn sure_of_zones(thin: &ThinGround) -> Vec<String> {
    let named = |zones: &[&Zone]| {
        let mut names: Vec<String> =
            zones.iter().take(NAMES_TOLD).map(|zone| zone.id.clone()).collect();
        if zones.len() > NAMES_TOLD {
            names.push(format!("{} more", zones.len() - NAMES_TOLD));
        }
        listed(&names)
    };
    let (few, enough): (Vec<&Zone>, Vec<&Zone>) =
        thin.zones.iter().copied().partition(|zone| zone.has_few_probes());
    let unsure: Vec<&Zone> = enough
        .into_iter()
        .filter(|zone| zone.evidence.class_confidence.is_some_and(|share| share < 0.5))
        .collect();
    let mut all = Vec::new();
    if !few.is_empty() {
        let take = if few.len() == 1 { "it" } else { "them" };
        let has = if few.len() == 1 { "has" } else { "have" };
        all.push(format!(
            "{} {has} fewer than {FEW_PROBES} spots: take {take} as a hint, not as a finding.",
            named(&few)
        ));
    }
    if !unsure.is_empty() {
        all.push(format!(
            "In {} it is less than an even chance that the mean depth lies in the range that the map shows.",
            named(&unsure)
        ));
    }
    all
}

/// What changed since the first visit: the moisture before any figure.
fn change(of: &ReportOf) -> Vec<String> {
    let Some(compared) = of.compared else {
        return vec![season_words::ONE_VISIT.into()];
    };
    let mut all = vec![compared.found.moisture.sentence()];
    all.extend(medians(of));
    all.push(crate::change_picture::verdict(compared));
    all.extend(season_words::spots_of_falls(of.trend));
    all
}

/// The depth that half of the spots reached the threshold within, first and last.
fn medians(of: &ReportOf) -> Option<String> {
    let [first, .., last] = of.trend.visits.as_slice() else { return None };
    let units = of.units();
    let within = |median: Reading| match median {
        Reading::Reached(depth) => format!("within {}", units.depth_text(depth)),
        Reading::NotReached { probed_to } => format!("deeper than {}", units.depth_text(probed_to)),
    };
    let visits = &of.loaded.visits;
    let [first_day, last_day] = [visits.first()?, visits.last()?].map(|visit| of.day(visit));
    Some(format!(
        "Half of the spots reached {} {} on {first_day} and {} on {last_day}.",
        first.threshold,
        within(first.median),
        within(last.median)
    ))
}

/// What may be done: never a depth for a tool, never a rate.
fn do_next(of: &ReportOf) -> Vec<String> {
    let map = &of.latest().map;
    let mut all = Vec::new();
    if !map.method.beats_field_mean() {
        all.push(
            "Do not treat single zones by this map: probe more spots, nearer to each other, first."
                .into(),
        );
    }
    all.extend([
        "Dig a pit in each zone that you mean to treat: see the tight layer, its bottom, its moisture and the roots."
            .into(),
        "Do not set a tool by these depths: they are the top of the tight layer. A tool needs its bottom, measured in \
         pits or by profiles."
            .into(),
        "Spread nothing by this map alone: a rate needs a soil test and the word of a licensed or certified adviser."
            .into(),
    ]);
    let is_matched = of.compared.map(|compared| compared.found.moisture.is_matched());
    let has_moisture = of.latest().survey.moisture().is_some();
    if is_matched == Some(false) || !has_moisture {
        all.push(
            "Probe again when the soil is near field capacity, and note its moisture: only visits of like moisture can \
             be compared."
                .into(),
        );
    }
    all.extend(season_words::next_visit(of.trend, of.stage));
    all
}

/// What the readings do not tell.
fn not_known(of: &ReportOf) -> Vec<String> {
    let visit = of.latest();
    let (survey, map) = (&visit.survey, &visit.map);
    let mut all = Vec::new();
    let spots = survey.spots().len();
    if survey.not_reached() > 0 {
        all.push(format!(
            "{} of {spots} spots did not reach {} as deep as the rod went: the loose layer there is that deep or deeper.",
            survey.not_reached(),
            survey.threshold()
        ));
    }
    all.extend(without_reading(of));
    if map.share(map.unmapped.ground_area_m2) >= 0.0005 {
        all.push(format!(
            "{} of the field has no colour on the map: no spot was probed near enough.",
            of.ground(map.unmapped.ground_area_m2)
        ));
    }
    if map.share(map.zones_made.other_class_m2) > MUCH_OF_OTHER_CLASS {
        all.push(format!(
            "{} of the field lies in a zone of another depth, being too narrow, small or many for one of its own.",
            of.ground(map.zones_made.other_class_m2)
        ));
    }
    if matches!(survey.field().origin(), FieldOrigin::HullOfProbes { .. }) {
        all.push(
            "No outline of the field was given: that on the map is drawn around the spots.".into(),
        );
    }
    if survey.moisture().is_none() {
        all.push(
            "Soil moisture was not recorded: dry soil reads harder, and no other visit can be compared with this one."
                .into(),
        );
    }
    if survey.dates().is_none() {
        all.push("The day of the visit was not recorded.".into());
    }
    all.extend(left_out_readings(of));
    all.push("What the roots do: only a pit shows that.".into());
    all
}

/// Spots without a reading.
fn without_reading(of: &ReportOf) -> Option<String> {
    let survey = &of.latest().survey;
    let spots = |count: usize| if count == 1 { "1 spot".into() } else { format!("{count} spots") };
    let was = |count: usize| if count == 1 { "was" } else { "were" };
    let stones = survey.count_without(NoReading::Refused);
    let skipped = survey.count_without(NoReading::Skipped);
    let parts: Vec<String> = [
        (stones, format!("{} {} stopped by a stone or root", spots(stones), was(stones))),
        (skipped, format!("{} {} skipped", spots(skipped), was(skipped))),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(_, words)| words)
    .collect();
    (!parts.is_empty()).then(|| format!("{}: nothing is known there.", listed(&parts)))
}

/// Readings that the check left out.
fn left_out_readings(of: &ReportOf) -> Option<String> {
    let faults = |visit: &season::Visit| {
        visit.survey.findings().iter().filter(|f| f.severity == Severity::Fault).count()
    };
    let count: usize = of.loaded.visits.iter().map(faults).sum();
    let word = if count == 1 { "reading was" } else { "readings were" };
    (count > 0).then(|| {
        format!("{count} {word} left out or changed because of faults: the table of findings names each.")
    })
}
