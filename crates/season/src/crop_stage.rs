//! Stages of crops, and the growing degrees at which corn commonly reaches them.
//!
//! Codes: VE, V1 to V30, VT and R1 to R6 of corn (Iowa State University Extension, PMR 1009, 2011, from
//! memory), VE, VC, V1 to V30 and R1 to R8 of soybean (Fehr & Caviness 1977, from memory). Degrees of corn
//! are 86/50 °F since planting: [`CORN`]. Hybrids differ by more than a hundred, so a date from them is an estimate
//! of a week or two: look at the plants. Soybean flowers by day length as well as warmth; no sum of degrees
//! tells when, so its stages are the observed ones. Of any other crop only `flowering` (R1) is known.

use std::fmt;

use survey::Date;

use crate::error::SeasonError;

/// A crop, as far as its stages are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Crop {
    /// Corn (maize).
    Corn,
    /// Soybean.
    Soybean,
    /// Another, by its name: it has no model and no stages but its flowering.
    Other(String),
}

impl Crop {
    /// The crop of a name in any case: `corn`, `maize`, `soybean`, `soybeans`, else another.
    pub fn from_name(name: &str) -> Crop {
        let name = name.trim();
        match name.to_lowercase().as_str() {
            "corn" | "maize" | "field corn" | "grain corn" => Crop::Corn,
            "soybean" | "soybeans" | "soya" | "soy" => Crop::Soybean,
            _ => Crop::Other(name.into()),
        }
    }

    /// Its name.
    pub fn name(&self) -> &str {
        match self {
            Crop::Corn => "corn",
            Crop::Soybean => "soybean",
            Crop::Other(name) => name,
        }
    }

    /// The stage of a code or word: `V6`, `VT`, `R1`, `tassel`, `silking`, `flowering`, `black layer`.
    ///
    /// # Errors
    /// When the crop has no such stage.
    pub fn stage(&self, text: &str) -> Result<Stage, SeasonError> {
        let word = text.trim().to_lowercase().replace(['_', '-'], " ");
        let wrong = || SeasonError::NoSuchStage {
            text: text.trim().into(),
            crop: self.name().into(),
            stages: self.stages(),
        };
        stage_of(&word).filter(|stage| self.has(*stage)).ok_or_else(wrong)
    }

    /// Whether the crop has a stage of this code.
    fn has(&self, stage: Stage) -> bool {
        match (self, stage) {
            (Crop::Corn, Stage::Cotyledons) | (Crop::Soybean, Stage::Tassel) => false,
            (Crop::Corn, Stage::Reproductive(number)) => number <= 6,
            (Crop::Corn | Crop::Soybean, _) => true,
            (Crop::Other(_), stage) => stage == Stage::FLOWERING,
        }
    }

    /// The stages that may be named, in words.
    fn stages(&self) -> &'static str {
        match self {
            Crop::Corn => "VE, V1 to V30, VT (tassel), R1 (silking), R2 to R5, R6 (black layer)",
            Crop::Soybean => "VE, VC, V1 to V30, R1 (flowering), R2 to R8",
            Crop::Other(_) => "flowering",
        }
    }

    /// What a stage is called: `silking (R1)`, `V6`.
    pub fn stage_name(&self, stage: Stage) -> String {
        let word = match (self, stage) {
            (Crop::Other(_), _) => return "flowering".into(),
            (_, Stage::Emergence) => "emergence",
            (Crop::Corn, Stage::Tassel) => "tassel",
            (Crop::Corn, Stage::FLOWERING) => "silking",
            (Crop::Corn, Stage::Reproductive(6)) => "black layer",
            (_, Stage::FLOWERING) => "flowering",
            _ => return stage.to_string(),
        };
        format!("{word} ({stage})")
    }

    /// The growing degrees since planting at which it commonly reaches a stage, the least and the most;
    /// `None` where no figure is known to us.
    pub fn degrees_to(&self, stage: Stage) -> Option<[f64; 2]> {
        let figures = CORN.iter().find(|figures| *self == Crop::Corn && figures.stage == stage)?;
        Some([figures.least_f, figures.most_f])
    }
}

fn stage_of(word: &str) -> Option<Stage> {
    match word {
        "ve" | "emergence" => return Some(Stage::Emergence),
        "vc" => return Some(Stage::Cotyledons),
        "vt" | "tassel" | "tasseling" | "tasselling" => return Some(Stage::Tassel),
        "silk" | "silking" | "silks" | "flower" | "flowering" | "first flower" | "bloom" => {
            return Some(Stage::FLOWERING);
        }
        "black layer" | "blacklayer" => return Some(Stage::Reproductive(6)),
        _ => {}
    }
    let number = |digits: &str| {
        let is_plain = digits.bytes().all(|byte| byte.is_ascii_digit());
        digits.parse::<u8>().ok().filter(|_| is_plain)
    };
    if let Some(leaves) = word.strip_prefix('v').and_then(number) {
        return (1..=30).contains(&leaves).then_some(Stage::Leaves(leaves));
    }
    let number = word.strip_prefix('r').and_then(number)?;
    (1..=8).contains(&number).then_some(Stage::Reproductive(number))
}

/// A stage, in the order that a crop goes through them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// VE: the plants are up.
    Emergence,
    /// VC of soybean: the first leaves above the cotyledons are open.
    Cotyledons,
    /// V1, V2, …: so many leaves (corn: with a collar; soybean: nodes).
    Leaves(u8),
    /// VT of corn: the tassel is out.
    Tassel,
    /// R1 to R8: R1 is silking of corn, flowering of soybean; R6 of corn the black layer.
    Reproductive(u8),
}

impl Stage {
    /// R1, where the reproductive stages begin: silking of corn, flowering of others.
    pub const FLOWERING: Stage = Stage::Reproductive(1);
}

/// Its code: `VE`, `V6`, `VT`, `R1`.
impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Stage::Emergence => f.write_str("VE"),
            Stage::Cotyledons => f.write_str("VC"),
            Stage::Leaves(number) => write!(f, "V{number}"),
            Stage::Tassel => f.write_str("VT"),
            Stage::Reproductive(number) => write!(f, "R{number}"),
        }
    }
}

/// At how many growing degrees a stage is commonly reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageDegrees {
    /// The stage.
    pub stage: Stage,
    /// The least figure, °F since planting.
    pub least_f: f64,
    /// The greatest.
    pub most_f: f64,
    /// Who publishes it.
    pub source: &'static str,
}

const DELAWARE: &str = "University of Delaware Extension, Weekly Crop Update, 2020";
const WISCONSIN: &str =
    "University of Wisconsin Extension, table of J. G. Lauer for hybrids of 95 to 105 days";
const BOTH: &str = "University of Delaware and University of Wisconsin Extension";

/// Published figures of corn. Delaware (26 June and 10 July 2020): V6 475, V12 870, VT 1135, R1 1400;
/// Wisconsin (agweather.cals.wisc.edu, corn development): V8 600, V13 900, VT 1200, R6 2400 to 2600. Others
/// lie higher: Delaware saw tassels from 1231 to 1322 in later years and gives 2700 for the black layer.
pub const CORN: [StageDegrees; 7] = [
    figures(Stage::Leaves(6), 475.0, 475.0, DELAWARE),
    figures(Stage::Leaves(8), 600.0, 600.0, WISCONSIN),
    figures(Stage::Leaves(12), 870.0, 870.0, DELAWARE),
    figures(Stage::Leaves(13), 900.0, 900.0, WISCONSIN),
    figures(Stage::Tassel, 1135.0, 1200.0, BOTH),
    figures(Stage::FLOWERING, 1400.0, 1400.0, DELAWARE),
    figures(Stage::Reproductive(6), 2400.0, 2600.0, WISCONSIN),
];

const fn figures(stage: Stage, least_f: f64, most_f: f64, source: &'static str) -> StageDegrees {
    StageDegrees { stage, least_f, most_f, source }
}

/// A stage that somebody saw in the field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct ObservedStage {
    /// When it was seen.
    pub date: Date,
    /// What was seen.
    pub stage: Stage,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stages_have_codes_and_words() {
        for (text, stage) in [
            ("V6", Stage::Leaves(6)),
            ("vt", Stage::Tassel),
            ("Tasselling", Stage::Tassel),
            ("silking", Stage::FLOWERING),
            ("R1", Stage::FLOWERING),
            ("black-layer", Stage::Reproductive(6)),
            (" ve ", Stage::Emergence),
        ] {
            assert_eq!(Crop::Corn.stage(text).unwrap(), stage, "{text}");
        }
        assert_eq!(Crop::Soybean.stage("flowering").unwrap(), Stage::FLOWERING);
        assert_eq!(Crop::Soybean.stage("VC").unwrap(), Stage::Cotyledons);
    }

    #[test]
    fn a_stage_that_the_crop_lacks_is_refused() {
        for (crop, text) in [
            (Crop::Corn, "R7"),
            (Crop::Corn, "VC"),
            (Crop::Corn, "V0"),
            (Crop::Corn, "V31"),
            (Crop::Corn, "R"),
            (Crop::Corn, "R+1"),
            (Crop::Corn, ""),
            (Crop::Soybean, "VT"),
            (Crop::Soybean, "R9"),
            (Crop::from_name("winter wheat"), "R2"),
        ] {
            let error = crop.stage(text).unwrap_err().to_string();
            assert!(error.contains(crop.name()), "{error}");
        }
        assert!(Crop::from_name("wheat").stage("flowering").is_ok());
    }

    #[test]
    fn stages_stand_in_the_order_of_growth() {
        let order =
            ["VE", "V1", "V12", "VT", "R1", "R6"].map(|code| Crop::Corn.stage(code).unwrap());
        assert!(order.is_sorted());
        let codes = order.map(|stage| stage.to_string());
        assert_eq!(codes, ["VE", "V1", "V12", "VT", "R1", "R6"]);
        let degrees: Vec<f64> =
            CORN.iter().flat_map(|stage| [stage.least_f, stage.most_f]).collect();
        assert!(degrees.is_sorted() && CORN.is_sorted_by_key(|figures| figures.stage));
    }

    #[test]
    fn only_corn_has_degrees() {
        assert_eq!(Crop::Corn.degrees_to(Stage::Tassel), Some([1135.0, 1200.0]));
        assert_eq!(Crop::Corn.degrees_to(Stage::Leaves(9)), None);
        assert_eq!(Crop::Soybean.degrees_to(Stage::FLOWERING), None);
        assert_eq!(Crop::from_name("Maize"), Crop::Corn);
    }

    #[test]
    fn a_stage_is_called_as_its_crop_calls_it() {
        assert_eq!(Crop::Corn.stage_name(Stage::FLOWERING), "silking (R1)");
        assert_eq!(Crop::Soybean.stage_name(Stage::FLOWERING), "flowering (R1)");
        assert_eq!(Crop::Corn.stage_name(Stage::Leaves(6)), "V6");
        assert_eq!(Crop::from_name("oats").stage_name(Stage::FLOWERING), "flowering");
    }
}
