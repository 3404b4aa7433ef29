//! Sentences about kriging and chances, for the terminal and for the pages.

use geostat::{CrossValidation, Raster};
use mapping::{
    ClassIntervals, DepthMap, FittedVariogram, Probability, ProbabilityCheck, ProbabilityMethod,
    error_text,
};
use report::LITTLE_SKILL;
use survey::units::tidy;
use survey::{Depth, UnitSystem};

/// A share in whole percent; little but something is not nothing, and nearly all is not all.
pub fn percent(share: f64) -> String {
    match share {
        share if share > 0.0 && share < 0.005 => "<1 %".into(),
        share if share > 0.995 && share < 1.0 - 1e-6 => ">99 %".into(),
        share => format!("{} %", tidy(100.0 * share, 0)),
    }
}

/// A variogram's model of depths: `spherical, nugget 12.3 in², partial sill 8 in², range 500 ft`.
pub fn model(fitted: &FittedVariogram, units: UnitSystem) -> String {
    let per_cm = units.depth(Depth::from_cm(1.0));
    let semivariance = |cm2: f64| tidy(cm2 * per_cm * per_cm, 2);
    let unit = units.depth_unit();
    if fitted.model.partial_sill <= 0.0 {
        let nugget = semivariance(fitted.model.nugget);
        return format!("all nugget, {nugget} {unit}²: neighbours tell nothing");
    }
    format!(
        "{}, nugget {} {unit}², partial sill {} {unit}², {}; fitted to {} distance classes, weighted by \
         pairs over squared distance",
        fitted.shape_name(),
        semivariance(fitted.model.nugget),
        semivariance(fitted.model.partial_sill),
        range(fitted, units),
        fitted.empirical.classes.len(),
    )
}

fn range(fitted: &FittedVariogram, units: UnitSystem) -> String {
    let along = match fitted.model.anisotropy.is_none() {
        true => "",
        false => " along the direction",
    };
    format!("range {}{along}", units.distance_text(fitted.model.range_m))
}

/// Whether the intervals of kriging held, and its variances.
pub fn coverage(validation: &CrossValidation) -> String {
    format!(
        "the 80 % interval held {} of the readings left out, the 95 % interval {}; mean squared error over \
         kriging variance {} (1 is right)",
        percent(validation.coverage_80()),
        percent(validation.coverage_95()),
        tidy(validation.msdr(), 2),
    )
}

/// How far off a kriged map may be.
pub fn standard_error(error_cm: &Raster, units: UnitSystem) -> Option<String> {
    let known = error_cm.values.iter().copied().filter(|cm| !cm.is_nan());
    let ends = known.fold(None, |ends: Option<(f64, f64)>, cm| {
        Some(ends.map_or((cm, cm), |(least, most)| (least.min(cm), most.max(cm))))
    });
    ends.map(|(least, most)| {
        format!(
            "standard error {} to {}: that of what one probe would read, so the nugget is in it",
            error_text(least, units),
            error_text(most, units)
        )
    })
}

/// What went wrong in cells, if anything.
pub fn below_and_negative(map: &DepthMap) -> Vec<String> {
    let mut all = Vec::new();
    if map.below_ground > 0 {
        all.push(format!("{} cells estimated below 0 were set to 0", map.below_ground));
    }
    if map.negative_variances > 0 {
        all.push(format!(
            "{} cells have a negative variance, so no standard error",
            map.negative_variances
        ));
    }
    all
}

/// What the intervals of areas come from.
pub fn simulation(intervals: &ClassIntervals) -> String {
    let thinned = match intervals.step {
        1 => String::new(),
        step => format!(" of one row and column in {step}"),
    };
    format!(
        "intervals of area: {} simulated maps (seed {}, {} cells{thinned}), in which \"not reached\" is as deep \
         as probed or deeper, and the nugget is left out",
        intervals.realisations, intervals.seed, intervals.cells
    )
}

/// What is known of a chance, for the terminal.
pub fn chance(probability: &Probability, map: &DepthMap) -> String {
    let units = map.classes.units();
    let limit = units.depth_text(probability.limit);
    let likely_m2: f64 = probability.class_areas_m2[3..].iter().sum();
    let mut lines = vec![
        String::new(),
        format!(
            "chance of less than {limit}: 50 % or more on {:.2} {} ({} of the field)",
            units.area(likely_m2),
            units.area_unit(),
            percent(map.share(likely_m2)),
        ),
    ];
    lines.extend(chance_made(probability, units).iter().map(|text| no_full_stop(text)));
    lines.push(no_full_stop(&chance_verdict(probability)));
    lines.extend(chance_checked(probability).iter().map(|text| no_full_stop(text)));
    lines.join("\n")
}

/// A sentence as a line of the terminal has it.
fn no_full_stop(sentence: &str) -> String {
    let mut letters = sentence.trim_end_matches('.').chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// How a chance was estimated, in sentences.
pub fn chance_made(probability: &Probability, units: UnitSystem) -> Vec<String> {
    let limit = units.depth_text(probability.limit);
    let known = probability.thinner + probability.not_thinner;
    let from = |neighbours: &Option<usize>| match neighbours {
        Some(count) => format!("the nearest {count} of {known} probes"),
        None => format!("{known} probes"),
    };
    let mut all = match &probability.method {
        ProbabilityMethod::IndicatorKriging { variogram, neighbours } => vec![
            format!(
                "Indicator kriging (1 thinner than {limit}, 0 not) from {}: no distribution is assumed.",
                from(neighbours)
            ),
            match variogram.model.partial_sill > 0.0 {
                true => format!(
                    "Variogram of the indicators: {}, {}, nugget {} of the sill.",
                    variogram.shape_name(),
                    range(variogram, units),
                    percent(variogram.nugget_share()),
                ),
                false => "The variogram of the indicators is all nugget: neighbours tell nothing.".into(),
            },
        ],
        ProbabilityMethod::InverseDistance { power, neighbours, why } => vec![format!(
            "Inverse distance of the indicators (1 thinner than {limit}, 0 not), power {}, from {}; not \
             kriged: {why}.",
            tidy(*power, 3),
            from(neighbours)
        )],
        ProbabilityMethod::Normal => vec![
            "From the kriged depth and its standard error, as if normally distributed: an assumption."
                .into(),
            "A probe that did not reach counts as its lower bound here.".into(),
        ],
    };
    if let ProbabilityMethod::IndicatorKriging { variogram, .. } = &probability.method {
        let cautions = variogram.cautions();
        all.extend(cautions.iter().map(|caution| format!("Caution: {caution}.")));
    }
    all.push(format!("{} of {known} probes read thinner than {limit}.", probability.thinner));
    if probability.unknown > 0 {
        all.push(format!(
            "{} stopped above {limit} without reaching the threshold: not used.",
            probability.unknown
        ));
    }
    if probability.clamped > 0 {
        all.push(format!(
            "In {} cells the estimate lay outside 0 to 100 % and was set to the nearer.",
            probability.clamped
        ));
    }
    all
}

/// Whether a chance of each place is better than one for the whole field.
pub fn chance_verdict(probability: &Probability) -> String {
    match &probability.check {
        None => "No probe is within reach of another, so the chances could not be checked.".into(),
        Some(ProbabilityCheck { skill, .. }) if *skill > 0.0 => {
            let better = if *skill < LITTLE_SKILL { "Barely better" } else { "Better" };
            let less = percent(*skill);
            format!("{better} than one chance for the whole field: {less} less squared error.")
        }
        Some(_) => {
            "No better than one chance for the whole field: do not act on single places.".into()
        }
    }
}

/// How well chances did when each reading was left out.
pub fn chance_checked(probability: &Probability) -> Vec<String> {
    probability
        .check
        .iter()
        .map(|check| {
            format!(
                "Leaving out each of {} probes in turn: Brier score {}, of one share for all {}; skill {}.",
                check.spots,
                tidy(check.brier, 3),
                tidy(check.plain_brier, 3),
                tidy(check.skill, 2),
            )
        })
        .collect()
}

/// Sentences below a title, each with a dash; nothing where there are none.
pub fn listed<T: AsRef<str>>(title: &str, sentences: &[T]) -> Option<String> {
    let lines = sentences.iter().map(|sentence| format!("  - {}", sentence.as_ref()));
    let all = [format!("{title}:")].into_iter().chain(lines).collect::<Vec<_>>().join("\n");
    (!sentences.is_empty()).then_some(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_little_is_not_nothing_and_nearly_all_is_not_all() {
        let texts = [0.0, 0.0027, 0.339, 0.9967, 1.0].map(percent);
        assert_eq!(texts, ["0 %", "<1 %", "34 %", ">99 %", "100 %"]);
    }
}
