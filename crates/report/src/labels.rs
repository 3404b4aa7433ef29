//! Labels that do not cover one another: each takes the first free place around its point.

use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;

/// Ground of the page that is taken. Rectangles are kept by tiles, so that thousands of marks do
/// not each meet all others.
#[derive(Clone)]
pub(crate) struct Taken {
    bounds: Rect,
    columns: usize,
    tiles: Vec<Vec<Rect>>,
}

/// Side of a tile, pixels.
const TILE: f64 = 80.0;

impl Taken {
    /// Nothing taken yet, and nothing may leave the bounds.
    pub fn new(bounds: Rect) -> Self {
        let columns = (bounds.width / TILE) as usize + 1;
        let rows = (bounds.height / TILE) as usize + 1;
        Taken { bounds, columns, tiles: vec![Vec::new(); columns * rows] }
    }

    /// Takes a rectangle, free or not.
    pub fn take(&mut self, rect: Rect) {
        for tile in self.touched(&rect) {
            self.tiles[tile].push(rect);
        }
    }

    /// Whether a rectangle is free and within the bounds.
    pub fn is_free(&self, rect: &Rect) -> bool {
        let is_met = |tile: usize| self.tiles[tile].iter().any(|other| other.overlaps(rect));
        self.bounds.holds(rect) && !self.touched(rect).into_iter().any(is_met)
    }

    /// Takes a rectangle if it is free.
    pub fn take_if_free(&mut self, rect: Rect) -> bool {
        let free = self.is_free(&rect);
        if free {
            self.take(rect);
        }
        free
    }

    fn touched(&self, rect: &Rect) -> Vec<usize> {
        let rows = self.tiles.len() / self.columns;
        let tile = |at: f64, from: f64, count: usize| {
            (((at - from) / TILE).max(0.0) as usize).min(count - 1)
        };
        let columns = tile(rect.left, self.bounds.left, self.columns)
            ..=tile(rect.right(), self.bounds.left, self.columns);
        let rows =
            tile(rect.top, self.bounds.top, rows)..=tile(rect.bottom(), self.bounds.top, rows);
        rows.flat_map(|row| columns.clone().map(move |column| row * self.columns + column))
            .collect()
    }
}

/// Places a line of text beside a mark of a radius: the middle of its foot, if there is room. Of the
/// free places the first with the lowest rank is taken; a place without a rank never is.
pub(crate) fn beside(
    taken: &mut Taken,
    words: &str,
    size: f64,
    (x, y): (f64, f64),
    radius: f64,
    rank: impl Fn(&Rect) -> Option<u8>,
) -> Option<(f64, f64)> {
    let (width, height) =
        (fonts::width(words, size, Weight::Regular) + 4.0, size * CAP_HEIGHT + 4.0);
    let (right, down) = (radius + width / 2.0 + 2.0, radius + height / 2.0 + 2.0);
    let slant = 0.75;
    let offsets = [
        (right, 0.0),
        (-right, 0.0),
        (0.0, -down),
        (0.0, down),
        (right * slant, -down * slant),
        (-right * slant, -down * slant),
        (right * slant, down * slant),
        (-right * slant, down * slant),
    ];
    let (_, rect) = offsets
        .map(|(dx, dy)| around((x + dx, y + dy), width, height))
        .into_iter()
        .filter(|rect| taken.is_free(rect))
        .filter_map(|rect| Some((rank(&rect)?, rect)))
        .min_by_key(|&(rank, _)| rank)?;
    taken.take(rect);
    Some((rect.middle().0, rect.bottom() - 2.0))
}

/// A rectangle around its middle.
pub(crate) fn around((x, y): (f64, f64), width: f64, height: f64) -> Rect {
    Rect::new(x - width / 2.0, y - height / 2.0, width, height)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page() -> Taken {
        Taken::new(Rect::new(0.0, 0.0, 500.0, 300.0))
    }

    #[test]
    fn a_second_label_of_a_place_moves_to_the_other_side() {
        let mut taken = page();
        let first = beside(&mut taken, "18+", 20.0, (250.0, 150.0), 7.0, |_| Some(0)).unwrap();
        let second = beside(&mut taken, "18+", 20.0, (250.0, 150.0), 7.0, |_| Some(0)).unwrap();
        assert!(first.0 > 250.0 && second.0 < 250.0);
    }

    #[test]
    fn no_label_covers_a_mark_or_leaves_the_page() {
        let mut taken = page();
        taken.take(Rect::new(0.0, 0.0, 500.0, 290.0));
        assert_eq!(beside(&mut taken, "9", 20.0, (250.0, 150.0), 7.0, |_| Some(0)), None);
        assert!(!page().take_if_free(Rect::new(495.0, 10.0, 10.0, 10.0)));
    }

    #[test]
    fn a_place_of_lower_rank_is_preferred_and_one_without_rank_refused() {
        let left_first = |rect: &Rect| Some(u8::from(rect.left > 250.0));
        let place = beside(&mut page(), "9", 20.0, (250.0, 150.0), 7.0, left_first).unwrap();
        assert!(place.0 < 250.0);
        assert_eq!(beside(&mut page(), "9", 20.0, (250.0, 150.0), 7.0, |_| None), None);
    }

    #[test]
    fn rectangles_are_found_across_tiles() {
        let mut taken = page();
        taken.take(Rect::new(10.0, 10.0, 300.0, 20.0));
        assert!(!taken.take_if_free(Rect::new(290.0, 15.0, 100.0, 5.0)));
        assert!(taken.take_if_free(Rect::new(311.0, 15.0, 100.0, 5.0)));
    }
}
