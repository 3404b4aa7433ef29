//! What a file holds, as a machine's terminal will see it.

/// What is found in a file of any format.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Inspected {
    /// Format and version, for people: `ISO 11783-10 TASKDATA, version 3.3`.
    pub format: String,
    /// The field's name, where the file says it.
    pub field: Option<String>,
    /// West, south, east and north of all it holds, degrees, WGS 84.
    pub extent_deg: Option<[f64; 4]>,
    /// Each task, layer or table that can be loaded by itself.
    pub layers: Vec<InspectedLayer>,
    /// What the reader should know besides: defaults, what is missing, what a terminal may not read.
    pub notes: Vec<String>,
}

/// One task, layer or table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct InspectedLayer {
    /// Its name in the file.
    pub name: String,
    /// What its numbers are, with the unit: `tillage depth in cm`, `gypsum in kg/ha`.
    pub quantities: Vec<String>,
    /// Its zones, records or grid codes, in the file's order.
    pub zones: Vec<InspectedZone>,
    /// What a machine does where no zone says anything: one sentence each for the default, outside the
    /// field and a lost position. Empty for a format that cannot say it.
    pub defaults: Vec<String>,
}

/// One zone, record or grid code.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct InspectedZone {
    /// Its name in the file.
    pub name: String,
    /// True area on the ground, square metres; `None` for a point.
    pub area_m2: Option<f64>,
    /// Rings that are holes.
    pub holes: usize,
    /// Its values with their units, as text: `35 cm`, `3363 kg/ha`.
    pub values: Vec<String>,
}
