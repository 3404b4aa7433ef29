//! Samples of blocks within blocks, one after the other.

/// Samples by rank with their stretched places. What a block adds is taken off when it is done.
#[derive(Default)]
pub(crate) struct RankStack {
    pub ranks: Vec<u32>,
    pub east: Vec<f64>,
    pub north: Vec<f64>,
}

impl RankStack {
    /// Takes off what stands from `len` on.
    pub fn truncate(&mut self, len: usize) {
        self.ranks.truncate(len);
        self.east.truncate(len);
        self.north.truncate(len);
    }

    /// Puts one on top.
    pub fn push(&mut self, rank: u32, [east, north]: [f64; 2]) {
        self.ranks.push(rank);
        self.east.push(east);
        self.north.push(north);
    }

    /// Puts those of a part that lie within a distance of a place on top again.
    pub fn push_within(&mut self, (start, end): (usize, usize), place: [f64; 2], within: f64) {
        let top = self.make_room(end - start);
        let limit = within * within;
        let (ranks, to_ranks) = self.ranks.split_at_mut(top);
        let (east, to_east) = self.east.split_at_mut(top);
        let (north, to_north) = self.north.split_at_mut(top);
        let mut kept = 0;
        let all = ranks[start..end].iter().zip(&east[start..end]).zip(&north[start..end]);
        for ((&rank, &east), &north) in all {
            let (e, n) = (place[0] - east, place[1] - north);
            // Written in any case, and kept by counting: whether to keep it is hard to foretell.
            (to_ranks[kept], to_east[kept], to_north[kept]) = (rank, east, north);
            kept += usize::from(e * e + n * n <= limit);
        }
        self.truncate(top + kept);
    }

    /// Puts those of some places, ranked from `first` on, on top that lie within a distance of a place.
    pub fn push_near(&mut self, first: usize, places: &[[f64; 2]], place: [f64; 2], within: f64) {
        let top = self.make_room(places.len());
        let limit = within * within;
        let mut kept = top;
        for (rank, &[east, north]) in (first as u32..).zip(places) {
            let (e, n) = (place[0] - east, place[1] - north);
            (self.ranks[kept], self.east[kept], self.north[kept]) = (rank, east, north);
            kept += usize::from(e * e + n * n <= limit);
        }
        self.truncate(kept);
    }

    /// Makes room for so many more, and says where it begins.
    fn make_room(&mut self, most: usize) -> usize {
        let top = self.ranks.len();
        self.ranks.resize(top + most, 0);
        self.east.resize(top + most, 0.0);
        self.north.resize(top + most, 0.0);
        top
    }
}
