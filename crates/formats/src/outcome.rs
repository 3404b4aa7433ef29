//! How an insertion ended, as its record tells.

use serde_json::Value;
use survey::{Depth, DepthUnit, Outcome, Severity};

use crate::fields::{Field, Fields};
use crate::names::Role;
use crate::outcome_words::{Word, no_reading, stopped_the_rod, word};
use crate::record::{Comma, Numbers};
use crate::values::number_in;

/// How far two statements of one depth may differ, centimetres: rounding to whole centimetres or
/// tenths of an inch.
const SAME_DEPTH_CM: f64 = 0.3;

/// How an insertion ended.
pub(crate) struct Told {
    pub outcome: Outcome,
    /// The unit the depth is in, where there is one.
    pub unit: Option<DepthUnit>,
    /// What was assumed, and that no more than it was lost: a note, else a fault.
    pub assumed: Option<(Severity, &'static str, &'static str)>,
}

/// A depth as a record states it.
#[derive(Clone, Copy)]
pub(crate) struct StatedDepth {
    pub number: f64,
    pub unit: DepthUnit,
    /// Written as `>=18` or `18+`.
    pub or_deeper: bool,
}

impl StatedDepth {
    pub(crate) fn depth(self) -> Depth {
        self.unit.depth(self.number)
    }
}

/// How the insertion ended. `Err` says what is wrong.
pub(crate) fn outcome(fields: &Fields) -> Result<Told, String> {
    let (depth, in_depth) = match reason_in_depth(fields) {
        Some(reason) => (None, Some(reason)),
        None => (depth(fields)?, None),
    };
    let stated = fields.text(Role::Outcome).as_deref().and_then(word);
    let beyond = depth.is_some_and(|depth| depth.or_deeper) || not_reached(fields)?;
    let not_reached = match stated {
        Some(Word::Reached) if beyond => return Err(CONTRADICTION.into()),
        Some(Word::NotReached) => true,
        Some(Word::NoReading(_)) => false,
        Some(Word::Reached) | None => beyond,
    };
    let reason = match stated {
        Some(Word::NoReading(reason)) => Some(reason),
        Some(_) => None,
        None => in_depth.or_else(|| {
            let note = fields.text(Role::Note)?;
            no_reading(&note).filter(|_| depth.is_none() || stopped_the_rod(&note))
        }),
    };
    match depth {
        Some(_) if stated == Some(Word::NoReading(Outcome::Skipped)) => Ok(Told {
            outcome: Outcome::Skipped,
            unit: None,
            assumed: Some((
                Severity::Fault,
                "has a depth, but its outcome is \"skipped\"",
                "counted as skipped",
            )),
        }),
        Some(_) if reason == Some(Outcome::Refused) && !not_reached => Ok(Told {
            outcome: Outcome::Refused,
            unit: None,
            assumed: Some((
                Severity::Fault,
                "has a depth, but the note says that a stone or root stopped the rod",
                "counted as stopped by a stone",
            )),
        }),
        Some(stated) => {
            if not_reached {
                check_probed_to(fields, stated)?;
            }
            let outcome = match not_reached {
                true => Outcome::NotReached { probed_to: stated.depth() },
                false => Outcome::Reached(stated.depth()),
            };
            Ok(Told { outcome, unit: Some(stated.unit), assumed: None })
        }
        None if not_reached => {
            let Some(probed) = probed_to(fields)? else {
                return Err(
                    "the threshold was not reached, but no depth says how far the rod went".into(),
                );
            };
            let outcome = Outcome::NotReached { probed_to: probed.depth() };
            Ok(Told { outcome, unit: Some(probed.unit), assumed: None })
        }
        None if stated == Some(Word::Reached) => {
            Err("its outcome is \"reached\", but no depth says where".into())
        }
        None => Ok(Told {
            outcome: reason.unwrap_or(Outcome::Skipped),
            unit: None,
            assumed: reason.is_none().then_some((
                Severity::Note,
                "has no depth and no note that says why",
                "counted as skipped",
            )),
        }),
    }
}

const CONTRADICTION: &str = "one property says the threshold was reached, another that it was not";

/// The depth and its unit, where there is one.
pub(crate) fn depth(fields: &Fields) -> Result<Option<StatedDepth>, String> {
    let mut found: Option<StatedDepth> = None;
    for field in fields.iter() {
        let Role::Depth(unit) = field.meaning.role else {
            continue;
        };
        let Some(this) = stated(fields, field, unit)? else {
            continue;
        };
        match found {
            Some(other) if (other.depth().cm() - this.depth().cm()).abs() > SAME_DEPTH_CM => {
                return Err(format!(
                    "two depths that differ: {} {} and {} {}",
                    other.number,
                    other.unit.name(),
                    this.number,
                    unit.name()
                ));
            }
            Some(_) => {}
            None => found = Some(this),
        }
    }
    Ok(found)
}

fn stated(fields: &Fields, field: &Field, unit: DepthUnit) -> Result<Option<StatedDepth>, String> {
    let deeper = field.value.as_str().and_then(|text| or_deeper(text, fields.numbers));
    let number = match deeper {
        Some(depth) => Some(depth),
        None => fields.number(field)?,
    };
    Ok(number.map(|number| StatedDepth { number, unit, or_deeper: deeper.is_some() }))
}

/// The number of a depth written as "at least": `>=18`, `≥ 18`, `>18`, `18+`.
fn or_deeper(text: &str, numbers: Numbers) -> Option<f64> {
    let text = text.trim();
    let number = text
        .strip_prefix(">=")
        .or_else(|| text.strip_prefix('≥'))
        .or_else(|| text.strip_prefix('>'))
        .or_else(|| text.strip_suffix('+'))?;
    let numbers = match numbers {
        Numbers::Json => Numbers::Text { comma: Comma::Separator },
        text => text,
    };
    number_in(number, numbers)
}

fn probed_to(fields: &Fields) -> Result<Option<StatedDepth>, String> {
    for field in fields.iter() {
        if let Role::ProbedTo(unit) = field.meaning.role
            && let Some(number) = fields.number(field)?
        {
            return Ok(Some(StatedDepth { number, unit, or_deeper: false }));
        }
    }
    Ok(None)
}

/// Makes sure that a depth that was not reached is the depth probed, where that stands beside it.
fn check_probed_to(fields: &Fields, stated: StatedDepth) -> Result<(), String> {
    match probed_to(fields)? {
        Some(probed) if (probed.depth().cm() - stated.depth().cm()).abs() > SAME_DEPTH_CM => {
            Err(format!(
                "two depths for a reading that was not reached: {} {} and {} {}",
                stated.number,
                stated.unit.name(),
                probed.number,
                probed.unit.name()
            ))
        }
        _ => Ok(()),
    }
}

fn not_reached(fields: &Fields) -> Result<bool, String> {
    match (fields.flag(Role::NotReached)?, fields.flag(Role::Reached)?) {
        (Some(not), Some(reached)) if not == reached => Err(CONTRADICTION.into()),
        (Some(not), _) => Ok(not),
        (None, reached) => Ok(reached == Some(false)),
    }
}

/// Why there is no reading, where a word stands in the place of the depth in a format of text.
fn reason_in_depth(fields: &Fields) -> Option<Outcome> {
    if fields.numbers == Numbers::Json {
        return None;
    }
    let depths = fields.iter().filter(|field| matches!(field.meaning.role, Role::Depth(_)));
    depths.filter_map(|field| field.value.as_str()).find_map(no_reading)
}

/// Whether a value is a list, as profiles have.
pub(crate) fn is_list(field: &Field) -> bool {
    matches!(field.value, Value::Array(_))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::columns::Columns;
    use crate::fields::Meanings;

    fn told(text: &str, numbers: Numbers) -> Result<Told, String> {
        let properties = serde_json::from_str(text).unwrap();
        let columns = Columns::default();
        outcome(&Fields::new(&properties, &mut Meanings::new(&columns), numbers))
    }

    fn outcome_of(text: &str) -> Result<Outcome, String> {
        told(text, Numbers::Json).map(|told| told.outcome)
    }

    fn outcome_of_text(text: &str) -> Result<Outcome, String> {
        told(text, Numbers::Text { comma: Comma::Decimal }).map(|told| told.outcome)
    }

    #[test]
    fn depth_is_known_by_its_name_and_unit() {
        let nine = Outcome::Reached(Depth::from_in(9.0));
        for text in [
            r#"{"depth_in": 9}"#,
            r#"{"Depth (in)": 9}"#,
            r#"{"loose_depth_inches": 9, "note": null}"#,
            r#"{"depth_in": 9, "depth_cm": 22.9}"#,
        ] {
            assert_eq!(outcome_of(text).unwrap(), nine, "{text}");
        }
    }

    #[test]
    fn not_reached_is_not_a_depth() {
        let beyond = Outcome::NotReached { probed_to: Depth::from_in(18.0) };
        for text in [
            r#"{"depth_in": 18, "at_least": true}"#,
            r#"{"depth_in": null, "reached": false, "max_depth_in": 18}"#,
            r#"{"depth_in": ">=18"}"#,
            r#"{"depth_in": "18+", "at_least": true}"#,
        ] {
            assert_eq!(outcome_of(text).unwrap(), beyond, "{text}");
        }
        for text in [r#"{"depth_in": "18", "at_least": "yes"}"#, r#"{"depth_in": ">= 18,0"}"#] {
            assert_eq!(outcome_of_text(text).unwrap(), beyond, "{text}");
        }
        let two = outcome_of(r#"{"depth_in": 0, "reached": false, "max_depth_in": 18}"#);
        let expected = "two depths for a reading that was not reached: 0 in and 18 in";
        assert_eq!(two.unwrap_err(), expected);
        let same = r#"{"depth_in": 18, "reached": false, "max_depth_cm": 45.7}"#;
        assert_eq!(outcome_of(same).unwrap(), beyond);
        assert!(outcome_of(r#"{"depth_in": null, "at_least": true}"#).is_err());
        assert!(outcome_of(r#"{"depth_in": 9, "at_least": true, "reached": true}"#).is_err());
    }

    #[test]
    fn a_stone_is_not_a_reading() {
        assert_eq!(outcome_of(r#"{"depth_in": null, "note": "Stone"}"#).unwrap(), Outcome::Refused);
        assert_eq!(outcome_of_text(r#"{"depth_in": "stone"}"#).unwrap(), Outcome::Refused);
        assert_eq!(
            outcome_of(r#"{"depth_in": null, "note": "skipped"}"#).unwrap(),
            Outcome::Skipped
        );
        let silent = told(r#"{"depth_in": null}"#, Numbers::Json).unwrap();
        assert_eq!(silent.outcome, Outcome::Skipped);
        assert_eq!(silent.assumed.unwrap().0, Severity::Note);
        // A depth beside the stone is where the stone lay.
        let stone = told(r#"{"depth_in": 6, "note": "hit a rock"}"#, Numbers::Json).unwrap();
        assert_eq!(stone.outcome, Outcome::Refused);
        assert_eq!(stone.assumed.unwrap().0, Severity::Fault);
        let root = r#"{"depth_in": 6, "note": "hit a root"}"#;
        assert_eq!(outcome_of(root).unwrap(), Outcome::Refused);
        for note in ["good root growth", "gravel road near"] {
            let text = format!(r#"{{"depth_in": 6, "note": "{note}"}}"#);
            assert_eq!(outcome_of(&text).unwrap(), Outcome::Reached(Depth::from_in(6.0)));
            let text = format!(r#"{{"depth_in": null, "note": "{note}"}}"#);
            assert_eq!(outcome_of(&text).unwrap(), Outcome::Refused);
        }
        let clean = r#"{"depth_in": 6, "note": "no stones, rootstock field"}"#;
        assert_eq!(outcome_of(clean).unwrap(), Outcome::Reached(Depth::from_in(6.0)));
    }

    #[test]
    fn the_word_of_an_outcome_goes_before_the_note() {
        for (word, outcome) in [
            ("reached", Outcome::Reached(Depth::from_in(6.0))),
            ("not_reached", Outcome::NotReached { probed_to: Depth::from_in(6.0) }),
            ("stone", Outcome::Refused),
            ("unheard of", Outcome::Refused),
        ] {
            let text = format!(r#"{{"depth_in": 6, "outcome": "{word}", "note": "a rock"}}"#);
            assert_eq!(outcome_of(&text).unwrap(), outcome, "{word}");
        }
        let skipped = r#"{"depth_in": null, "outcome": "skipped", "note": "stone"}"#;
        assert_eq!(outcome_of(skipped).unwrap(), Outcome::Skipped);
        let stone = told(r#"{"depth_in": null, "outcome": "stone"}"#, Numbers::Json).unwrap();
        assert!(stone.outcome == Outcome::Refused && stone.assumed.is_none());
    }

    #[test]
    fn text_where_a_number_belongs_is_named() {
        let problem = outcome_of(r#"{"depth_in": "9"}"#).unwrap_err();
        assert_eq!(problem, r#"depth_in is the text "9", not a number"#);
        assert!(outcome_of(r#"{"depth_in": 9, "depth_cm": 30}"#).unwrap_err().contains("differ"));
        assert!(outcome_of_text(r#"{"depth_in": "9 in"}"#).is_err());
    }
}
