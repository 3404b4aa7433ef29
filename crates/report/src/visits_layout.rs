//! How small maps share a page, and how many pages that takes.

use crate::frame::Rect;

/// The most maps of a page.
pub(crate) const MOST_MAPS: usize = 12;

/// How many maps each page has, so that all but the last have equally many.
pub(crate) fn per_page(maps: usize) -> usize {
    maps.div_ceil(maps.div_ceil(MOST_MAPS).max(1))
}

/// Places for so many maps of an aspect (width over height) in rows, with room for a caption below each: the
/// number of columns that makes them largest.
pub(crate) fn places(maps: usize, aspect: f64, caption: f64, gap: f64, room: Rect) -> Vec<Rect> {
    let maps = maps.max(1);
    let width_of_map = |columns: usize| {
        let cell = cell(maps, columns, gap, room);
        cell.0.min((cell.1 - caption) * aspect)
    };
    let columns = (1..=maps)
        .max_by(|&a, &b| width_of_map(a).total_cmp(&width_of_map(b)).then(b.cmp(&a)))
        .unwrap_or(1);
    let (width, height) = cell(maps, columns, gap, room);
    (0..maps)
        .map(|k| {
            let (row, column) = (k / columns, k % columns);
            let left = room.left + column as f64 * (width + gap);
            Rect::new(left, room.top + row as f64 * (height + gap), width, height)
        })
        .collect()
}

/// Width and height of a map with its caption.
fn cell(maps: usize, columns: usize, gap: f64, room: Rect) -> (f64, f64) {
    let rows = maps.div_ceil(columns);
    let part = |whole: f64, count: usize| (whole - gap * (count - 1) as f64) / count as f64;
    (part(room.width, columns), part(room.height, rows))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_have_equally_many_maps() {
        assert_eq!([1, 12, 13, 24, 25, 40].map(per_page), [1, 12, 7, 12, 9, 10]);
    }

    #[test]
    fn wide_fields_stand_in_few_columns_and_tall_ones_in_many() {
        let room = Rect::new(0.0, 0.0, 2_000.0, 1_000.0);
        let columns = |aspect: f64| {
            let places = places(12, aspect, 80.0, 30.0, room);
            places.iter().filter(|place| place.top == 0.0).count()
        };
        assert_eq!(columns(2.0), 4);
        assert_eq!(columns(6.0), 3);
        assert_eq!(columns(0.3), 12);
    }

    #[test]
    fn no_place_leaves_the_room() {
        let room = Rect::new(10.0, 20.0, 2_000.0, 1_000.0);
        for maps in 1..=MOST_MAPS {
            let places = places(maps, 1.7, 80.0, 30.0, room);
            assert_eq!(places.len(), maps);
            let inside = |place: &Rect| {
                place.right() <= room.right() + 1e-6 && place.bottom() <= room.bottom() + 1e-6
            };
            assert!(places.iter().all(inside), "{maps}");
        }
    }
}
