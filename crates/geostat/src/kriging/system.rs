//! The kriging equations of some places, factorised.

use crate::anisotropy::{Anisotropy, Stretch};
use crate::cholesky::{Cholesky, Lanes, WIDTH};
use crate::error::GeostatError;
use crate::kriging::{Kriged, Kriging};

/// A pivot must be more than this share of the sill: below it a sample is, up to rounding, known from
/// the others, and its weight is left to chance.
pub(crate) const LEAST_PIVOT: f64 = 1e-10;

/// Most functions of a trend.
pub(crate) const TERMS: usize = 3;

/// The covariance matrix and the trend of some places, ready to be solved.
pub(crate) struct System {
    pub kriging: Kriging,
    pub places: Places,
    pub factor: Cholesky,
    trend: TrendTerms,
    /// U⁻ᵀF, a row for each place.
    solved_trend: Vec<[f64; TERMS]>,
    schur: SmallCholesky,
}

/// The dual form: what the values add to a system.
pub(crate) struct Dual {
    /// b, in lanes; 0 for what makes up the last strip.
    pub weights: Vec<Lanes>,
    pub beta: [f64; TERMS],
    /// What was taken off the values before.
    pub origin: f64,
}

impl System {
    /// Factorises the system of some places whose values have errors of so much variance: all of
    /// the nugget for samples.
    pub fn new(
        kriging: &Kriging,
        places: &[[f64; 2]],
        diagonal: impl Fn(usize) -> f64 + Sync,
    ) -> Result<Self, GeostatError> {
        let variogram = kriging.variogram;
        let trend = TrendTerms::new(kriging, places);
        let lanes = Places::new(&variogram.anisotropy, places);
        let row = |m: usize, s: usize| {
            let mut row = variogram.covariance_of_squares(lanes.squares(s, lanes.stretched(m)));
            if m / WIDTH == s {
                row[m % WIDTH] = diagonal(m);
            }
            row
        };
        let least_pivot = LEAST_PIVOT * variogram.sill();
        let factor = Cholesky::new(places.len(), least_pivot, row)
            .map_err(|pivot| GeostatError::Singular { sample: pivot.row })?;
        let mut solved_trend = vec![[0.0; TERMS]; factor.padded_rows()];
        for (row, &place) in solved_trend.iter_mut().zip(places) {
            *row = trend.at(place);
        }
        factor.forward(&mut solved_trend);
        let schur =
            SmallCholesky::of_products(&solved_trend, trend.count).ok_or(GeostatError::NoTrend)?;
        Ok(System { kriging: *kriging, places: lanes, factor, trend, solved_trend, schur })
    }

    /// The system of samples: the whole nugget stands on the diagonal.
    pub fn of_samples(kriging: &Kriging, places: &[[f64; 2]]) -> Result<Self, GeostatError> {
        System::new(kriging, places, |_| kriging.variogram.sill())
    }

    /// Number of places.
    pub fn len(&self) -> usize {
        self.places.count
    }

    /// The dual form for some values.
    pub fn dual(&self, values: &[f64]) -> Dual {
        let origin = values[0];
        let mut sides = vec![[0.0]; self.factor.padded_rows()];
        for (side, value) in sides.iter_mut().zip(values) {
            *side = [value - origin];
        }
        self.factor.forward(&mut sides);
        let mut products = [0.0; TERMS];
        for (row, [side]) in self.solved_trend.iter().zip(&sides) {
            for k in 0..TERMS {
                products[k] += row[k] * side;
            }
        }
        let beta = self.schur.solve(products);
        for (row, [side]) in self.solved_trend.iter().zip(&mut sides) {
            *side -= dot(*row, beta);
        }
        self.factor.backward(&mut sides);
        let lanes = |chunk: &[[f64; 1]]| std::array::from_fn(|lane| chunk[lane][0]);
        Dual { weights: sides.chunks_exact(WIDTH).map(lanes).collect(), beta, origin }
    }

    /// The estimate at a place.
    pub fn value(&self, dual: &Dual, place: [f64; 2]) -> f64 {
        let at = self.places.stretch(place);
        let (sums, least) =
            self.weigh(dual, at, |s| self.kriging.variogram.covariance_of_squares(s));
        // A place of a sample is rare, and looking for it within the loop would take longer.
        let sums = match least == 0.0 {
            true => self.weigh(dual, at, |squares_m2| self.signal_covariances(squares_m2)).0,
            false => sums,
        };
        self.value_of(dual, sums, self.trend.at(place))
    }

    /// Sums of the products of covariances and weights in lanes, and the least square of a distance.
    #[inline(always)]
    fn weigh(
        &self,
        dual: &Dual,
        at: [f64; 2],
        covariances: impl Fn(Lanes) -> Lanes,
    ) -> (Lanes, f64) {
        let mut sums = [0.0; WIDTH];
        let mut least = [f64::INFINITY; WIDTH];
        for (lanes, weights) in self.places.lanes.iter().zip(&dual.weights) {
            let squares_m2 = squares(lanes, at);
            let covariances = covariances(squares_m2);
            for lane in 0..WIDTH {
                let is_less = squares_m2[lane] < least[lane];
                least[lane] = if is_less { squares_m2[lane] } else { least[lane] };
                sums[lane] += covariances[lane] * weights[lane];
            }
        }
        (sums, least.into_iter().fold(f64::INFINITY, f64::min))
    }

    /// The estimate from sums of products of covariances and weights, and the trend there.
    fn value_of(&self, dual: &Dual, sums: Lanes, trend: [f64; TERMS]) -> f64 {
        dual.origin + (dot(trend, dual.beta) + sums.iter().sum::<f64>())
    }

    /// Covariances of what is estimated with the samples.
    pub fn signal_covariances(&self, squares_m2: Lanes) -> Lanes {
        let mut covariances = self.kriging.variogram.covariance_of_squares(squares_m2);
        let at_sample = self.kriging.signal_variance();
        for lane in 0..WIDTH {
            covariances[lane] = if squares_m2[lane] == 0.0 { at_sample } else { covariances[lane] };
        }
        covariances
    }

    /// The right-hand side of one place.
    pub fn side(&self, place: [f64; 2]) -> Vec<[f64; 1]> {
        let at = self.places.stretch(place);
        let lanes = (0..self.places.lanes.len())
            .flat_map(|s| self.signal_covariances(self.places.squares(s, at)));
        self.made_up(lanes)
    }

    /// The right-hand sides of several places, side by side.
    pub fn fill_sides(&self, places: [[f64; 2]; WIDTH], sides: &mut [Lanes]) {
        let at = places.map(|place| self.places.stretch(place));
        let [first, second]: [Lanes; 2] = [0, 1].map(|axis| at.map(|at| at[axis]));
        for (m, side) in sides.iter_mut().enumerate() {
            if m >= self.len() {
                *side = [0.0; WIDTH];
                continue;
            }
            let sample = self.places.stretched(m);
            *side = self.signal_covariances(std::array::from_fn(|lane| {
                let (a, b) = (sample[0] - first[lane], sample[1] - second[lane]);
                a * a + b * b
            }));
        }
    }

    /// The estimate and variance for a right-hand side whose first row of covariances is given: the
    /// trend and the variance of what is estimated complete it.
    pub fn estimate_side(
        &self,
        dual: &Dual,
        mut side: Vec<[f64; 1]>,
        trend: [f64; TERMS],
        variance: f64,
    ) -> Kriged {
        let mut sums = [0.0; WIDTH];
        for (side, weights) in side.chunks_exact(WIDTH).zip(&dual.weights) {
            for lane in 0..WIDTH {
                sums[lane] += side[lane][0] * weights[lane];
            }
        }
        let value = self.value_of(dual, sums, trend);
        self.factor.forward(&mut side);
        let [variance] = self.variances(&side, [trend], variance);
        Kriged { value, variance }
    }

    /// The estimate and variance at one place.
    pub fn estimate(&self, dual: &Dual, place: [f64; 2]) -> Kriged {
        let (side, trend) = (self.side(place), self.trend.at(place));
        self.estimate_side(dual, side, trend, self.kriging.signal_variance())
    }

    /// Kriging variances from solved right-hand sides U⁻ᵀc.
    pub fn variances<const R: usize>(
        &self,
        solved: &[[f64; R]],
        trends: [[f64; TERMS]; R],
        variance: f64,
    ) -> [f64; R] {
        let mut explained = [0.0; R];
        let mut products = [[0.0; R]; TERMS];
        for (side, row) in solved.iter().zip(&self.solved_trend) {
            for r in 0..R {
                explained[r] += side[r] * side[r];
            }
            for k in 0..self.trend.count {
                for r in 0..R {
                    products[k][r] += row[k] * side[r];
                }
            }
        }
        std::array::from_fn(|r| {
            let rest = std::array::from_fn(|k| trends[r][k] - products[k][r]);
            let of_trend = self.schur.quadratic_form(rest);
            self.kriging.settled((variance - explained[r]) + of_trend)
        })
    }

    /// Weights of the values for a right-hand side.
    pub fn weights(&self, mut side: Vec<[f64; 1]>, trend: [f64; TERMS]) -> Vec<f64> {
        self.factor.forward(&mut side);
        let mut rest = trend;
        for ([side], row) in side.iter().zip(&self.solved_trend) {
            for k in 0..TERMS {
                rest[k] -= row[k] * side;
            }
        }
        let multipliers = self.schur.solve(rest);
        for ([side], row) in side.iter_mut().zip(&self.solved_trend) {
            for k in 0..TERMS {
                *side += row[k] * multipliers[k];
            }
        }
        self.factor.backward(&mut side);
        side.truncate(self.len());
        side.into_iter().map(|[weight]| weight).collect()
    }

    /// The trend's functions at a place.
    pub fn trend_at(&self, place: [f64; 2]) -> [f64; TERMS] {
        self.trend.at(place)
    }

    /// S.
    pub fn schur(&self) -> &SmallCholesky {
        &self.schur
    }

    /// C⁻¹F, a row for each place.
    pub fn explained_trend(&self) -> Vec<[f64; TERMS]> {
        let mut rows = self.solved_trend.clone();
        self.factor.backward(&mut rows);
        rows
    }

    /// A right-hand side with zeros for what makes up the last strip.
    pub fn made_up(&self, covariances: impl Iterator<Item = f64>) -> Vec<[f64; 1]> {
        let mut side: Vec<[f64; 1]> = covariances.take(self.len()).map(|c| [c]).collect();
        side.resize(self.factor.padded_rows(), [0.0]);
        side
    }
}

/// The sum of the products of two sets of coefficients.
pub(crate) fn dot(a: [f64; TERMS], b: [f64; TERMS]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Places in lanes, stretched so that plain distances are those of the variogram.
pub(crate) struct Places {
    stretch: Stretch,
    /// The first and the second coordinate of [`WIDTH`] places.
    lanes: Vec<[Lanes; 2]>,
    count: usize,
}

impl Places {
    pub fn new(anisotropy: &Anisotropy, places: &[[f64; 2]]) -> Self {
        let mut made = Places {
            stretch: Stretch::new(*anisotropy, places[0]),
            lanes: vec![[[0.0; WIDTH]; 2]; places.len().div_ceil(WIDTH)],
            count: places.len(),
        };
        for (m, &place) in places.iter().enumerate() {
            let [first, second] = made.stretch(place);
            made.lanes[m / WIDTH][0][m % WIDTH] = first;
            made.lanes[m / WIDTH][1][m % WIDTH] = second;
        }
        made
    }

    /// A place as it is held here.
    pub fn stretch(&self, place: [f64; 2]) -> [f64; 2] {
        self.stretch.place(place)
    }

    /// Place m as it is held here.
    pub fn stretched(&self, m: usize) -> [f64; 2] {
        [0, 1].map(|axis| self.lanes[m / WIDTH][axis][m % WIDTH])
    }

    /// Squares of the distances from a stretched place to the places of a strip.
    pub fn squares(&self, s: usize, at: [f64; 2]) -> Lanes {
        squares(&self.lanes[s], at)
    }

    /// Number of strips.
    pub fn strips(&self) -> usize {
        self.lanes.len()
    }
}

#[inline(always)]
fn squares([first, second]: &[Lanes; 2], at: [f64; 2]) -> Lanes {
    std::array::from_fn(|lane| {
        let (a, b) = (first[lane] - at[0], second[lane] - at[1]);
        a * a + b * b
    })
}

/// The functions of a trend, of numbers around 1: places count from the middle of the samples, in units
/// of how far they reach.
#[derive(Clone, Copy)]
struct TrendTerms {
    count: usize,
    middle: [f64; 2],
    reach_m: f64,
}

impl TrendTerms {
    fn new(kriging: &Kriging, places: &[[f64; 2]]) -> Self {
        let count = kriging.coefficients();
        let middle = [0, 1].map(|axis| {
            let (least, most) = places.iter().fold((f64::MAX, f64::MIN), |(least, most), place| {
                (least.min(place[axis]), most.max(place[axis]))
            });
            least + (most - least) / 2.0
        });
        let far = |place: &[f64; 2]| (place[0] - middle[0]).abs().max((place[1] - middle[1]).abs());
        let reach_m = places.iter().map(far).fold(0.0, f64::max);
        TrendTerms { count, middle, reach_m: if reach_m > 0.0 { reach_m } else { 1.0 } }
    }

    /// The functions at a place; 0 for those a constant trend does not have.
    fn at(&self, place: [f64; 2]) -> [f64; TERMS] {
        match self.count {
            1 => [1.0, 0.0, 0.0],
            _ => {
                let [east, north] =
                    [0, 1].map(|axis| (place[axis] - self.middle[axis]) / self.reach_m);
                [1.0, east, north]
            }
        }
    }
}

/// The Cholesky factor `LLᵀ` of the trend's small matrix.
pub(crate) struct SmallCholesky {
    lower: [[f64; TERMS]; TERMS],
    count: usize,
}

impl SmallCholesky {
    /// Of `AᵀA`; `None` where the columns of A depend on each other.
    fn of_products(rows: &[[f64; TERMS]], count: usize) -> Option<Self> {
        let mut lower = [[0.0; TERMS]; TERMS];
        for row in rows {
            for i in 0..count {
                for j in 0..=i {
                    lower[i][j] += row[i] * row[j];
                }
            }
        }
        for i in 0..count {
            let least = LEAST_PIVOT * lower[i][i];
            for j in 0..=i {
                for k in 0..j {
                    lower[i][j] -= lower[i][k] * lower[j][k];
                }
                if j < i {
                    lower[i][j] /= lower[j][j];
                } else if lower[i][i] > least {
                    lower[i][i] = lower[i][i].sqrt();
                } else {
                    return None;
                }
            }
        }
        Some(SmallCholesky { lower, count })
    }

    /// L⁻¹ of a vector.
    pub fn forward(&self, mut vector: [f64; TERMS]) -> [f64; TERMS] {
        for i in 0..self.count {
            for k in 0..i {
                vector[i] -= self.lower[i][k] * vector[k];
            }
            vector[i] /= self.lower[i][i];
        }
        vector
    }

    /// L⁻ᵀ of a vector.
    pub fn backward(&self, mut vector: [f64; TERMS]) -> [f64; TERMS] {
        for i in (0..self.count).rev() {
            for k in i + 1..self.count {
                vector[i] -= self.lower[k][i] * vector[k];
            }
            vector[i] /= self.lower[i][i];
        }
        vector
    }

    fn solve(&self, vector: [f64; TERMS]) -> [f64; TERMS] {
        self.backward(self.forward(vector))
    }

    /// vᵀS⁻¹v.
    pub fn quadratic_form(&self, vector: [f64; TERMS]) -> f64 {
        self.forward(vector)[..self.count].iter().map(|v| v * v).sum()
    }
}
