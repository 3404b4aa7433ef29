//! What makes a rates file unusable, alone or for the zones it is meant for.

/// Why no plan could be made. Each text begins with the file at fault, or with the option.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[expect(missing_docs, reason = "each variant's text says what it is")]
pub enum PlanError {
    #[error("{file}: larger than {most} kB; a rates file is a page of text")]
    TooLarge { file: String, most: usize },
    #[error("{file}: line {line}{table}, `{text}`: {problem}")]
    Line { file: String, line: usize, table: String, text: String, problem: String },
    #[error("{file}: {place}: {problem}")]
    Place { file: String, place: String, problem: String },
    #[error(
        "{file}: no [[action]]; write for each what to do where, for example do = \"leave\", classes = [1]"
    )]
    NoAction { file: String },
    #[error("{file}: no action loosens or amends, so there is nothing to plan for a machine")]
    NothingToDo { file: String },
    #[error(
        "{file}: {place}, key `{key}`: a set depth is not written down, nor taken from the loose-layer \
         depth: that is the TOP of the tight layer, and the tool must run below its BOTTOM (one inch below \
         it; more than two is wrong: NRCS Code 324, USDA Forest Service 0834-2828-MTDC). Give the bottom: \
         bottom = \"profiles\", or bottom = {{ depth = \"13in\", how = \"3 pits\", date = \"2025-09-30\" }}"
    )]
    DepthOfTop { file: String, place: String, key: String },
    #[error(
        "{file}: {place}: bottom of the tight layer not measured in {zones}: dig or probe on, then give \
         bottom = {{ depth, how, date }} for them, or leave them"
    )]
    BottomNotMeasured { file: String, place: String, zones: String },
    #[error(
        "{at}: the bottom {bottom} is not below the mean loose-layer depth of {zone}, {top}, \
         which is the top of the tight layer; is it a top? Dig and measure where the layer ends"
    )]
    BottomLooksLikeTop { at: String, zone: String, bottom: String, top: String },
    #[error("{at}: no zone {id:?} in {zones_file}; it has {found}")]
    NoSuchZone { at: String, id: String, zones_file: String, found: String },
    #[error("{at}: no zone of class {class_no} in {zones_file}; it has {found}")]
    NoSuchClass { at: String, class_no: usize, zones_file: String, found: String },
    #[error("{file}: {zone} is named twice: {first} and {second}; take it out of one")]
    NamedTwice { file: String, zone: String, first: String, second: String },
    #[error("check strips need {what}; give {option} or {key} in [plan] of {file}")]
    StripsNeed { file: String, what: &'static str, option: &'static str, key: &'static str },
    #[error(
        "--check-strips {asked}: the treated ground has {found} runs of {width} that cross enough of it, \
         and each strip needs one of its own and one beside it that is treated; {}",
        match most {
            0 => "leave them out".to_owned(),
            most => format!("ask for {most} at most"),
        }
    )]
    TooManyStrips { asked: usize, found: usize, width: String, most: usize },
    #[error("swath {width}: the field has more than {most} passes of it; is the unit right?")]
    TooManyPasses { width: String, most: usize },
    #[error("{at}: {heading} must be from 0 to 360 degrees clockwise from north")]
    Heading { at: String, heading: f64 },
    #[error("{at}: {width} must be from {least} to {most}")]
    Swath { at: String, width: String, least: String, most: String },
    #[error(
        "{zone} could not be cut along the check strips ({problem}); try another --seed or heading"
    )]
    Cut { zone: String, problem: String },
}
