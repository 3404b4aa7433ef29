//! What one core of this machine can do at most: a loop is held against it.
//!
//! ```text
//! machine_limits
//! ```
//!
//! Prints bytes per second to and from memory (triad: a = b + s · c), and sums, products, divisions
//! and square roots of doubles per second with everything in the first cache. The compiler's choice of
//! instructions counts: build with `-C target-cpu=native` for what the processor itself can do.

#![expect(clippy::print_stdout, reason = "an example prints its result")]

use std::hint::black_box;
use std::time::Instant;

/// Doubles of an array that is far larger than the caches.
const LARGE: usize = 8_000_000;

/// Doubles of an array that the first cache holds with room to spare.
const SMALL: usize = 1024;

/// Chains of operations side by side, so that none waits for the one before.
const LANES: usize = 64;

/// Each measurement is repeated; the quickest counts.
const TRIES: usize = 7;

fn main() {
    println!("triad_bytes_per_ns {:.2}", triad_bytes_per_ns());
    println!("flops_per_ns {:.2}", flops_per_ns());
    println!("divisions_per_ns {:.3}", over_small_array(|x| 1.0 / x));
    println!("roots_per_ns {:.3}", over_small_array(f64::sqrt));
}

fn triad_bytes_per_ns() -> f64 {
    let (mut a, b, c) = (vec![0.0; LARGE], vec![1.0; LARGE], vec![2.0; LARGE]);
    let seconds = least_seconds(|| {
        let factor = black_box(3.0);
        for ((a, b), c) in a.iter_mut().zip(&b).zip(&c) {
            *a = b + factor * c;
        }
        black_box(&a);
    });
    (3 * LARGE * size_of::<f64>()) as f64 / seconds / 1e9
}

/// Sums and products, half of each, which fit into one pass of the processor where it has both.
fn flops_per_ns() -> f64 {
    const ROUNDS: usize = 100_000;
    let mut sums = [1.0_f64; LANES];
    let seconds = least_seconds(|| {
        let (factor, addend) = (black_box(0.999_999), black_box(1e-6));
        for _ in 0..ROUNDS {
            for sum in &mut sums {
                *sum = *sum * factor + addend;
            }
        }
        black_box(&sums);
    });
    (2 * ROUNDS * LANES) as f64 / seconds / 1e9
}

fn over_small_array(operation: impl Fn(f64) -> f64) -> f64 {
    const ROUNDS: usize = 2000;
    let from: Vec<f64> = (0..SMALL).map(|k| 1.5 + k as f64).collect();
    let mut to = vec![0.0; SMALL];
    let seconds = least_seconds(|| {
        for _ in 0..ROUNDS {
            for (to, from) in to.iter_mut().zip(black_box(&from)) {
                *to = operation(*from);
            }
            black_box(&to);
        }
    });
    (ROUNDS * SMALL) as f64 / seconds / 1e9
}

fn least_seconds(mut what: impl FnMut()) -> f64 {
    let mut least = f64::INFINITY;
    for _ in 0..TRIES {
        let start = Instant::now();
        what();
        least = least.min(start.elapsed().as_secs_f64());
    }
    least
}
