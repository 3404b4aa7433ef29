//! The k-th least of many numbers, in every lane of a vector unit at a time.

use pulp::Simd;

use crate::lane_room::LaneRoom;

/// How often [`threshold`] tries before it takes a last single step. Where numbers are spread evenly,
/// hardly a lane is then more than one off.
const TRIES: usize = 4;

/// How many single steps follow.
const STEPS: usize = 4;

/// So many numbers are kept in registers; more in memory.
const MOST_KEPT: usize = 16;

/// So few numbers more than are needed are sorted out one by one.
const FEW_SPARE: usize = 8;

/// Of squares of the distances of several places to samples, more than `count`: for each lane a
/// number that just the squares of the `count` nearest are at most, and the lanes where none is found
/// since others are equally far. `bounds` are distances: where the last is expected, and what it
/// is not beyond in any lane.
#[inline(always)]
pub(crate) fn last_needed<S: Simd>(
    simd: S,
    squares: &[S::f64s],
    count: usize,
    bounds: [f64; 2],
    room: &mut LaneRoom,
) -> (S::f64s, S::m64s) {
    let [start, bound] = bounds.map(|distance| simd.splat_f64s(distance * distance));
    let zero = simd.splat_f64s(0.0);
    let (most, is_open) = match squares.len() - count < FEW_SPARE {
        true => (zero, simd.equal_f64s(zero, zero)),
        false => threshold(simd, squares, count, start, bound),
    };
    if simd.first_true_m64s(is_open) >= S::F64_LANES {
        return (most, is_open);
    }
    let (nth, next) = nth_and_next(simd, squares, count, bound, room.room::<S>(count + 1));
    let most = simd.select_f64s(is_open, nth, most);
    (most, simd.and_m64s(is_open, simd.equal_f64s(nth, next)))
}

/// Of each lane, the `count`-th least number and the next, of at least `count`; the next is `bound`
/// where there is none. No lane's `count`-th may be above `bound`: what is above it in all lanes is
/// passed over.
#[inline(always)]
fn nth_and_next<S: Simd>(
    simd: S,
    all: &[S::f64s],
    count: usize,
    bound: S::f64s,
    room: &mut [S::f64s],
) -> (S::f64s, S::f64s) {
    // The greatest are fewer to keep where nearly all are wanted. One more tells the next.
    let spare = all.len() - count;
    if spare < count {
        let (nth, next) = match spare {
            0 => of_greatest::<S, 1>(simd, all),
            1 => of_greatest::<S, 2>(simd, all),
            2 => of_greatest::<S, 3>(simd, all),
            3 => of_greatest::<S, 4>(simd, all),
            4 => of_greatest::<S, 5>(simd, all),
            5 => of_greatest::<S, 6>(simd, all),
            6 => of_greatest::<S, 7>(simd, all),
            7 => of_greatest::<S, 8>(simd, all),
            _ => {
                let kept = &mut room[..=spare];
                greatest(simd, all, kept);
                (kept[spare], kept[spare - 1])
            }
        };
        return match spare {
            0 => (nth, bound),
            _ => (nth, next),
        };
    }
    if count < MOST_KEPT {
        let mut kept = [bound; MOST_KEPT];
        least(simd, all, &mut kept[MOST_KEPT - 1 - count..]);
        (kept[MOST_KEPT - 2], kept[MOST_KEPT - 1])
    } else {
        let kept = &mut room[..=count];
        kept.fill(bound);
        least(simd, all, kept);
        (kept[count - 1], kept[count])
    }
}

/// The `K`-th greatest of each lane and the one before it.
#[inline(always)]
fn of_greatest<S: Simd, const K: usize>(simd: S, all: &[S::f64s]) -> (S::f64s, S::f64s) {
    let mut kept = [simd.splat_f64s(f64::NEG_INFINITY); K];
    greatest(simd, all, &mut kept);
    (kept[K - 1], kept[K.saturating_sub(2)])
}

/// The greatest of each lane, falling.
#[inline(always)]
fn greatest<S: Simd>(simd: S, all: &[S::f64s], kept: &mut [S::f64s]) {
    kept.fill(simd.splat_f64s(f64::NEG_INFINITY));
    for &number in all {
        let mut number = number;
        for kept in kept.iter_mut() {
            let greater = simd.max_f64s(*kept, number);
            number = simd.min_f64s(*kept, number);
            *kept = greater;
        }
    }
}

/// The least of each lane, rising, of those that are below what `kept` holds.
#[inline(always)]
fn least<S: Simd>(simd: S, all: &[S::f64s], kept: &mut [S::f64s]) {
    for &number in all {
        let last = kept[kept.len() - 1];
        if simd.first_true_m64s(simd.less_than_f64s(number, last)) >= S::F64_LANES {
            continue;
        }
        let mut number = number;
        for kept in kept.iter_mut() {
            let less = simd.min_f64s(*kept, number);
            number = simd.max_f64s(*kept, number);
            *kept = less;
        }
    }
}

/// For each lane a number that just `count` are at most, and which lanes have none found. None is
/// found where numbers are equal. `start` is a guess, and no lane's `count`-th is above `bound`.
///
/// How many squares of distances are below a number grows about as the number does, where samples are
/// spread evenly: the next try follows from that, and lies between those known to be too little and
/// too much (regula falsi, halving where it fails).
#[inline(always)]
fn threshold<S: Simd>(
    simd: S,
    all: &[S::f64s],
    count: usize,
    start: S::f64s,
    bound: S::f64s,
) -> (S::f64s, S::m64s) {
    let [zero, half, wanted] = [0.0, 0.5, count as f64].map(|number| simd.splat_f64s(number));
    let aim = simd.add_f64s(wanted, half);
    let (mut low, mut high, mut tried) = (zero, bound, start);
    let mut found = simd.less_than_f64s(zero, zero);
    for attempt in 0..=TRIES + STEPS {
        let counted = count_up_to(simd, all, tried);
        found = simd.equal_f64s(counted, wanted);
        if simd.first_true_m64s(simd.not_m64s(found)) >= S::F64_LANES {
            break;
        }
        if attempt >= TRIES {
            let one_more = simd.less_than_f64s(counted, wanted);
            let stepped = step(simd, all, tried, one_more);
            tried = simd.select_f64s(found, tried, stepped);
            continue;
        }
        low = simd.select_f64s(simd.less_than_f64s(counted, wanted), tried, low);
        high = simd.select_f64s(simd.less_than_f64s(wanted, counted), tried, high);
        let even = simd.mul_f64s(tried, simd.div_f64s(aim, simd.add_f64s(counted, half)));
        let between =
            simd.and_m64s(simd.less_than_f64s(low, even), simd.less_than_f64s(even, high));
        let middle = simd.mul_f64s(half, simd.add_f64s(low, high));
        let next = simd.select_f64s(between, even, middle);
        tried = simd.select_f64s(found, tried, next);
    }
    (tried, simd.not_m64s(found))
}

/// For each lane the greatest of the numbers that are at most so much.
#[inline(always)]
pub(crate) fn greatest_up_to<S: Simd>(simd: S, all: &[S::f64s], most: S::f64s) -> S::f64s {
    let nothing = simd.splat_f64s(f64::NEG_INFINITY);
    all.iter().fold(nothing, |last, &number| {
        let is_up_to = simd.less_than_or_equal_f64s(number, most);
        simd.max_f64s(simd.select_f64s(is_up_to, number, nothing), last)
    })
}

/// For each lane the number that one more, or else one less, are at most.
#[inline(always)]
fn step<S: Simd>(simd: S, all: &[S::f64s], tried: S::f64s, one_more: S::m64s) -> S::f64s {
    let [infinite, nothing] =
        [f64::INFINITY, f64::NEG_INFINITY].map(|number| simd.splat_f64s(number));
    let (mut above, mut last, mut last_but_one) = (infinite, nothing, nothing);
    for &number in all {
        let is_above = simd.less_than_f64s(tried, number);
        above = simd.min_f64s(simd.select_f64s(is_above, number, infinite), above);
        let below = simd.select_f64s(is_above, nothing, number);
        last_but_one = simd.max_f64s(simd.min_f64s(below, last), last_but_one);
        last = simd.max_f64s(below, last);
    }
    simd.select_f64s(one_more, above, last_but_one)
}

/// How many numbers of each lane are at most so much.
#[inline(always)]
fn count_up_to<S: Simd>(simd: S, all: &[S::f64s], most: S::f64s) -> S::f64s {
    let [zero, one] = [0.0, 1.0].map(|number| simd.splat_f64s(number));
    let counts =
        |number: S::f64s| simd.select_f64s(simd.less_than_or_equal_f64s(number, most), one, zero);
    // Four sums side by side, which do not wait for each other.
    let mut sums = [zero; 4];
    let chunks = all.chunks_exact(4);
    for &number in chunks.remainder() {
        sums[0] = simd.add_f64s(sums[0], counts(number));
    }
    for chunk in chunks {
        for k in 0..4 {
            sums[k] = simd.add_f64s(sums[k], counts(chunk[k]));
        }
    }
    simd.add_f64s(simd.add_f64s(sums[0], sums[1]), simd.add_f64s(sums[2], sums[3]))
}

#[cfg(test)]
mod tests {
    use pulp::{Arch, WithSimd};

    use super::*;

    /// Both searches in one lane, among numbers that fall, rise and repeat.
    struct InOneLane<'a> {
        numbers: &'a [f64],
        count: usize,
        bound: f64,
    }

    impl WithSimd for InOneLane<'_> {
        /// The `count`-th, the next, and a threshold where one is found.
        type Output = (f64, f64, Option<f64>);

        fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
            let all: Vec<S::f64s> = self.numbers.iter().map(|&n| simd.splat_f64s(n)).collect();
            let mut room = vec![simd.splat_f64s(0.0); self.count + 1];
            let bound = simd.splat_f64s(self.bound);
            let (nth, next) = nth_and_next(simd, &all, self.count, bound, &mut room);
            let (most, open) = threshold(simd, &all, self.count, bound, bound);
            let first = |lanes| simd.reduce_max_f64s(lanes);
            let is_open = simd.first_true_m64s(open) < S::F64_LANES;
            (first(nth), first(next), (!is_open).then_some(first(most)))
        }
    }

    #[test]
    fn the_nth_is_that_of_the_sorted_numbers() {
        for len in 1..60_usize {
            for step in [1, 7, 29] {
                let numbers: Vec<f64> =
                    (0..len).map(|k| f64::from((k * step % 23) as u32) * 0.5 + 1.0).collect();
                let mut sorted = numbers.clone();
                sorted.sort_by(f64::total_cmp);
                for count in 1..=len {
                    let nth = sorted[count - 1];
                    let bound = nth + 0.75;
                    let numbers = &numbers[..];
                    let found = Arch::new().dispatch(InOneLane { numbers, count, bound });
                    assert_eq!(found.0, nth, "{numbers:?} {count}");
                    let next = sorted.get(count).copied().unwrap_or(bound);
                    assert_eq!(found.1.min(bound), next.min(bound), "{numbers:?} {count}");
                    let up_to = |most: f64| numbers.iter().filter(|&&n| n <= most).count();
                    match found.2 {
                        Some(most) => assert_eq!(up_to(most), count),
                        None => assert!(len > 4),
                    }
                }
            }
        }
    }
}
