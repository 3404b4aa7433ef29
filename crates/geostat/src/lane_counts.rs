//! Vector units of every size, for tests that the size does not change a bit.

use std::fmt::Debug;

use pulp::{Arch, Scalar, Scalar128b, Scalar256b, Scalar512b, WithSimd};

/// How many numbers are worked on at a time.
#[derive(Debug, Clone, Copy)]
pub(crate) enum LaneCount {
    One,
    Two,
    Four,
    Eight,
    /// As many as this machine holds.
    Machine,
}

impl LaneCount {
    /// Does some work with so many lanes.
    pub fn dispatch<W: WithSimd>(self, work: W) -> W::Output {
        match self {
            LaneCount::One => work.with_simd(Scalar),
            LaneCount::Two => work.with_simd(Scalar128b),
            LaneCount::Four => work.with_simd(Scalar256b),
            LaneCount::Eight => work.with_simd(Scalar512b),
            LaneCount::Machine => Arch::new().dispatch(work),
        }
    }

    /// Does it with each and gives the result, which must be the same.
    pub fn each<T: PartialEq + Debug>(mut work: impl FnMut(LaneCount) -> T) -> T {
        let one = work(LaneCount::One);
        for lanes in [LaneCount::Two, LaneCount::Four, LaneCount::Eight, LaneCount::Machine] {
            assert_eq!(work(lanes), one, "{lanes:?}");
        }
        one
    }
}
