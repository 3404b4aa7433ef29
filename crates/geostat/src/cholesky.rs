//! Covariance matrices factorised as `UᵀU`, with U upper triangular: Cholesky's method, Golub and Van
//! Loan (1996), Matrix Computations, section 4.2 (from memory).
//!
//! It is our own because results must be the same bits on every machine: libraries choose their
//! kernels, and with them the order of sums and fused products, by the processor they run on. Here
//! every element is one sum, in the order of the rows, of products rounded on their own; only
//! different elements are worked on side by side, in lanes and in threads.
//!
//! U is kept as strips of [`WIDTH`] columns, each from the first row down to the diagonal, so that
//! the inner loop of factorising and of solving is the same: products of two strips that both lie
//! in memory in the order of use. The matrix is made up to whole strips with ones on the diagonal,
//! which changes nothing. It takes n²/2 numbers.

#![expect(clippy::needless_range_loop, reason = "rows, columns and lanes are one pattern")]

use pulp::{Arch, Simd, WithSimd};
use rayon::prelude::*;

/// Columns of a strip, and right-hand sides solved at a time.
pub(crate) const WIDTH: usize = 8;

/// One number of each of [`WIDTH`] columns, cells or samples.
pub(crate) type Lanes = [f64; WIDTH];

/// Strips finished in parallel before the next follow.
const BLOCK: usize = 16;

/// A factorised matrix.
pub(crate) struct Cholesky {
    strips: Vec<Vec<Lanes>>,
}

/// [`forward_strips`] in the vector unit of the machine, with the bits it has without.
struct Forward<'a> {
    done: &'a [Vec<Lanes>],
    first: usize,
    sides: &'a mut [Lanes],
}

impl WithSimd for Forward<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        forward_strips(self.done, self.first, self.sides);
    }
}

/// The same of [`Cholesky::forward_sets`].
struct ForwardSets<'a> {
    strips: &'a [Vec<Lanes>],
    sets: &'a mut [Vec<Lanes>],
}

impl WithSimd for ForwardSets<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for (s, strip) in self.strips.iter().enumerate() {
            for sides in self.sets.iter_mut() {
                forward_tile(strip, s, 0, sides);
            }
        }
    }
}

/// The row whose pivot was too small, or not a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SmallPivot {
    pub row: usize,
}

impl Cholesky {
    /// Factorises a symmetric matrix of `size` rows. `row(m, s)` gives the elements of row m in the
    /// columns of strip s. A pivot, the part of a diagonal element that the rows before do not
    /// explain, that is not above `least_pivot` is refused.
    pub fn new(
        size: usize,
        least_pivot: f64,
        row: impl Fn(usize, usize) -> Lanes + Sync,
    ) -> Result<Self, SmallPivot> {
        let build = |s: usize| (0..(s + 1) * WIDTH).map(|m| padded(size, m, s, &row)).collect();
        let count = size.div_ceil(WIDTH);
        let mut strips: Vec<Vec<Lanes>> = (0..count).into_par_iter().map(build).collect();
        for first in (0..count).step_by(BLOCK) {
            let last = (first + BLOCK).min(count);
            let (done, rest) = strips.split_at_mut(first);
            let block = &mut rest[..last - first];
            block.par_iter_mut().for_each(|strip| {
                Arch::new().dispatch(Forward { done, first: 0, sides: strip });
            });
            for s in first..last {
                let (done, rest) = strips.split_at_mut(s);
                Arch::new().dispatch(Forward { done, first, sides: &mut rest[0] });
                factorise_tile(&mut rest[0], least_pivot)
                    .map_err(|column| SmallPivot { row: s * WIDTH + column })?;
            }
        }
        Ok(Cholesky { strips })
    }

    /// Rows with those that make up the last strip.
    pub fn padded_rows(&self) -> usize {
        self.strips.len() * WIDTH
    }

    /// Solves Uᵀ Y = R in place, for R right-hand sides side by side.
    #[inline(always)]
    pub fn forward<const R: usize>(&self, sides: &mut [[f64; R]]) {
        forward_strips(&self.strips, 0, sides);
    }

    /// The same where the right-hand sides are 0 before a strip.
    pub fn forward_from(&self, first: usize, sides: &mut [Lanes]) {
        for s in first..self.strips.len() {
            forward_tile(&self.strips[s], s, first * WIDTH, sides);
        }
    }

    /// The same for several sets of right-hand sides, so that each strip is read once for all.
    pub fn forward_sets(&self, sets: &mut [Vec<Lanes>]) {
        Arch::new().dispatch(ForwardSets { strips: &self.strips, sets });
    }

    /// Solves U X = Y in place.
    pub fn backward<const R: usize>(&self, sides: &mut [[f64; R]]) {
        for (s, strip) in self.strips.iter().enumerate().rev() {
            let (above, tile) = sides[..(s + 1) * WIDTH].split_at_mut(s * WIDTH);
            let diagonal = &strip[s * WIDTH..];
            for c in (0..WIDTH).rev() {
                for r in 0..R {
                    tile[c][r] /= diagonal[c][c];
                    for m in 0..c {
                        tile[m][r] -= diagonal[m][c] * tile[c][r];
                    }
                }
            }
            for (row, factors) in above.iter_mut().zip(strip) {
                for (factor, known) in factors.iter().zip(tile.iter()) {
                    for r in 0..R {
                        row[r] -= factor * known[r];
                    }
                }
            }
        }
    }
}

/// A row of a strip, with the matrix made up to whole strips and 0 below the diagonal.
fn padded(size: usize, m: usize, s: usize, row: &impl Fn(usize, usize) -> Lanes) -> Lanes {
    let given = if m < size { row(m, s) } else { [0.0; WIDTH] };
    std::array::from_fn(|c| match s * WIDTH + c {
        column if column >= size => f64::from(u8::from(column == m)),
        column if m > column => 0.0,
        _ => given[c],
    })
}

/// Solves for the rows of the given strips from `first` on.
#[inline(always)]
fn forward_strips<const R: usize>(strips: &[Vec<Lanes>], first: usize, sides: &mut [[f64; R]]) {
    for (s, strip) in strips.iter().enumerate().skip(first) {
        forward_tile(strip, s, 0, sides);
    }
}

/// Solves for the rows of strip s, where those before are solved and 0 up to row `from`.
#[inline(always)]
fn forward_tile<const R: usize>(strip: &[Lanes], s: usize, from: usize, sides: &mut [[f64; R]]) {
    let (above, rest) = sides.split_at_mut(s * WIDTH);
    let sums = products(&strip[from..s * WIDTH], &above[from..]);
    let tile = &mut rest[..WIDTH];
    let diagonal = &strip[s * WIDTH..];
    for c in 0..WIDTH {
        let mut side = tile[c];
        for r in 0..R {
            side[r] -= sums[c][r];
        }
        for m in 0..c {
            for r in 0..R {
                side[r] -= diagonal[m][c] * tile[m][r];
            }
        }
        tile[c] = side.map(|side| side / diagonal[c][c]);
    }
}

/// Finishes a strip whose rows above the diagonal tile are solved; the column at fault where a
/// pivot is too small.
#[inline(always)]
fn factorise_tile(strip: &mut [Lanes], least_pivot: f64) -> Result<(), usize> {
    let (above, tile) = strip.split_at_mut(strip.len() - WIDTH);
    let sums = products(above, above);
    for m in 0..WIDTH {
        for c in m..WIDTH {
            let mut element = tile[m][c] - sums[m][c];
            for k in 0..m {
                element -= tile[k][m] * tile[k][c];
            }
            if c > m {
                tile[m][c] = element / tile[m][m];
            } else if element > least_pivot {
                tile[m][m] = element.sqrt();
            } else {
                return Err(m);
            }
        }
    }
    Ok(())
}

/// For each column of the strip and each right-hand side, the sum over the rows of their products.
#[inline(always)]
fn products<const R: usize>(strip: &[Lanes], sides: &[[f64; R]]) -> [[f64; R]; WIDTH] {
    // As many sums as fit in the registers.
    match R < WIDTH {
        true => products_by::<R, WIDTH>(strip, sides),
        false => products_by::<R, 2>(strip, sides),
    }
}

#[inline(always)]
fn products_by<const R: usize, const PART: usize>(
    strip: &[Lanes],
    sides: &[[f64; R]],
) -> [[f64; R]; WIDTH] {
    let mut sums = [[0.0; R]; WIDTH];
    for first in (0..WIDTH).step_by(PART) {
        let mut part = [[0.0; R]; PART];
        for (row, side) in strip.iter().zip(sides) {
            for c in 0..PART {
                let factor = row[first + c];
                for r in 0..R {
                    part[c][r] += factor * side[r];
                }
            }
        }
        sums[first..first + PART].copy_from_slice(&part);
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A matrix that is positive definite: 1/(1 + |i − j|), with 2 on the diagonal.
    fn element(i: usize, j: usize) -> f64 {
        1.0 / (1.0 + i.abs_diff(j) as f64) + f64::from(u8::from(i == j))
    }

    fn row(m: usize, s: usize) -> Lanes {
        std::array::from_fn(|c| element(m, s * WIDTH + c))
    }

    #[test]
    fn solutions_give_the_right_hand_sides_back() {
        for size in [1, 7, 8, 9, 150] {
            let factor = Cholesky::new(size, 0.0, row).unwrap();
            let mut sides = vec![[0.0; 2]; factor.padded_rows()];
            for (m, side) in sides.iter_mut().take(size).enumerate() {
                *side = [m as f64 - 3.0, 1.0];
            }
            factor.forward(&mut sides);
            factor.backward(&mut sides);
            for m in 0..size {
                for (r, expected) in [m as f64 - 3.0, 1.0].into_iter().enumerate() {
                    let back: f64 = (0..size).map(|k| element(m, k) * sides[k][r]).sum();
                    assert!((back - expected).abs() < 1e-11, "{size} {m}: {back}");
                }
            }
        }
    }

    #[test]
    fn a_factor_that_can_be_checked_by_hand() {
        // [4 2; 2 10] is UᵀU with U = [2 1; 0 3].
        let factor = Cholesky::new(2, 0.0, |m, _| {
            let mut row = [0.0; WIDTH];
            row[..2].copy_from_slice(&[[4.0, 2.0], [2.0, 10.0]][m]);
            row
        })
        .unwrap();
        assert_eq!(factor.strips[0][0][..2], [2.0, 1.0]);
        assert_eq!(factor.strips[0][1][..2], [0.0, 3.0]);
    }

    #[test]
    fn ways_to_solve_give_the_same_bits() {
        let factor = Cholesky::new(100, 0.0, row).unwrap();
        let mut one = vec![[0.0]; factor.padded_rows()];
        let mut eight = vec![[0.0; WIDTH]; factor.padded_rows()];
        one[37] = [1.0];
        eight[37][5] = 1.0;
        let mut sets = vec![eight.clone(), eight.clone()];
        let mut from = eight.clone();
        factor.forward(&mut one);
        factor.forward(&mut eight);
        factor.forward_from(37 / WIDTH, &mut from);
        factor.forward_sets(&mut sets);
        for m in 0..100 {
            for other in [eight[m][5], from[m][5], sets[1][m][5]] {
                assert_eq!(one[m][0], other, "{m}");
            }
        }
    }

    #[test]
    fn a_row_twice_is_refused() {
        let twin = |m: usize| if m == 20 { 3 } else { m };
        let row = |m, s| std::array::from_fn(|c| element(twin(m), twin(s * WIDTH + c)));
        let refused = Cholesky::new(30, 1e-10, row).map(|_| ());
        assert_eq!(refused, Err(SmallPivot { row: 20 }));
    }
}
