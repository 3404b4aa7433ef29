//! What is done in one pass over the field.

use survey::Date;

/// One operation: one task of a machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Operation {
    /// Short name for files: lower-case ASCII letters, digits and `_`, unique in the plan, at most 20
    /// characters: `loosen`, `gypsum`.
    pub slug: String,
    /// Name for people: `Loosen`, `Gypsum`.
    pub name: String,
    /// What is set.
    pub kind: OperationKind,
    /// What the rate rests on, of an amendment.
    pub basis: Option<Basis>,
    /// Ground with a dose above zero, square metres on the ground.
    pub treated_m2: f64,
    /// Product needed in all, kilograms of an amendment by mass, litres of one by volume; `None` for
    /// tillage.
    pub total: Option<f64>,
    /// What the hopper or tank holds, in the unit of [`Operation::total`], where it is given.
    pub hopper: Option<f64>,
    /// Times the hopper or tank is filled, where its size is given.
    pub fills: Option<u32>,
    /// Cost in all, with its currency: `(1234.5, "USD")`.
    pub cost: Option<(f64, String)>,
    /// Depth of the tool where the machine leaves the zones of this plan or its place is unknown, as a
    /// dose of this operation: what the terminal does outside the field, and when the signal is lost.
    pub out_of_field: super::Dose,
    /// The same for a lost signal and as the task's default.
    pub signal_lost: super::Dose,
}

/// What an operation sets.
#[derive(Debug, Clone, PartialEq)]
pub enum OperationKind {
    /// Depth of tillage below the surface.
    Loosen,
    /// A product by mass.
    AmendMass {
        /// The product, as the user names it.
        product: String,
    },
    /// A product by volume.
    AmendVolume {
        /// The product, as the user names it.
        product: String,
    },
}

/// What the rate of an amendment rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Basis {
    /// The laboratory.
    pub lab: String,
    /// Day of the soil test.
    pub date: Date,
    /// The laboratory's method.
    pub method: String,
    /// Who recommended the rate.
    pub recommended_by: String,
}
