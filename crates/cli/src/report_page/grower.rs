//! The grower's page: what was found, how sure that is, what changed, what may be done and what is not known, in
//! words that need no dictionary.

use mapping::{DepthMap, FEW_PROBES, MUCH_OF_OTHER_CLASS, Zone};
use report::{GrowerSummary, LITTLE_SKILL};
use survey::{Depth, FieldOrigin, KaplanMeier, NoReading, Reading, Severity, UnitSystem};

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
    // Of a change the moisture comes before any figure.
    let mut sentences = change(of);
    sentences.extend(where_thin(of, &thin));
    sentences.push(readings(of, &thin));
    sentences.push(sure(of));
    if of.compared.is_none() {
        sentences.extend(few_spots(&thin));
        sentences.push(season_words::ONE_VISIT.into());
    }
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
        let about = match field_mean(of) {
            Some(Mean { is_bound: false, text }) => format!(", with about {text} of loose soil"),
            Some(Mean { is_bound: true, text }) => {
                format!(", with at least {text} of loose soil on average")
            }
            None => String::new(),
        };
        return format!(
            "{on_day} the readings did not tell one part of the field from another: take it as one{about}."
        );
    }
    let limit = units.depth_text(thin.limit);
    if is_little_better(map) {
        let spots = Counts::of(of, thin.limit).told(&limit);
        let mean = field_mean(of).map_or_else(String::new, |mean| {
            let mean = mean.told("about");
            format!(" The map tells hardly more than one number for the whole field: {mean}.")
        });
        return format!("{on_day}, {spots}.{mean}");
    }
    match thin.area_m2 > 0.0 {
        true => format!(
            "{on_day} the loose layer was thinner than {limit} on {} of {}, {} of the field: {} on average there.",
            of.area(thin.area_m2),
            of.area(map.field_area_m2),
            words::percent(map.share(thin.area_m2)),
            Mean { text: units.depth_text(thin.mean()), is_bound: thin.not_reached() > 0 }.told(""),
        ),
        false => format!("{on_day} no zone of the field had less than {limit} of loose soil."),
    }
}

/// A mean depth with its unit.
struct Mean {
    text: String,
    /// Whether a spot that it is of was not reached, so that the true mean is as deep or deeper.
    is_bound: bool,
}

impl Mean {
    /// The depth after a word such as `about`, or as a bound.
    fn told(&self, about: &str) -> String {
        let before = if self.is_bound { "at least" } else { about };
        format!("{before} {}", self.text).trim_start().to_owned()
    }
}

/// The mean of the spots.
fn field_mean(of: &ReportOf) -> Option<Mean> {
    let probed = &of.latest().map.probed;
    let text = of.units().depth_text(probed.mean_at_least?);
    Some(Mean { text, is_bound: probed.not_reached > 0 })
}

/// Whether a map is hardly worth more than one number for the whole field.
fn is_little_better(map: &DepthMap) -> bool {
    map.method.beats_field_mean() && map.method.validation.skill() < LITTLE_SKILL
}

/// Spots of the latest visit by what they read.
struct Counts {
    shallower: usize,
    /// Just the limit, as rods with marks read it.
    just: usize,
    deeper: usize,
    /// Not reached above the limit: nobody knows on which side.
    unknown: usize,
}

impl Counts {
    fn of(of: &ReportOf, limit: Depth) -> Self {
        let mut counts = Counts { shallower: 0, just: 0, deeper: 0, unknown: 0 };
        for spot in of.latest().survey.spots() {
            let depth = spot.reading.at_least();
            let side = match (depth.cm() < limit.cm(), spot.reading.is_not_reached()) {
                (true, true) => &mut counts.unknown,
                (true, false) => &mut counts.shallower,
                (false, false) if depth.cm() <= limit.cm() => &mut counts.just,
                (false, _) => &mut counts.deeper,
            };
            *side += 1;
        }
        counts
    }

    /// `26 of 108 spots had less than 6 in of loose soil, 54 had 6 in and 28 had more`.
    fn told(&self, limit: &str) -> String {
        let all = self.shallower + self.just + self.deeper + self.unknown;
        let mut parts =
            vec![format!("{} of {all} spots had less than {limit} of loose soil", self.shallower)];
        if self.just > 0 {
            parts.push(format!("{} had {limit}", self.just));
        }
        if self.deeper > 0 {
            let more = if self.just > 0 { "more".into() } else { format!("{limit} or more") };
            parts.push(format!("{} had {more}", self.deeper));
        }
        if self.unknown > 0 {
            parts.push(format!("of {} that is not known", self.unknown));
        }
        listed(&parts)
    }
}

/// Where the thin ground lies, or the thinnest where none is thin.
fn where_thin(of: &ReportOf, thin: &ThinGround) -> Option<String> {
    let map = &of.latest().map;
    if !map.method.beats_field_mean() {
        return None;
    }
    let told = |zones: &[&Zone]| thin.told(zones, |area_m2| of.area(area_m2));
    if !thin.zones.is_empty() && is_little_better(map) {
        return Some(format!(
            "The map, for what it is worth, is thinner than {} on {} of the field: {}.",
            of.units().depth_text(thin.limit),
            of.ground(thin.area_m2),
            told(&thin.zones)
        ));
    }
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
    let (threshold, units) = (survey.threshold(), of.units());
    let limit = units.depth_text(thin.limit);
    let counts = Counts::of(of, thin.limit);
    let just = match counts.just {
        0 => String::new(),
        just => format!(" and {just} just at {limit}"),
    };
    // Of two visits the halves are told side by side.
    let half = match of.compared {
        Some(_) => String::new(),
        None => {
            let curve = KaplanMeier::of(&readings).expect("a checked survey has readings");
            format!("; {}", half_of(curve.median(), "", units))
        }
    };
    format!(
        "The loose layer ends where the gauge first reads {threshold}: of {} spots probed, {} did so at less than \
         {limit}{just}{half}.",
        readings.len(),
        counts.shallower
    )
}

/// The depth that half of the spots reached the threshold within: a bound is never told as a depth.
fn half_of(median: Reading, threshold: &str, units: UnitSystem) -> String {
    let reached =
        if threshold.is_empty() { "reached it".into() } else { format!("reached {threshold}") };
    match median {
        Reading::Reached(depth) => {
            format!("half of the spots {reached} within {}", units.depth_text(depth))
        }
        Reading::NotReached { probed_to } => {
            format!("more than half had not {reached} at {}", units.depth_text(probed_to))
        }
    }
}

/// How far off the map typically is, and whether that is better than one number.
fn sure(of: &ReportOf) -> String {
    let map = &of.latest().map;
    let validation = &map.method.validation;
    let spots = validation.pairs.len();
    let error = |cm: f64| of.units().depth_text(Depth::from_cm(cm));
    if spots == 0 {
        return "How far off the map is cannot be told: no spot is near enough to another to check it by.".into();
    }
    let start = if map.strata.is_empty() { "A" } else { "On the main ground a" };
    let is_mean = map.method.estimator.kind() == mapping::MethodKind::Mean;
    let beside = match !is_mean && validation.mean_rmse.is_finite() {
        true => beside_one_number(map, &error(validation.mean_rmse)),
        false => String::new(),
    };
    let rough = match spots < LITTLE_SPOTS {
        true => format!(" With {spots} spots even that is a rough figure."),
        false => String::new(),
    };
    format!(
        "{start} spot's true depth is typically within ±{} of the map, found by leaving out each of {spots} spots in \
         turn{beside}.{rough}",
        error(validation.rmse)
    )
}

/// The map's error beside that of one number for the whole field.
fn beside_one_number(map: &DepthMap, plain: &str) -> String {
    let start = format!("; one number for the whole field would be within ±{plain}");
    match (map.method.beats_field_mean(), is_little_better(map)) {
        (false, _) => format!("{start}, so the map tells no more than that"),
        (true, true) => format!("{start}, so the map is only a little better"),
        (true, false) => format!("{start}, so the map is better"),
    }
}

/// Some zones by name.
fn named(zones: &[&Zone]) -> String {
    let mut names: Vec<String> =
        zones.iter().take(NAMES_TOLD).map(|zone| zone.id.clone()).collect();
    if zones.len() > NAMES_TOLD {
        names.push(format!("{} more", zones.len() - NAMES_TOLD));
    }
    listed(&names)
}

/// Thin zones that few spots back.
fn few_spots(thin: &ThinGround) -> Option<String> {
    let few: Vec<&Zone> = thin.zones.iter().copied().filter(|zone| zone.has_few_probes()).collect();
    let [take, has] = if few.len() == 1 { ["it", "has"] } else { ["them", "have"] };
    (!few.is_empty()).then(|| {
        format!(
            "{} {has} fewer than {FEW_PROBES} spots: take {take} as a hint, not as a finding.",
            named(&few)
        )
    })
}

/// Thin zones to be taken with care.
pub fn sure_of_zones(of: &ReportOf) -> Vec<String> {
    let thin = ThinGround::of(&of.latest().map);
    let is_unsure = |zone: &&Zone| {
        !zone.has_few_probes() && zone.evidence.class_confidence.is_some_and(|share| share < 0.5)
    };
    let unsure: Vec<&Zone> = thin.zones.iter().copied().filter(is_unsure).collect();
    let unsure = (!unsure.is_empty()).then(|| {
        format!(
            "In {} it is less than an even chance that the mean depth lies in the range that the map shows.",
            named(&unsure)
        )
    });
    few_spots(&thin).into_iter().chain(unsure).collect()
}

/// What changed since the first visit: the moisture before any figure.
fn change(of: &ReportOf) -> Vec<String> {
    let Some(compared) = of.compared else { return Vec::new() };
    let mut all = vec![compared.found.moisture.sentence()];
    all.extend(medians(of));
    all.push(crate::change_picture::verdict(compared));
    all
}

/// The depth that half of the spots reached the threshold within, first and last.
fn medians(of: &ReportOf) -> Option<String> {
    let [first, .., last] = of.trend.visits.as_slice() else { return None };
    let visits = &of.loaded.visits;
    let days = [visits.first()?, visits.last()?].map(|visit| of.day(visit));
    let medians = [first.median, last.median];
    Some(halves(medians, &days, &first.threshold.to_string(), of.units()))
}

fn halves(medians: [Reading; 2], days: &[String; 2], threshold: &str, units: UnitSystem) -> String {
    let [first_day, last_day] = days;
    let text = |depth: Depth| units.depth_text(depth);
    let told = match medians {
        [Reading::Reached(first), Reading::Reached(last)] => format!(
            "half of the spots reached {threshold} within {} on {first_day} and within {} on {last_day}",
            text(first),
            text(last)
        ),
        [first, last] => format!(
            "{} on {first_day}, and {} on {last_day}",
            half_of(first, threshold, units),
            half_of(last, "", units)
        ),
    };
    format!("{}.", plan::capitalised(&told))
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

#[cfg(test)]
mod tests {
    use super::*;

    const US: UnitSystem = UnitSystem::Us;

    fn reached(inches: f64) -> Reading {
        Reading::Reached(Depth::from_in(inches))
    }

    fn not_reached(inches: f64) -> Reading {
        Reading::NotReached { probed_to: Depth::from_in(inches) }
    }

    #[test]
    fn the_half_that_was_not_reached_is_no_depth() {
        let days = ["May 1".to_owned(), "Jun 1".to_owned()];
        let of = |medians| halves(medians, &days, "200 psi", US);
        assert_eq!(
            of([reached(9.0), reached(6.0)]),
            "Half of the spots reached 200 psi within 9 in on May 1 and within 6 in on Jun 1."
        );
        assert_eq!(
            of([not_reached(18.0), reached(6.0)]),
            "More than half had not reached 200 psi at 18 in on May 1, and half of the spots reached it within 6 in \
             on Jun 1."
        );
        assert_eq!(
            of([not_reached(18.0), not_reached(15.0)]),
            "More than half had not reached 200 psi at 18 in on May 1, and more than half had not reached it at 15 in \
             on Jun 1."
        );
    }

    #[test]
    fn a_mean_of_spots_that_were_not_reached_is_a_bound() {
        let of = |is_bound| Mean { text: "9 in".into(), is_bound };
        assert_eq!(of(false).told("about"), "about 9 in");
        assert_eq!(of(false).told(""), "9 in");
        assert_eq!(of(true).told("about"), "at least 9 in");
        assert_eq!(of(true).told(""), "at least 9 in");
    }

    #[test]
    fn what_spots_read_is_told_about_a_limit() {
        let of = |[shallower, just, deeper, unknown]: [usize; 4]| {
            Counts { shallower, just, deeper, unknown }.told("6 in")
        };
        let told = "26 of 108 spots had less than 6 in of loose soil, 54 had 6 in and 28 had more";
        assert_eq!(of([26, 54, 28, 0]), told);
        let told = "3 of 8 spots had less than 6 in of loose soil, 4 had 6 in or more and of 1 that is not known";
        assert_eq!(of([3, 0, 4, 1]), told);
        assert_eq!(of([3, 0, 0, 0]), "3 of 3 spots had less than 6 in of loose soil");
    }
}
