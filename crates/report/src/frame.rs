//! Rectangles on the page, pixels from the upper left corner.

/// A rectangle on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rect {
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
}

impl Rect {
    pub fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Rect { left, top, width, height }
    }

    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }

    pub fn middle(&self) -> (f64, f64) {
        (self.left + self.width / 2.0, self.top + self.height / 2.0)
    }

    /// Without so much at each side.
    pub fn trim(&self, left: f64, top: f64, right: f64, bottom: f64) -> Rect {
        Rect::new(
            self.left + left,
            self.top + top,
            self.width - left - right,
            self.height - top - bottom,
        )
    }

    /// Cut upright at so much from the left, with a gap.
    pub fn split_left(&self, width: f64, gap: f64) -> (Rect, Rect) {
        (Rect { width, ..*self }, self.trim(width + gap, 0.0, 0.0, 0.0))
    }

    /// Cut level at so much from the top, with a gap.
    pub fn split_top(&self, height: f64, gap: f64) -> (Rect, Rect) {
        (Rect { height, ..*self }, self.trim(0.0, height + gap, 0.0, 0.0))
    }

    /// Equal columns with gaps.
    pub fn columns(&self, count: usize, gap: f64) -> Vec<Rect> {
        let width = (self.width - gap * (count - 1) as f64) / count as f64;
        (0..count)
            .map(|k| Rect { left: self.left + k as f64 * (width + gap), width, ..*self })
            .collect()
    }

    pub fn corners(&self) -> [(f64, f64); 4] {
        [
            (self.left, self.top),
            (self.right(), self.top),
            (self.right(), self.bottom()),
            (self.left, self.bottom()),
        ]
    }

    pub fn overlaps(&self, other: &Rect) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }

    pub fn holds(&self, other: &Rect) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right() >= other.right()
            && self.bottom() >= other.bottom()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rectangles_that_touch_do_not_overlap() {
        let a = Rect::new(0.0, 0.0, 10.0, 10.0);
        assert!(!a.overlaps(&Rect::new(10.0, 0.0, 5.0, 5.0)));
        assert!(a.overlaps(&Rect::new(9.0, 9.0, 5.0, 5.0)));
    }

    #[test]
    fn columns_fill_the_width() {
        let columns = Rect::new(100.0, 0.0, 320.0, 50.0).columns(3, 10.0);
        assert_eq!(columns.iter().map(|c| c.left).collect::<Vec<_>>(), [100.0, 210.0, 320.0]);
        assert_eq!(columns[2].right(), 420.0);
    }
}
