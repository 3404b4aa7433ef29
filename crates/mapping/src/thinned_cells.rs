//! A part of many cells, spread evenly.

/// Those of some cells that lie on every so manieth row and column, the least step that leaves no more
/// than `most`, and the step. Cells are numbered along rows of so many columns; of a sliver between the
/// lines every so manieth cell is taken.
pub(crate) fn thinned(cells: &[usize], columns: usize, most: usize) -> (usize, Vec<usize>) {
    let in_step = |step: usize| {
        let is_on = |&cell: &usize| {
            (cell / columns) % step == step / 2 && (cell % columns) % step == step / 2
        };
        cells.iter().copied().filter(is_on).collect::<Vec<usize>>()
    };
    let first = (cells.len() as f64 / most as f64).sqrt().ceil().max(1.0) as usize;
    let mut step = first;
    loop {
        let kept = in_step(step);
        match kept.len() {
            0 if step > 1 => step -= 1,
            count if count > most && step >= first => step += 1,
            count => {
                let every = count.div_ceil(most).max(1);
                return (step, kept.into_iter().step_by(every).collect());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_cells_are_thinned_and_few_are_not() {
        let all = |cells: usize| (0..cells).collect::<Vec<usize>>();
        assert_eq!(thinned(&all(10_000), 100, 10_000).0, 1);
        let (step, cells) = thinned(&all(60_000), 300, 10_000);
        assert_eq!((step, cells.len()), (3, 100 * 67));
        let sliver = thinned(&all(90_000), 90_000, 10_000).1;
        assert_eq!((sliver.len(), sliver[1]), (10_000, 9));
        assert_eq!(thinned(&[], 10, 5), (1, vec![]));
    }
}
