//! How sure the map is, in sentences a grower can weigh.

use mapping::{Estimator, MUCH_OF_OTHER_CLASS, StratumMap};
use survey::units::tidy;
use survey::{Depth, FieldOrigin};

use crate::fonts::Weight;
use crate::frame::Rect;
use crate::page::MapPage;
use crate::svg::Svg;
use crate::text_block::{self, Paragraph};
use crate::wording::{area_text, count_text, mean_text, share_text, whole};

/// Below this skill a map is hardly worth more than one number for the whole field (ours).
pub const LITTLE_SKILL: f64 = 0.1;

/// Draws the block into a rectangle: the verdict first, then how it was found.
pub(crate) fn draw(svg: &mut Svg, page: &MapPage, place: Rect) {
    text_block::draw(svg, "How sure", &paragraphs(page), &text_block::SIZES, place);
}

fn paragraphs(page: &MapPage) -> Vec<Paragraph> {
    let sentences = sentences(page).into_iter().map(|text| (text, Weight::Regular));
    std::iter::once((verdict(page), Weight::SemiBold)).chain(sentences).collect()
}

/// What the map is worth against one number for the whole field.
pub(crate) fn verdict(page: &MapPage) -> String {
    let validation = &page.map.method.validation;
    let skill = validation.skill();
    let mean = match page.map.strata.is_empty() {
        true => format!("the field mean of {}", mean_text(page.map)),
        false => format!("the main ground's mean of {}", mean_text(page.map)),
    };
    if !page.map.method.beats_field_mean() {
        return format!("This map tells no more than {mean}.");
    }
    let percent = share_text(skill);
    match skill < LITTLE_SKILL {
        true => format!("This map barely beats {mean}: {percent} less squared error."),
        false => format!("This map beats {mean}: {percent} less squared error."),
    }
}

/// What a map is worth, how it was made and how it was checked, one sentence each.
pub fn how_sure(page: &MapPage) -> Vec<String> {
    std::iter::once(verdict(page)).chain(sentences(page)).collect()
}

/// How the map was made and checked, one statement each.
pub(crate) fn sentences(page: &MapPage) -> Vec<String> {
    // What is missed most comes first: where there is too little room, the end is cut.
    let mut all: Vec<String> = other_class(page).into_iter().collect();
    all.extend([method(page), validation(page)]);
    all.extend(strata(page));
    all.extend(not_reached(page));
    if matches!(page.survey.field().origin(), FieldOrigin::HullOfProbes { .. }) {
        all.push("No boundary was given: the outline is drawn around the probes.".into());
    }
    all.extend(intervals(page).into_iter().chain(coverage(page)).chain(comparison(page)));
    all
}

/// Ground that the colours do not tell the class of, where it is too much to pass over.
fn other_class(page: &MapPage) -> Option<String> {
    let area_m2 = page.map.zones_made.other_class_m2;
    let share = page.map.share(area_m2);
    (share > MUCH_OF_OTHER_CLASS).then(|| {
        format!(
            "Caution: {} of the field ({}) lies in a zone of another class, too narrow, small or many for \
             one of its own.",
            share_text(share),
            area_text(area_m2, page.survey.field(), page.map.classes.units())
        )
    })
}

/// Ground that is judged apart.
fn strata(page: &MapPage) -> Vec<String> {
    let units = page.map.classes.units();
    let told = |stratum: &StratumMap| format!("{}.", stratum.told(units).replacen('s', "S", 1));
    page.map.strata.iter().map(told).collect()
}

fn method(page: &MapPage) -> String {
    let method = &page.map.method;
    let units = page.map.classes.units();
    let probes = page.map.probed.spots;
    let name = match &method.estimator {
        Estimator::Mean => "The field mean, everywhere".to_owned(),
        Estimator::InverseDistance { power, chosen, at_end } => {
            let chosen = match chosen {
                true if *at_end => "least error, at the end of the range tried",
                true => "chosen by cross-validation",
                false => "as set",
            };
            format!("Inverse distance, power {} ({chosen})", tidy(*power, 2))
        }
        Estimator::Kriging(variogram) => {
            // Without a partial sill the shape is of no account: neighbours tell nothing.
            let shape = match variogram.model.partial_sill > 0.0 {
                true => variogram.shape_name(),
                false => "all-nugget",
            };
            format!("Ordinary kriging, {shape} variogram")
        }
    };
    let from = match method.neighbourhood.neighbours {
        Some(count) => format!("the nearest {count} of {}", count_text(probes, "probe")),
        None => format!("all {}", count_text(probes, "probe")),
    };
    let reach = units.distance_text(whole(method.reach_m, units));
    let options: String =
        method.options(units).iter().map(|option| format!("; {option}")).collect();
    let ground = if page.map.strata.is_empty() { "" } else { "Main ground: " };
    format!("{ground}{name}, from {from}{options}; reach {reach}.")
}

/// How the methods that were tried compare.
fn comparison(page: &MapPage) -> Option<String> {
    let comparison = page.map.method.comparison(page.map.classes.units())?;
    Some(format!("Errors of the methods: {comparison}."))
}

/// How far the map is off where whole blocks of ground have no probe, as the end of a sentence.
fn blocks(page: &MapPage) -> String {
    let units = page.map.classes.units();
    let known = page.map.method.blocks.as_ref().filter(|b| b.validation.rmse.is_finite());
    known.map_or_else(String::new, |blocks| {
        format!(
            "; blocks of {} left out: {}",
            units.distance_text(whole(blocks.side_m, units)),
            units.depth_text(Depth::from_cm(blocks.validation.rmse))
        )
    })
}

/// Whether the intervals of kriging held.
fn coverage(page: &MapPage) -> Option<String> {
    page.map.method.variogram()?;
    let validation = &page.map.method.validation;
    (!validation.pairs.is_empty()).then(|| {
        format!(
            "80 % intervals held {} of the readings left out, 95 % intervals {}.",
            share_text(validation.coverage_80()),
            share_text(validation.coverage_95())
        )
    })
}

/// What the intervals of the classes' ground are.
fn intervals(page: &MapPage) -> Option<String> {
    let intervals = page.map.class_intervals.as_ref()?;
    Some(format!(
        "80 % interval of ground: from {} simulated maps, in which \"not reached\" may be deeper.",
        intervals.realisations
    ))
}

/// How far the map is off where a probe is left out.
pub(crate) fn validation(page: &MapPage) -> String {
    let validation = &page.map.method.validation;
    if validation.pairs.is_empty() {
        return "No probe is within reach of another, so the map could not be checked.".into();
    }
    let units = page.map.classes.units();
    let depth = |cm: f64| units.depth_text(Depth::from_cm(cm));
    let error = match depth(validation.me) {
        zero if zero.starts_with("0 ") => zero,
        above if validation.me > 0.0 => format!("+{above}"),
        below => below.replace('-', "−"),
    };
    format!(
        "Leave-one-out check: typical error (RMSE) {}, mean error {error} (reading minus \
         estimate){}.",
        depth(validation.rmse),
        blocks(page)
    )
}

fn not_reached(page: &MapPage) -> Option<String> {
    let (count, probes) = (page.survey.not_reached(), page.survey.spots().len());
    let threshold = page.survey.threshold().to_string();
    let share = share_text(count as f64 / probes as f64);
    (count > 0).then(|| {
        format!(
            "{share} of probes never reached {threshold}. They count as their lower bound, so the \
             loose layer may be deeper there."
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing;

    #[test]
    fn a_map_without_skill_says_so() {
        let sample = testing::noise();
        let page = sample.page("Noise");
        assert!(sample.map.method.validation.skill() <= 0.0);
        let verdict = verdict(&page);
        assert!(verdict.starts_with("This map tells no more than the field mean of "), "{verdict}");
        assert!(verdict.ends_with(" in."), "{verdict}");
    }

    #[test]
    fn much_to_say_is_said_smaller() {
        let sample = testing::without_boundary();
        let paragraphs = paragraphs(&sample.page("Field"));
        let size = |height| {
            text_block::size_that_fits(
                &paragraphs,
                &text_block::SIZES,
                Rect::new(0.0, 0.0, 340.0, height),
            )
        };
        assert!(size(450.0) < size(900.0));
    }

    #[test]
    fn much_ground_in_zones_of_another_class_is_told_first() {
        let mut sample = testing::noise();
        let field_m2 = sample.map.field_area_m2;
        sample.map.zones_made.other_class_m2 = 0.2 * field_m2;
        let told = |sample: &testing::Sample| sentences(&sample.page("Field"))[0].clone();
        assert!(!told(&sample).starts_with("Caution"));
        sample.map.zones_made.other_class_m2 = 0.5 * field_m2;
        let caution = told(&sample);
        assert!(caution.starts_with("Caution: 50 % of the field ("), "{caution}");
    }

    #[test]
    fn equal_readings_have_no_skill() {
        let sample = testing::equal();
        let verdict = verdict(&sample.page("Flat"));
        assert_eq!(verdict, "This map tells no more than the field mean of 6 in.");
    }

    #[test]
    fn a_field_without_boundary_says_so() {
        let said = |sample: &testing::Sample| {
            sentences(&sample.page("Field"))
                .iter()
                .any(|text| text.starts_with("No boundary was given"))
        };
        assert!(said(&testing::without_boundary()) && !said(&testing::wide()));
    }

    #[test]
    fn censored_readings_are_owned_up_to() {
        let text = sentences(&testing::wide().page("Field")).join(" ");
        assert!(text.contains("never reached 200 psi") && text.contains("lower bound"), "{text}");
    }
}
