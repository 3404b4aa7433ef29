//! What kind of TASKDATA is written.

/// Settings of TASKDATA. The default is what most terminals read: version 3.3, grid type 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TaskdataSettings {
    /// Version of the standard.
    pub version: Version,
    /// How the doses lie on the ground.
    pub zones: Zones,
    /// Side of a grid cell in metres; `None` takes the width of the machine's pass where the plan has
    /// one, so that no cell is narrower than the tool, and [`USUAL_CELL_M`] where it has none.
    pub cell_m: Option<f64>,
}

/// Version of ISO 11783-10.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Version {
    /// 3.3, which older terminals read as well.
    #[default]
    V3,
    /// 4.3. Nothing else differs: only elements and attributes of both versions are written.
    V4,
}

/// How the doses lie on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Zones {
    /// A grid with the number of a zone in each cell. Every terminal that works by place reads it.
    #[default]
    GridType1,
    /// A grid with the dose itself in each cell.
    GridType2,
    /// The zones' outlines. Not every terminal reads them.
    Polygons,
}

/// Side of a grid cell without a width of a pass, metres (common practice).
pub const USUAL_CELL_M: f64 = 10.0;
