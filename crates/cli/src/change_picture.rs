//! The picture of a change.

use std::error::Error;

use geostat::Raster;
use report::{
    Between, ChangePage, Estimate, Notice, PairedSpot, TransitionTable, ValueClasses, VisitFacts,
    change_limits_cm, change_png,
};
use season::{ChangeBasis, ChangeMap, EffectiveMean, Pair};

use crate::commands::compare::Compared;
use crate::{compare_table, words};

/// The page as a PNG.
pub fn png(compared: &Compared) -> Result<Vec<u8>, Box<dyn Error>> {
    let (found, [earlier, later]) = (compared.found, compared.visits);
    let classes = &later.map.classes;
    let limits_cm = change_limits_cm(classes.units());
    let class_names: Vec<String> = (0..classes.len()).map(|class| classes.name(class)).collect();
    let pairs: Vec<PairedSpot> = found.pairs.pairs.iter().map(paired_spot).collect();
    let facts = [earlier, later].map(|visit| VisitFacts::of(&visit.name, &visit.survey));
    let (change, moisture) = (&found.change, found.moisture.sentence());
    let is_known = change.basis != ChangeBasis::Unknown;
    Ok(change_png(&ChangePage {
        title: compared.field_name,
        field: later.survey.field(),
        units: classes.units(),
        visits: [&facts[0], &facts[1]],
        moisture: Notice { words: &moisture, is_warning: !found.moisture.is_matched() },
        change_cm: &change.change_cm,
        half_width_cm: is_known.then_some(&change.half_width_cm),
        confidence: change.confidence,
        limits_cm: &limits_cm,
        class_areas_m2: &class_areas_m2(compared, &limits_cm),
        within_m2: change.within_m2,
        unmapped_m2: change.unmapped_m2,
        thinner_m2: change.thinner_m2,
        deeper_m2: change.deeper_m2,
        pairs: &pairs,
        paired: found.paired.t.as_ref().map(|t| Estimate {
            mean_cm: t.mean,
            interval_cm: match found.paired.effective {
                EffectiveMean::Of { interval_cm, .. } => interval_cm,
                EffectiveMean::TooFew { .. } => [f64::NAN; 2],
                // The notes say what it takes for granted.
                EffectiveMean::Unknown => t.interval,
            },
            confidence: change.confidence,
            count: t.n,
        }),
        transitions: Some(TransitionTable {
            class_names: &class_names,
            areas_m2: &found.transitions.areas_m2,
        }),
        verdict: &verdict(compared),
        notes: &compare_table::sentences(compared),
    })?)
}

/// The change at a spot, as far as its readings tell it.
pub fn paired_spot(pair: &Pair) -> PairedSpot {
    let change = pair.change();
    PairedSpot {
        position: pair.earlier_place,
        change: Between {
            low_cm: change.least_cm().unwrap_or(f64::NEG_INFINITY),
            high_cm: change.most_cm().unwrap_or(f64::INFINITY),
        },
    }
}

/// Ground of each class of change, without what lies within its uncertainty.
fn class_areas_m2(compared: &Compared, limits_cm: &[f64]) -> Vec<f64> {
    let ChangeMap { change_cm, half_width_cm, .. } = &compared.found.change;
    let map = &compared.visits[1].map;
    let classes = ValueClasses::change(limits_cm, map.classes.units());
    let beyond = |(&change, &half): (&f64, &f64)| match change.abs() > half {
        true => change,
        false => f64::NAN,
    };
    let values = change_cm.values.iter().zip(&half_width_cm.values).map(beyond).collect();
    let beyond = Raster { grid: change_cm.grid, values };
    map.areas_m2(&beyond, classes.len(), |cm| classes.class_of(cm).unwrap_or(0))
}

/// What the map says of the change, in a sentence.
pub fn verdict(compared: &Compared) -> String {
    let (change, map) = (&compared.found.change, &compared.visits[1].map);
    match change.basis {
        ChangeBasis::Unknown => {
            "Nothing tells how sure the change is: no ground can be said to have changed.".into()
        }
        _ => beyond_uncertainty(
            [change.thinner_m2, change.deeper_m2].map(|area_m2| map.share(area_m2)),
            compared.found.moisture.is_matched(),
        ),
    }
}

/// On which shares of the field the layer became thinner and deeper by more than the uncertainty.
fn beyond_uncertainty([thinner, deeper]: [f64; 2], is_matched: bool) -> String {
    if thinner <= 0.0 && deeper <= 0.0 {
        return "Nowhere on the field is the change beyond its uncertainty.".into();
    }
    let but = if is_matched { "" } else { ", but moisture alone may have done it" };
    format!(
        "The loose layer became thinner on {} of the field and deeper on {} by more than the uncertainty{but}.",
        words::percent(thinner),
        words::percent(deeper)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moisture_is_blamed_only_where_something_changed() {
        let changed = beyond_uncertainty([0.41, 0.0], false);
        assert!(changed.contains("thinner on 41 % of the field and deeper on 0 %"), "{changed}");
        assert!(changed.ends_with("but moisture alone may have done it."));
        assert!(!beyond_uncertainty([0.41, 0.0], true).contains("moisture"));
        let nowhere = "Nowhere on the field is the change beyond its uncertainty.";
        assert_eq!(beyond_uncertainty([0.0; 2], false), nowhere);
        assert_eq!(beyond_uncertainty([0.0; 2], true), nowhere);
    }
}
