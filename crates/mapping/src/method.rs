//! How a surface was made, and how well each way of making it did.

use geostat::{Anisotropy, CrossValidation, Search, Sectors};

use crate::fitted_variogram::FittedVariogram;
use crate::settings::MethodChoice;

/// Errors so near each other, relative, are equal: sums in another order differ by less.
pub(crate) const EQUAL: f64 = 1e-9;

/// How a surface was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Method {
    /// What estimates the depth between spots.
    pub estimator: Estimator,
    /// What was asked for.
    pub asked: MethodChoice,
    /// Which spots take part in an estimate, and how distances count.
    pub neighbourhood: Neighbourhood,
    /// Reach, metres, by true distance.
    pub reach_m: f64,
    /// Leave-one-out cross-validation over the spots within reach of another, residuals in centimetres.
    pub validation: CrossValidation,
    /// The same where whole blocks of ground are left out; `None` where there are too few blocks or
    /// more than [`MOST_SPOTS_OF_BLOCKS`](crate::MOST_SPOTS_OF_BLOCKS) spots.
    pub blocks: Option<BlockCheck>,
    /// What was tried, the plainest first: the field mean, inverse distance by power, kriging.
    pub tried: Vec<Tried>,
}

/// What estimates the depth between spots.
#[derive(Debug, Clone, PartialEq)]
pub enum Estimator {
    /// The mean of all spots, everywhere.
    Mean,
    /// Inverse-distance weighting.
    InverseDistance {
        /// The power.
        power: f64,
        /// Whether cross-validation chose it.
        chosen: bool,
        /// Whether the power chosen is the least or greatest of those tried: an even flatter or steeper
        /// surface might fit better still.
        at_end: bool,
    },
    /// Ordinary kriging. The nugget stays in whole: the standard error is that of what one probe
    /// would read.
    Kriging(Box<FittedVariogram>),
}

impl Estimator {
    /// Which kind.
    pub fn kind(&self) -> MethodKind {
        match self {
            Estimator::Mean => MethodKind::Mean,
            Estimator::InverseDistance { .. } => MethodKind::InverseDistance,
            Estimator::Kriging(_) => MethodKind::Kriging,
        }
    }
}

/// Kinds of surfaces, the plainest first: of equal ones the earlier is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MethodKind {
    /// The mean of all spots, everywhere.
    Mean,
    /// Inverse-distance weighting.
    InverseDistance,
    /// Ordinary kriging.
    Kriging,
}

impl MethodKind {
    /// Its name: `field mean`, `inverse distance`, `kriging`.
    pub fn name(self) -> &'static str {
        match self {
            MethodKind::Mean => "field mean",
            MethodKind::InverseDistance => "inverse distance",
            MethodKind::Kriging => "kriging",
        }
    }
}

/// Which spots take part in an estimate, and how distances count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neighbourhood {
    /// Nearest spots used; `None` is all.
    pub neighbours: Option<usize>,
    /// Most spots from each direction.
    pub sectors: Option<Sectors>,
    /// Direction in which readings count as nearer.
    pub anisotropy: Anisotropy,
    /// Smoothing length of inverse distance, metres; 0 is exact at the spots.
    pub smoothing_m: f64,
}

impl Neighbourhood {
    /// As a search.
    pub(crate) fn search(&self) -> Search {
        let search = self.neighbours.map_or(Search::EVERYTHING, Search::nearest);
        Search { sectors: self.sectors, ..search }
    }
}

/// One way of making the surface, cross-validated by leaving out one spot at a time. Centimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Which kind.
    pub kind: MethodKind,
    /// Power of inverse distance.
    pub power: Option<f64>,
    /// How it did, or why it could not be tried.
    pub errors: Result<Errors, String>,
}

/// Figures of a cross-validation: see [`CrossValidation`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Errors {
    /// Mean residual.
    pub me: f64,
    /// Mean absolute residual.
    pub mae: f64,
    /// Root mean square residual.
    pub rmse: f64,
    /// Skill against the field mean; NaN where all spots are equal.
    pub skill: f64,
}

impl From<&CrossValidation> for Errors {
    fn from(validation: &CrossValidation) -> Self {
        let &CrossValidation { me, mae, rmse, .. } = validation;
        Errors { me, mae, rmse, skill: validation.skill() }
    }
}

/// Cross-validation that leaves out whole blocks of ground, without regard to the reach.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockCheck {
    /// Side of the square blocks, metres: [`BLOCK_IN_SPACINGS`](crate::BLOCK_IN_SPACINGS) typical
    /// spacings.
    pub side_m: f64,
    /// How many blocks hold a spot.
    pub blocks: usize,
    /// How well the spots of a block are estimated from all others, residuals in centimetres.
    pub validation: CrossValidation,
}

impl Method {
    /// The variogram, where the surface is kriged.
    pub fn variogram(&self) -> Option<&FittedVariogram> {
        match &self.estimator {
            Estimator::Kriging(variogram) => Some(variogram),
            _ => None,
        }
    }

    /// Whether the surface errs less than the field mean everywhere, by more than rounding. The mean itself
    /// does not, and neither does a surface that could not be checked.
    pub fn beats_field_mean(&self) -> bool {
        self.estimator.kind() != MethodKind::Mean && self.validation.skill() > EQUAL
    }

    /// The best of each kind that was tried, the plainest kind first, and why one could not be.
    pub fn best_of_kinds(&self) -> Vec<&Tried> {
        let mut best: Vec<&Tried> = Vec::new();
        for tried in &self.tried {
            match best.last_mut().filter(|last| last.kind == tried.kind) {
                Some(last) if is_better(tried, last) => *last = tried,
                Some(_) => {}
                None => best.push(tried),
            }
        }
        best
    }
}

fn is_better(tried: &Tried, than: &Tried) -> bool {
    match (&tried.errors, &than.errors) {
        (Ok(tried), Ok(than)) => tried.rmse < than.rmse,
        (ours, theirs) => ours.is_ok() && theirs.is_err(),
    }
}
