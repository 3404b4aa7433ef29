//! Zones with their evidence, as a zone file carries them.

use geo::MultiPolygon;
use survey::{Date, Depth, Threshold, UnitSystem, Utm};

/// The zones of one visit to one field.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneMap {
    /// The field's name.
    pub field_name: String,
    /// Name of the file the zones come from.
    pub source: String,
    /// The plane the polygons are in.
    pub utm: Utm,
    /// The units the zones are named in.
    pub units: UnitSystem,
    /// Day of the visit, the first of several.
    pub visit: Option<Date>,
    /// Pressure that ended the loose layer.
    pub threshold: Option<Threshold>,
    /// Ground of the field without a value, which is in no zone, square metres; `None` where the file does
    /// not say.
    pub unmapped_m2: Option<f64>,
    /// The zones, in the file's order. Never empty.
    pub zones: Vec<MappedZone>,
}

/// One zone with what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct MappedZone {
    /// Its id, `Z3`. One of a kind within the map.
    pub id: String,
    /// Number of its depth class, 1 the shallowest.
    pub class_no: usize,
    /// Name of its depth class with the unit: `3–6 in`.
    pub class_name: String,
    /// Name of the stratum it lies in; `None` in a field without strata, or outside of all of them.
    pub stratum: Option<String>,
    /// Outline in the plane, metres: valid, outer rings counter-clockwise, holes clockwise.
    pub polygons: MultiPolygon,
    /// True area on the ground, square metres.
    pub ground_area_m2: f64,
    /// Mean loose-layer depth of the map in the zone: the mean depth of the TOP of the tight layer.
    pub mean_depth: Depth,
    /// Spots with a reading.
    pub probes: usize,
    /// How many of them did not reach the threshold.
    pub not_reached: usize,
    /// Whether the zone has fewer probes than evidence asks for.
    pub few_probes: bool,
    /// Mean loose-layer depth with its interval, where it could be worked out.
    pub mean: Option<MeanFound>,
    /// Chance that the mean lies in the zone's class, 0 to 1.
    pub class_confidence: Option<f64>,
    /// Bottom of the tight layer, where profiles reached below it.
    pub bottom: Option<BottomFound>,
}

/// A mean with its 95 % interval.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanFound {
    /// The mean.
    pub mean: Depth,
    /// Lower end of the interval.
    pub low: Depth,
    /// Upper end of the interval.
    pub high: Depth,
    /// How it was worked out: `block kriging`, `probes`.
    pub method: String,
}

/// Bottom of the tight layer as profiles show it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BottomFound {
    /// The median over the profiles with a tight layer; `None` where more than half of them were still
    /// tight at their deepest reading, so that the bottom is not measured.
    pub median: Option<Depth>,
    /// Profiles with a tight layer.
    pub profiles: usize,
    /// How many of them were still tight at their deepest reading.
    pub not_passed: usize,
}
