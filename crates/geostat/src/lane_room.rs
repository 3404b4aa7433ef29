//! Room for numbers as a vector unit takes them.

use pulp::Simd;

/// Room for one number of each lane for each of several samples; it grows as needed.
#[derive(Default)]
pub(crate) struct LaneRoom(Vec<f64>);

impl LaneRoom {
    /// Room for so many.
    #[inline(always)]
    pub fn room<S: Simd>(&mut self, count: usize) -> &mut [S::f64s] {
        self.0.resize((count * S::F64_LANES).max(self.0.len()), 0.0);
        &mut S::as_mut_simd_f64s(&mut self.0).0[..count]
    }
}
