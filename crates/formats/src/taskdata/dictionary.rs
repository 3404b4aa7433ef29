//! The data dictionary's entries that are written, and others that a plan of somebody else may hold.
//!
//! Numbers, units and resolutions are those of ISO 11783-11's on-line data base as two open libraries
//! copy it (Python's isoxml 0.0.4, npm's isoxml 1.11.2).

/// Depth of tillage, 1 mm; below the surface is positive.
pub(super) const TILLAGE_DEPTH: u16 = 51;
/// Mass per area, 1 mg/m².
pub(super) const MASS_PER_AREA: u16 = 6;
/// Volume per area, 0.01 mm³/m².
pub(super) const VOLUME_PER_AREA: u16 = 1;
/// Volume per area, 0.1 ml/m².
pub(super) const LARGE_VOLUME_PER_AREA: u16 = 588;
/// Volume held, 1 ml: marks a product that is measured by volume.
pub(super) const VOLUME_CONTENT: u16 = 72;
/// Mass held, 1 g: marks a product that is measured by mass.
pub(super) const MASS_CONTENT: u16 = 75;

/// What a number of the dictionary means.
pub(super) struct Entry {
    pub ddi: u16,
    /// In plain words.
    pub name: &'static str,
    /// A unit that people use.
    pub unit: &'static str,
    /// How many stored steps make one of it.
    pub steps_per_unit: f64,
    /// What 0 means for the machine.
    pub at_zero: &'static str,
}

const ENTRIES: [Entry; 10] = [
    entry(VOLUME_PER_AREA, "volume per area", "L/ha", 10_000.0, "off"),
    entry(MASS_PER_AREA, "mass per area", "kg/ha", 100.0, "off"),
    entry(11, "number per area", "1/ha", 0.1, "off"),
    entry(TILLAGE_DEPTH, "tillage depth", "cm", 10.0, "tool at the surface"),
    entry(53, "default tillage depth", "cm", 10.0, "tool at the surface"),
    entry(54, "least tillage depth", "cm", 10.0, "tool at the surface"),
    entry(55, "greatest tillage depth", "cm", 10.0, "tool at the surface"),
    entry(56, "seeding depth", "cm", 10.0, "tool at the surface"),
    entry(140, "share of the full rate", "%", 10_000.0, "off"),
    entry(LARGE_VOLUME_PER_AREA, "volume per area", "L/ha", 1.0, "off"),
];

const fn entry(
    ddi: u16,
    name: &'static str,
    unit: &'static str,
    steps_per_unit: f64,
    at_zero: &'static str,
) -> Entry {
    Entry { ddi, name, unit, steps_per_unit, at_zero }
}

/// What is known of a number; `None` for most of the dictionary's several hundred.
pub(super) fn known(ddi: u16) -> Option<&'static Entry> {
    ENTRIES.iter().find(|entry| entry.ddi == ddi)
}
