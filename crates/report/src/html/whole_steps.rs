//! Values as whole numbers of steps, rounded so that nothing drawn from them is another than of the values themselves:
//! each stays in its class, and a change on its side of its half-width.

/// Values in steps; `None` where there is none. A value that rounding would move into another class takes the nearest
/// step of its own; where its class is too narrow to have one it is rounded as others are.
pub(crate) fn whole_steps(
    values: &[f64],
    step: f64,
    class_of: impl Fn(f64) -> usize,
) -> Vec<Option<i64>> {
    let one = |value: f64| {
        let nearest = (value / step).round() as i64;
        let class = class_of(value);
        // As the page's script reads it.
        let keeps = |steps: &i64| class_of(*steps as f64 * step) == class;
        [nearest, nearest - 1, nearest + 1].into_iter().find(keeps).unwrap_or(nearest)
    };
    values.iter().map(|&value| value.is_finite().then(|| one(value))).collect()
}

/// The half-widths of changes in steps, and the changes with them: a change is greater than its half-width in steps where
/// it is so in full.
pub(crate) fn half_width_steps(
    change: &[f64],
    half_width: &[f64],
    change_steps: &mut [Option<i64>],
    step: f64,
) -> Vec<Option<i64>> {
    let one = |((change, half), steps): ((&f64, &f64), &mut Option<i64>)| {
        let nearest = half.is_finite().then(|| (half / step).round() as i64)?;
        let Some(steps) = steps else { return Some(nearest) };
        if change.abs() <= *half {
            return Some(nearest.max(steps.abs()));
        }
        if *steps == 0 {
            *steps = if *change < 0.0 { -1 } else { 1 };
        }
        Some(nearest.min(steps.abs() - 1))
    };
    change.iter().zip(half_width).zip(change_steps).map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn class_of(limits: &[f64]) -> impl Fn(f64) -> usize {
        |value| limits.iter().filter(|&&limit| limit <= value).count()
    }

    #[test]
    fn a_value_stays_in_its_class() {
        let chance = class_of(&[0.1, 0.25, 0.5]);
        // 0.098 would become 0.1, which is in the class above.
        let steps = whole_steps(&[0.098, 0.1, 0.102, 0.2499, f64::NAN], 0.005, &chance);
        assert_eq!(steps, [Some(19), Some(20), Some(20), Some(49), None]);
        // 3.81 cm is the limit of 1.5 in, and belongs to the class that begins there.
        let change = class_of(&[-3.81, 0.0, 3.81]);
        let steps = whole_steps(&[3.81, 3.8, -3.81, -3.82, -0.01], 0.1, &change);
        assert_eq!(steps, [Some(39), Some(38), Some(-38), Some(-39), Some(-1)]);
        // Depths on and beside the limits of rod marks.
        let limits = [3.0, 6.0, 9.0].map(|inches| survey::Depth::from_in(inches).cm());
        let depth = class_of(&limits);
        for limit in limits {
            let values = [limit, limit - 1e-9, limit + 1e-9, limit - 0.12, limit + 0.12];
            for (value, steps) in values.iter().zip(whole_steps(&values, 0.25, &depth)) {
                assert_eq!(depth(steps.unwrap() as f64 * 0.25), depth(*value), "{value}");
            }
        }
    }

    #[test]
    fn a_change_stays_on_its_side_of_its_half_width() {
        let change = [4.04, 4.04, -4.04, 0.03, 0.03, 3.96, 2.0, f64::NAN, 1.0];
        let half = [4.01, 4.06, 4.03, 0.01, 0.04, 3.99, 2.0, 1.0, f64::NAN];
        let mut steps = whole_steps(&change, 0.1, class_of(&[-3.81, 0.0, 3.81]));
        let halves = half_width_steps(&change, &half, &mut steps, 0.1);
        for k in 0..change.len() {
            let (Some(steps), Some(halved)) = (steps[k], halves[k]) else {
                assert!(change[k].is_nan() || half[k].is_nan());
                continue;
            };
            assert_eq!(
                steps.abs() > halved,
                change[k].abs() > half[k],
                "{} {}",
                change[k],
                half[k]
            );
            assert!((steps as f64 * 0.1 - change[k]).abs() < 0.1);
            // Half a step, and one more to stay on its side.
            assert!((halved as f64 * 0.1 - half[k]).abs() < 0.15 + 1e-9);
        }
    }
}
