//! How zones are drawn from the classes of a surface.

use crate::zone_ids::EarlierZone;

/// Settings of the zones. `None` lets the field decide, by the rule stated, or leaves the rule out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ZoneSettings {
    /// Patches of less ground than this join a neighbour, square metres; 0 keeps every patch; `None`
    /// is [`SMALLEST_ZONE_M2`], or [`SMALLEST_ZONE_SHARE`] of the field where that is less.
    pub smallest_m2: Option<f64>,
    /// Zones of an earlier visit, whose ids this map's zones keep: see
    /// [`KeptIds`](crate::KeptIds). Empty gives ids anew.
    pub earlier: Vec<EarlierZone>,
}

/// Ground of the smallest zone: 0.1 ha, about a quarter of an acre, a few machine widths square
/// (common practice: smaller specks cannot be worked apart).
pub const SMALLEST_ZONE_M2: f64 = 1_000.0;

/// Share of a small field that is the least a zone may have.
pub const SMALLEST_ZONE_SHARE: f64 = 0.01;

impl ZoneSettings {
    /// The smallest zone of a field of so much ground: see [`ZoneSettings::smallest_m2`].
    pub(crate) fn smallest_of(&self, field_area_m2: f64) -> f64 {
        let usual = SMALLEST_ZONE_M2.min(SMALLEST_ZONE_SHARE * field_area_m2);
        self.smallest_m2.unwrap_or(usual)
    }
}
