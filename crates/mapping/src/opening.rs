//! Which ground has room for a shape: the opening of mathematical morphology (Serra 1982, Image Analysis
//! and Mathematical Morphology, from memory), for all patches of a grid at once.
//!
//! A disc is set on the middles, corners and edge middles of cells. The nearest place of a square cell
//! to such a point is again such a point, so on that lattice of half cells whether a disc fits is exact
//! for the squares, and a strip of as many cells as the disc is wide has room for it.

/// What must fit, in cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Shape {
    Disc { diameter: f64 },
    Rectangle { columns: usize, rows: usize },
}

/// For each cell whether its middle lies in a shape that lies wholly in ground of the cell's label.
/// `None` is no ground, as is all beyond the grid.
pub(crate) fn has_room(labels: &[Option<u32>], columns: usize, shape: Shape) -> Vec<bool> {
    match shape {
        Shape::Disc { diameter } => has_room_for_disc(labels, columns, diameter),
        Shape::Rectangle { columns: across, rows: along } => {
            has_room_for_rectangle(labels, columns, across, along)
        }
    }
}

fn has_room_for_disc(labels: &[Option<u32>], columns: usize, diameter: f64) -> Vec<bool> {
    let squared = squared_radius(diameter);
    let width = 2 * columns + 1;
    let mut points = within(&edges(labels, columns), width, squared - 1);
    points.iter_mut().for_each(|point| *point = !*point);
    let points = within(&points, width, squared);
    let middle = |cell: usize| (2 * (cell / columns) + 1) * width + 2 * (cell % columns) + 1;
    (0..labels.len()).map(|cell| labels[cell].is_some() && points[middle(cell)]).collect()
}

/// The square of a disc's radius in half cells, which is its diameter in cells. Squares of distances are
/// whole numbers, so it is rounded up; a trifle off, for a width that is whole but for rounding.
pub(crate) fn squared_radius(diameter: f64) -> u64 {
    (diameter * diameter - 1e-6).ceil().max(1.0) as u64
}

/// For each point of the lattice of half cells whether ground of one label ends there, or is not there.
fn edges(labels: &[Option<u32>], columns: usize) -> Vec<bool> {
    let rows = labels.len() / columns;
    let (width, height) = (2 * columns + 1, 2 * rows + 1);
    // The one or two columns or rows that a point touches.
    let touched = |k: usize| [k.wrapping_sub(1) / 2, k / 2];
    let label = |row: usize, column: usize| match row < rows && column < columns {
        true => labels[row * columns + column],
        false => None,
    };
    let mut result = Vec::with_capacity(width * height);
    for y in 0..height {
        for x in 0..width {
            let [north, south] = touched(y);
            let [west, east] = touched(x);
            let one = label(north, west);
            let others = [label(north, east), label(south, west), label(south, east)];
            result.push(one.is_none() || others.iter().any(|&other| other != one));
        }
    }
    result
}

/// For each point whether a marked one lies within a distance, given by its square: exact. First the
/// distance to the nearest marked point in the point's column; then each point marks as much of its row
/// as lies within the distance of that one.
fn within(marked: &[bool], width: usize, squared: u64) -> Vec<bool> {
    let reach = squared.isqrt();
    // Farther than the reach is as good as nowhere. A reach of 65 534 half cells is far beyond that of
    // any field in memory that is as wide.
    let far = u16::try_from(reach + 1).unwrap_or(u16::MAX);
    let mut in_column: Vec<u16> = marked.iter().map(|&is| if is { 0 } else { far }).collect();
    for at in width..in_column.len() {
        in_column[at] = in_column[at].min((in_column[at - width] + 1).min(far));
    }
    for at in (0..in_column.len() - width).rev() {
        in_column[at] = in_column[at].min((in_column[at + width] + 1).min(far));
    }
    let spans: Vec<usize> =
        (0..u64::from(far)).map(|off| (squared - off * off).isqrt() as usize).collect();
    let mut result = Vec::with_capacity(marked.len());
    let mut steps = vec![0_i32; width + 1];
    for row in in_column.chunks_exact(width) {
        steps.fill(0);
        for (x, &off) in row.iter().enumerate().filter(|(_, off)| **off < far) {
            let span = spans[usize::from(off)];
            steps[x.saturating_sub(span)] += 1;
            steps[(x + span + 1).min(width)] -= 1;
        }
        let mut over = 0;
        result.extend(steps[..width].iter().map(|step| {
            over += step;
            over > 0
        }));
    }
    result
}

fn has_room_for_rectangle(
    labels: &[Option<u32>],
    columns: usize,
    across: usize,
    along: usize,
) -> Vec<bool> {
    // First the south-eastern cells of rectangles of one label, from the runs of equal cells that end
    // there; then all cells less than a rectangle to the north-west of one.
    let mut is_corner = vec![false; labels.len()];
    let mut rows_so_far = vec![0_usize; columns];
    for (row, line) in labels.chunks_exact(columns).enumerate() {
        let mut run = 0;
        for (column, label) in line.iter().enumerate() {
            run = if column > 0 && line[column - 1] == *label { run + 1 } else { 1 };
            let continues = row > 0 && labels[(row - 1) * columns + column] == *label;
            let so_far = if continues { rows_so_far[column] } else { 0 };
            rows_so_far[column] = if label.is_some() && run >= across { so_far + 1 } else { 0 };
            is_corner[row * columns + column] = rows_so_far[column] >= along;
        }
    }
    // How many more cells to the west, and rows to the north, the last corner covers.
    let mut rows_left = vec![0_usize; columns];
    for line in is_corner.chunks_exact_mut(columns).rev() {
        let mut left = 0;
        for (column, cell) in line.iter_mut().enumerate().rev() {
            left = if *cell { across } else { left };
            if left > 0 {
                left -= 1;
                rows_left[column] = along;
            }
            *cell = rows_left[column] > 0;
            rows_left[column] = rows_left[column].saturating_sub(1);
        }
    }
    is_corner
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(picture: &[&str]) -> (Vec<Option<u32>>, usize) {
        let label = |letter: u8| (letter != b'.').then(|| u32::from(letter));
        (picture.iter().flat_map(|row| row.bytes().map(label)).collect(), picture[0].len())
    }

    fn shown(picture: &[&str], shape: Shape) -> Vec<String> {
        let (labels, columns) = labels(picture);
        let room = has_room(&labels, columns, shape);
        let letter = |(has, letter): (&bool, u8)| if *has { char::from(letter) } else { '.' };
        let rows = room.chunks(columns).zip(picture);
        rows.map(|(room, row)| room.iter().zip(row.bytes()).map(letter).collect()).collect()
    }

    const STRIPS: [&str; 5] = [
        "aabbbccccd", //
        "aabbbccccd", //
        "aabbbccccd", //
        "aabbbccccd", //
        "aabbbccccd",
    ];

    /// Discs of exactly two, three and four cells fit strips of as many, odd or even.
    #[test]
    fn a_disc_fits_a_strip_of_its_width() {
        let kept = |diameter| shown(&STRIPS, Shape::Disc { diameter })[2].clone();
        assert_eq!(kept(1.0), "aabbbccccd");
        assert_eq!(kept(2.0), "aabbbcccc.");
        assert_eq!(kept(2.1), "..bbbcccc.");
        assert_eq!(kept(3.0), "..bbbcccc.");
        assert_eq!(kept(4.0), ".....cccc.");
        assert_eq!(kept(4.1), "..........");
    }

    #[test]
    fn a_rectangle_fits_where_its_cells_are_of_one_label() {
        let shape = Shape::Rectangle { columns: 2, rows: 3 };
        let picture = ["aab.bb", "aabbbb", "aaabbb", "caaccc"];
        assert_eq!(shown(&picture, shape), ["aa..bb", "aa..bb", "aa..bb", "......"]);
    }

    /// Against the plain way: try every place of the disc.
    #[test]
    fn a_disc_has_room_where_every_cell_it_reaches_is_of_one_label() {
        let mut state = 5_u64;
        for diameter in [1.0, 1.7, 2.0, 2.5, 3.3, 4.0] {
            let (columns, rows) = (13, 11);
            let labels: Vec<Option<u32>> = (0..columns * rows)
                .map(|_| {
                    state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    [None, Some(1), Some(2), Some(2), Some(2), Some(2), Some(2), Some(2)]
                        [(state >> 33) as usize % 8]
                })
                .collect();
            assert_eq!(
                has_room(&labels, columns, Shape::Disc { diameter }),
                plainly(&labels, columns, diameter),
                "{diameter}"
            );
        }
    }

    fn plainly(labels: &[Option<u32>], columns: usize, diameter: f64) -> Vec<bool> {
        let rows = labels.len() / columns;
        let squared = (diameter * diameter - 1e-6).ceil() as i64;
        let mut room = vec![false; labels.len()];
        for y in 0..=2 * rows as i64 {
            for x in 0..=2 * columns as i64 {
                let mut held = Vec::new();
                let mut seen = std::collections::BTreeSet::new();
                for row in -9..rows as i64 + 9 {
                    for column in -9..columns as i64 + 9 {
                        let off = |at: i64, cell: i64| ((at - 2 * cell - 1).abs() - 1).max(0);
                        let (dx, dy) = (off(x, column), off(y, row));
                        let is_in = (0..rows as i64).contains(&row)
                            && (0..columns as i64).contains(&column);
                        let cell = (row * columns as i64 + column) as usize;
                        if dx * dx + dy * dy < squared {
                            seen.insert(if is_in { labels[cell] } else { None });
                        }
                        let (mx, my) = (x - 2 * column - 1, y - 2 * row - 1);
                        if is_in && mx * mx + my * my <= squared {
                            held.push(cell);
                        }
                    }
                }
                if seen.len() == 1 && seen.first() != Some(&None) {
                    held.iter().for_each(|&cell| room[cell] = true);
                }
            }
        }
        room
    }
}
