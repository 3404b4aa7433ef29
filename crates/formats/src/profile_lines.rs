//! Profiles that take several records, one for each depth.
//!
//! A record without a date belongs to the profile above it that differs in nothing else, as
//! spreadsheets write the date once. Records of one point and day that tell several times of day are
//! one insertion where depth grows with time, and else an insertion for each time.

use std::collections::HashMap;

use jiff::civil::{Date, Time};
use survey::{ConeIndex, Insertion, Measured, Profile};

use crate::interpret::Remark;

/// What makes records one profile: the same point, or the same place where points have no name, on
/// the same day, and the same visit and insertion where the file numbers them.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct ProfileKey {
    pub id: Option<String>,
    pub place: Option<[u64; 2]>,
    pub date: Option<Date>,
    pub visit: Option<String>,
    pub push: Option<String>,
}

/// Profiles that are being put together.
#[derive(Default)]
pub(crate) struct ProfileLines {
    profiles: Vec<Lines>,
    by_key: HashMap<ProfileKey, usize>,
    /// The last profile by the key without its date.
    above: HashMap<ProfileKey, usize>,
    last: Option<usize>,
    /// How many records took their date from the profile above.
    pub undated: usize,
}

struct Lines {
    /// The first record, without the profile.
    first: Insertion,
    lines: Vec<Line>,
    moved: bool,
    /// Whether the file numbers the insertions of a point.
    numbered: bool,
}

#[derive(Clone, Copy)]
struct Line {
    number: usize,
    time: Option<Time>,
    reading: ConeIndex,
}

impl ProfileLines {
    /// Adds a record to its profile. An insertion says all of the record but its reading.
    pub(crate) fn add(&mut self, key: ProfileKey, insertion: Insertion, reading: ConeIndex) {
        let line = Line { number: insertion.number, time: insertion.time, reading };
        let index = match self.index(&key) {
            Some(index) => {
                let profile = &mut self.profiles[index];
                let undated = key.date.is_none() && profile.first.date.is_some();
                self.undated += usize::from(undated);
                profile.moved |= profile.first.place != insertion.place;
                profile.first.moisture_pct = profile.first.moisture_pct.or(insertion.moisture_pct);
                profile.first.note = profile.first.note.take().or(insertion.note);
                profile.lines.push(line);
                index
            }
            None => {
                let index = self.profiles.len();
                self.by_key.insert(key.clone(), index);
                let numbered = key.push.is_some();
                let lines = vec![line];
                self.profiles.push(Lines { first: insertion, lines, moved: false, numbered });
                index
            }
        };
        if self.last.replace(index) != Some(index) {
            self.above.insert(ProfileKey { date: None, ..key }, index);
        }
    }

    /// The profile that a record of this key belongs to.
    fn index(&self, key: &ProfileKey) -> Option<usize> {
        let profiles = if key.date.is_some() { &self.by_key } else { &self.above };
        profiles.get(key).copied()
    }

    /// Whether there is a profile of this key.
    pub(crate) fn has(&self, key: &ProfileKey) -> bool {
        self.index(key).is_some()
    }

    /// Each profile in the order of its first record: the insertion, or why there is none, and
    /// what is odd about it.
    pub(crate) fn close(self) -> impl Iterator<Item = Closed> {
        self.profiles.into_iter().flat_map(parted).map(close)
    }
}

/// A profile put together.
pub(crate) struct Closed {
    pub number: usize,
    pub id: Option<String>,
    pub insertion: Result<Insertion, String>,
    pub remarks: Vec<Remark>,
}

/// A profile's insertions: one for each time of day, unless depth grows with time.
fn parted(profile: Lines) -> Vec<Lines> {
    let mut lines = profile.lines.clone();
    // Stable: records of one time stay in file order.
    lines.sort_by_key(|line| line.time);
    let goes_down = lines.is_sorted_by(|a, b| a.reading.depth.m() < b.reading.depth.m());
    let parts: Vec<&[Line]> = lines.chunk_by(|a, b| a.time == b.time).collect();
    let whole = || parts.iter().all(|part| part.len() > 1 && part[0].time.is_some());
    if profile.numbered || goes_down || !whole() {
        return vec![profile];
    }
    let part = |lines: &&[Line]| Lines {
        first: Insertion { number: lines[0].number, time: lines[0].time, ..profile.first.clone() },
        lines: lines.to_vec(),
        ..profile
    };
    parts.iter().map(part).collect()
}

/// Whether records tell several times of day, and depth does not grow with time.
fn is_mixed(lines: &[Line]) -> bool {
    let mut timed: Vec<&Line> = lines.iter().filter(|line| line.time.is_some()).collect();
    timed.sort_by_key(|line| line.time);
    let several = timed.first().map(|line| line.time) != timed.last().map(|line| line.time);
    several && !timed.is_sorted_by(|a, b| a.reading.depth.m() < b.reading.depth.m())
}

fn close(profile: Lines) -> Closed {
    let Lines { first, mut lines, moved, numbered } = profile;
    let (number, id) = (first.number, first.id.clone());
    let mut remarks = Vec::new();
    if !numbered && is_mixed(&lines) {
        let problem = "the records of its profile tell several times of day, and depth does not \
                       grow with them; two insertions need a column `insertion` that numbers them";
        return Closed { number, id, insertion: Err(problem.into()), remarks };
    }
    if moved {
        let problem = "the records of its profile give different places";
        remarks.push(Remark::fault(problem, "the place of the first is used"));
    }
    // Stable: of two readings at one depth the first in the file stays first.
    lines.sort_by(|a, b| a.reading.depth.m().total_cmp(&b.reading.depth.m()));
    let mut kept: Vec<Line> = Vec::with_capacity(lines.len());
    let mut twice: Option<(Line, Line, usize)> = None;
    for line in lines {
        match kept.last() {
            Some(last) if (last.reading.depth.m() - line.reading.depth.m()).abs() < 1e-9 => {
                let (a, b, count) = twice.unwrap_or((*last, line, 0));
                twice = Some((a, b, count + 1));
            }
            _ => kept.push(line),
        }
    }
    if let Some((a, b, count)) = twice {
        remarks.push(Remark::fault(
            format!(
                "{count} depths of its profile are read more than once, the first at {:.1} cm in \
                 records {} and {}; two insertions need a column `insertion` that numbers them",
                a.reading.depth.cm(),
                a.number,
                b.number
            ),
            "the first reading of each depth is used",
        ));
    }
    let readings = kept.into_iter().map(|line| line.reading).collect();
    let insertion = Profile::new(readings)
        .map(|profile| Insertion { measured: Measured::Profile(profile), ..first });
    Closed { number, id, insertion, remarks }
}
