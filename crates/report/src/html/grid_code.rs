//! The values of a raster in few letters, so that a season of rasters fits into one page.
//!
//! A value is a whole number of steps: see [`whole_steps`](super::whole_steps). A neighbour's value is a good guess of it, so only
//! the difference from a guess is written, in few bits where it is small:
//!
//! 1. Which cells have a value: lengths of runs of cells, row by row from the north-west, first without a
//!    value, then with one, and so on by turns, each length + 1 in Elias's gamma code (Elias 1975, IEEE
//!    Transactions on Information Theory 21:194–203).
//! 2. For each row with a value four bits, the number `k`, and for each value of the row its difference from
//!    the guess, folded to 0, −1, 1, −2, 2 … → 0, 1, 2, 3, 4 …, in the code of Golomb (1966) and Rice
//!    (1979): the part above `k` bits as so many ones and a zero, then `k` bits.
//!
//! The guess is made from the values to the left `a`, above `b` and above left `c`, as in lossless JPEG
//! (ITU-T T.87, clause A.4.1: the least or greatest of `a` and `b` at an edge, else `a + b − c`); where one is
//! missing it is `a`, or `b`, or the last value before, or 0. Bits begin with the highest of a byte, and the
//! bytes are written as base64. (The sources are named from memory.)

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// Bits that say how a row is coded.
const ROW_BITS: u32 = 4;

/// Codes the values of a raster, in steps, row by row.
pub(crate) fn encode(steps: &[Option<i64>], columns: usize) -> String {
    let mut bits = BitWriter::default();
    for length in runs(steps) {
        bits.gamma(length as u64 + 1);
    }
    let mut guess = Guess::default();
    for row in 0..steps.len() / columns {
        let cells = row * columns..(row + 1) * columns;
        let folded: Vec<u64> = cells
            .filter_map(|cell| {
                let value = steps[cell]?;
                Some(fold(value - guess.next(steps, cell, columns, value)))
            })
            .collect();
        if !folded.is_empty() {
            bits.row(&folded);
        }
    }
    STANDARD.encode(bits.bytes())
}

/// Lengths of the runs of cells without and with a value, by turns.
fn runs(steps: &[Option<i64>]) -> Vec<usize> {
    let mut lengths = vec![0];
    let mut is_value = false;
    for step in steps {
        if step.is_some() != is_value {
            is_value = !is_value;
            lengths.push(0);
        }
        *lengths.last_mut().expect("begins with one") += 1;
    }
    lengths
}

/// What a value is taken for before it is known.
#[derive(Default)]
struct Guess {
    last: i64,
}

impl Guess {
    /// The guess of a cell, of which the value is `value`.
    fn next(&mut self, steps: &[Option<i64>], cell: usize, columns: usize, value: i64) -> i64 {
        let at = |is_there: bool, back: usize| {
            is_there.then(|| cell.checked_sub(back).and_then(|cell| steps[cell])).flatten()
        };
        let has_left = !cell.is_multiple_of(columns);
        let (left, above) = (at(has_left, 1), at(true, columns));
        let guess = match (left, above, at(has_left, columns + 1)) {
            (Some(a), Some(b), Some(c)) if c >= a.max(b) => a.min(b),
            (Some(a), Some(b), Some(c)) if c <= a.min(b) => a.max(b),
            (Some(a), Some(b), Some(c)) => a + b - c,
            (Some(a), ..) => a,
            (None, Some(b), _) => b,
            _ => self.last,
        };
        self.last = value;
        guess
    }
}

/// 0, −1, 1, −2 … as 0, 1, 2, 3 …
fn fold(difference: i64) -> u64 {
    ((difference << 1) ^ (difference >> 63)) as u64
}

/// Bits in order.
#[derive(Default)]
struct BitWriter {
    bytes: Vec<u8>,
    /// Bits used of the last byte.
    used: u32,
}

impl BitWriter {
    fn bit(&mut self, bit: bool) {
        if self.used.is_multiple_of(8) {
            self.bytes.push(0);
            self.used = 0;
        }
        if bit {
            *self.bytes.last_mut().expect("pushed above") |= 0x80 >> self.used;
        }
        self.used += 1;
    }

    /// The lowest `count` bits of a number, the highest of them first.
    fn bits(&mut self, number: u64, count: u32) {
        for k in (0..count).rev() {
            self.bit(number >> k & 1 == 1);
        }
    }

    /// A number above 0: as many zeros as it has bits after its first, then its bits.
    fn gamma(&mut self, number: u64) {
        let after = number.ilog2();
        self.bits(0, after);
        self.bits(number, after + 1);
    }

    /// The folded differences of a row, with the `k` that needs fewest bits.
    fn row(&mut self, folded: &[u64]) {
        let length = |k: u32| folded.iter().map(|&n| (n >> k) + u64::from(k) + 1).sum::<u64>();
        let k = (0..1 << ROW_BITS).min_by_key(|&k| length(k)).expect("sixteen of them");
        self.bits(u64::from(k), ROW_BITS);
        for &number in folded {
            for _ in 0..number >> k {
                self.bit(true);
            }
            self.bit(false);
            self.bits(number, k);
        }
    }

    fn bytes(self) -> Vec<u8> {
        self.bytes
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::html::whole_steps::whole_steps;

    /// The values of a code, as the page's script reads them.
    pub(crate) fn decode(code: &str, columns: usize, rows: usize, step: f64) -> Vec<f64> {
        let bytes = STANDARD.decode(code).unwrap();
        let mut bits = bytes.iter().flat_map(|byte| (0..8).map(move |k| byte >> (7 - k) & 1));
        let mut bit = || bits.next().expect("the code is whole");
        let mut steps: Vec<Option<i64>> = Vec::new();
        let mut is_value = false;
        while steps.len() < columns * rows {
            let mut after = 0;
            while bit() == 0 {
                after += 1;
            }
            let number = (0..after).fold(1_usize, |number, _| number << 1 | bit() as usize);
            steps.extend(std::iter::repeat_n(is_value.then_some(0), number - 1));
            is_value = !is_value;
        }
        let mut guess = Guess::default();
        for row in 0..rows {
            let cells: Vec<usize> = (row * columns..(row + 1) * columns)
                .filter(|&cell| steps[cell].is_some())
                .collect();
            if cells.is_empty() {
                continue;
            }
            let k = (0..ROW_BITS).fold(0_u32, |k, _| k << 1 | u32::from(bit()));
            for cell in cells {
                let mut number = 0_u64;
                while bit() == 1 {
                    number += 1;
                }
                for _ in 0..k {
                    number = number << 1 | u64::from(bit());
                }
                let difference = (number >> 1) as i64 ^ -((number & 1) as i64);
                let value = difference + guess.next(&steps, cell, columns, 0);
                guess.last = value;
                steps[cell] = Some(value);
            }
        }
        steps.into_iter().map(|step_of| step_of.map_or(f64::NAN, |n| n as f64 * step)).collect()
    }

    #[test]
    fn a_small_grid_has_the_bits_that_the_rules_say() {
        let code = encode(&[Some(1), Some(1)], 2);
        // Runs 0 and 2: gamma of 1 is `1`, of 3 is `011`. Differences 1 and 0, folded 2 and 0: with k = 0
        // `110` and `0`, with k = 1 `100` and `00` as a longer way. So 1 011 0000 110 0.
        assert_eq!(STANDARD.decode(code).unwrap(), [0b1011_0000, 0b1100_0000]);
    }

    #[test]
    fn values_come_back_within_half_a_step() {
        let values: Vec<f64> = (0..37 * 23)
            .map(|k| match (k * 7919) % 11 {
                0 => f64::NAN,
                _ if k % 200 < 40 => f64::NAN,
                n => {
                    20.0 + 9.0 * libm::sin(f64::from(k) / 30.0) + f64::from(n) / 7.0
                        - 60.0 * f64::from(u8::from(n == 3))
                }
            })
            .collect();
        for step in [0.1, 0.25, 3.0] {
            let steps = whole_steps(&values, step, |_| 0);
            let back = decode(&encode(&steps, 37), 37, 23, step);
            assert_eq!(back.len(), values.len());
            for (value, back) in values.iter().zip(back) {
                assert_eq!(value.is_nan(), back.is_nan());
                assert!(
                    value.is_nan() || (value - back).abs() <= step / 2.0 + 1e-9,
                    "{value} {back}"
                );
            }
        }
    }

    #[test]
    fn a_grid_without_any_value_is_one_run() {
        let code = encode(&[None; 800], 40);
        assert!(code.len() <= 4, "{code}");
        assert!(decode(&code, 40, 20, 0.25).iter().all(|value| value.is_nan()));
    }
}
