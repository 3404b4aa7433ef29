//! The profiles of a survey that a command is about: which ones, in which groups, and what must be
//! said of them.

use std::collections::BTreeSet;
use std::fmt::Display;

use report::ProfileGroup;
use survey::units::tidy;
use survey::{DateRange, Depth, Insertion, Measured, Profile, Survey, Threshold, UnitSystem};

/// What is asked of the profiles.
#[derive(Debug, Clone)]
pub struct ProfileRequest {
    /// Thresholds, in the order they were typed. The first is that of the drawn tight layer.
    pub thresholds: Vec<Threshold>,
    /// For how long the threshold must be kept to count; zero takes the first crossing.
    pub sustained: Depth,
    /// Units of what is printed, drawn and written.
    pub units: UnitSystem,
    /// Whether each [`Insertion::group`] has its own table and line.
    pub by_group: bool,
    /// Days of the visit; `None` takes every day and says so where there are several.
    pub dates: Option<DateRange>,
}

/// One insertion with a profile.
#[derive(Debug, Clone, Copy)]
pub struct Probe<'a> {
    /// The insertion.
    pub insertion: &'a Insertion,
    /// What it measured.
    pub profile: &'a Profile,
}

/// The profiles asked for, in file order, and what was not taken.
#[derive(Debug)]
pub struct Profiles<'a> {
    /// The insertions with a profile.
    pub probes: Vec<Probe<'a>>,
    /// Insertions with a single depth or without a reading.
    pub without_profile: usize,
    /// Profiles of other days, or without a day where days were asked for.
    pub of_other_days: usize,
}

impl<'a> Profiles<'a> {
    /// The profiles of a survey.
    ///
    /// # Errors
    /// When there is none, or none of the days asked for.
    pub fn of(survey: &'a Survey, request: &ProfileRequest) -> Result<Self, String> {
        let all: Vec<Probe> = survey.insertions.iter().filter_map(probe).collect();
        let is_asked = |probe: &Probe| {
            let asked = |dates: DateRange| probe.insertion.date.is_some_and(|d| dates.contains(d));
            request.dates.is_none_or(asked)
        };
        let with_profile = all.len();
        let probes: Vec<Probe> = all.into_iter().filter(is_asked).collect();
        if let (true, Some(dates)) = (probes.is_empty() && with_profile > 0, request.dates) {
            return Err(format!("none of the {with_profile} profiles is of {dates}"));
        }
        if probes.is_empty() {
            return Err(format!(
                "no profile among its {}: a profile has depths and a cone index at each",
                count_text(survey.insertions.len(), "reading")
            ));
        }
        Ok(Profiles {
            of_other_days: with_profile - probes.len(),
            without_profile: survey.insertions.len() - with_profile,
            probes,
        })
    }

    /// The profiles, in file order.
    pub fn all(&self) -> Vec<&'a Profile> {
        self.probes.iter().map(|probe| probe.profile).collect()
    }

    /// The groups by name, those without one last; or all profiles as one group.
    pub fn groups(&self, request: &ProfileRequest) -> Vec<(String, Vec<&'a Profile>)> {
        if !request.by_group {
            return vec![("all profiles".into(), self.all())];
        }
        let mut names: Vec<Option<&str>> = self.probes.iter().map(Probe::group).collect();
        names.sort_by_key(|name| (name.is_none(), *name));
        names.dedup();
        let members = |name: Option<&str>| {
            let of_group = self.probes.iter().filter(|probe| probe.group() == name);
            of_group.map(|probe| probe.profile).collect()
        };
        names
            .into_iter()
            .map(|name| (name.unwrap_or("no group").to_owned(), members(name)))
            .collect()
    }

    /// The groups as they are drawn.
    pub fn drawn_groups(&self, request: &ProfileRequest) -> Vec<ProfileGroup> {
        let first = request.thresholds.first();
        self.groups(request)
            .into_iter()
            .map(|(name, profiles)| {
                ProfileGroup::of(name, &profiles, request.units, first, request.sustained)
            })
            .collect()
    }

    /// The visit in one line: days, how many profiles to which depth, moisture.
    pub fn visit_text(&self, units: UnitSystem) -> String {
        let days: BTreeSet<_> = self.probes.iter().filter_map(|p| p.insertion.date).collect();
        let days = match (days.first(), days.last()) {
            (Some(first), Some(last)) if first == last => format!("visit of {first}"),
            (Some(first), Some(last)) => format!("{} days from {first} to {last}", days.len()),
            _ => "no date recorded".into(),
        };
        let depths = self.probes.iter().map(|p| p.profile.probed_to().m());
        let (least, most) = ends(depths);
        let depths = match units.depth_text(Depth::from_m(least)) {
            least if least == units.depth_text(Depth::from_m(most)) => format!("{least} deep"),
            least => format!("{least} to {} deep", units.depth_text(Depth::from_m(most))),
        };
        let moisture: Vec<f64> =
            self.probes.iter().filter_map(|p| p.insertion.moisture_pct).collect();
        let moisture = match moisture.len() {
            0 => "soil moisture not recorded".into(),
            count => {
                let (low, high) = ends(moisture.iter().copied());
                let mean = moisture.iter().sum::<f64>() / count as f64;
                format!("soil moisture {mean:.1} % on average ({low:.1} % to {high:.1} %)")
            }
        };
        let count = count_text(self.probes.len(), "profile");
        format!("{days}; {count} {depths}; {moisture}")
    }

    /// What a reader must know before using the numbers.
    pub fn notes(&self, request: &ProfileRequest) -> Vec<String> {
        let mut notes = Vec::new();
        let mut say = |is_so: bool, words: String| {
            if is_so {
                notes.push(words);
            }
        };
        say(
            self.without_profile > 0,
            format!(
                "{} without a profile: not counted here",
                count_text(self.without_profile, "reading")
            ),
        );
        say(
            self.of_other_days > 0,
            format!(
                "{} of other days: not counted here",
                count_text(self.of_other_days, "profile")
            ),
        );
        let insertions = || self.probes.iter().map(|probe| probe.insertion);
        let days = distinct(insertions().filter_map(|i| i.date));
        say(
            days.len() > 1,
            format!(
                "{} days are mixed: a difference in soil moisture looks like a difference in \
                 compaction",
                days.len()
            ),
        );
        let cones = distinct(
            insertions()
                .filter_map(|i| i.cone)
                .map(|cone| format!("{} mm", tidy(cone.m() * 1e3, 2))),
        );
        say(
            cones.len() > 1,
            format!("cones of {} are mixed: they read differently", cones.join(" and ")),
        );
        let instruments = distinct(insertions().filter_map(|i| i.instrument.clone()));
        say(instruments.len() > 1, format!("instruments {} are mixed", instruments.join(", ")));
        say(
            request.sustained.m() > 0.0,
            format!(
                "a threshold counts where it is kept for {} or to the deepest reading",
                request.units.depth_text(request.sustained)
            ),
        );
        for threshold in &request.thresholds {
            let is_tight = |p: &&Probe| p.profile.readings()[0].pressure >= threshold.pressure();
            let count = self.probes.iter().filter(is_tight).count();
            say(
                count > 0,
                format!(
                    "{} at {threshold} or more from the first reading on: its depth is taken, the \
                     true one may be less",
                    count_text(count, "profile")
                ),
            );
        }
        notes
    }
}

impl Probe<'_> {
    fn group(&self) -> Option<&str> {
        self.insertion.group.as_deref()
    }
}

fn probe(insertion: &Insertion) -> Option<Probe<'_>> {
    match &insertion.measured {
        Measured::Profile(profile) => Some(Probe { insertion, profile }),
        Measured::Once(_) => None,
    }
}

/// So many of a thing: `1 profile`, `68 profiles`.
fn count_text(count: usize, thing: &str) -> String {
    match count {
        1 => format!("1 {thing}"),
        _ => format!("{count} {thing}s"),
    }
}

fn ends(numbers: impl Iterator<Item = f64>) -> (f64, f64) {
    numbers.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), number| {
        (low.min(number), high.max(number))
    })
}

/// Each value once, sorted, in words.
fn distinct<T: Ord + Display>(values: impl Iterator<Item = T>) -> Vec<String> {
    let values: BTreeSet<T> = values.collect();
    values.iter().map(ToString::to_string).collect()
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use survey::{ConeIndex, LonLat, Outcome, Pressure};

    pub(crate) fn profile(readings: &[(f64, f64)]) -> Profile {
        let reading = |&(inches, psi): &(f64, f64)| ConeIndex {
            depth: Depth::from_in(inches),
            pressure: Pressure::from_psi(psi),
        };
        Profile::new(readings.iter().map(reading).collect()).unwrap()
    }

    pub(crate) fn request() -> ProfileRequest {
        ProfileRequest {
            thresholds: ["200psi", "300psi"].map(|t| t.parse().unwrap()).into(),
            sustained: Depth::from_m(0.0),
            units: UnitSystem::Us,
            by_group: false,
            dates: None,
        }
    }

    /// Three profiles and a stone: a layer from 2 to 10 in, one that stops the rod, loose ground.
    pub(crate) fn survey() -> Survey {
        let place = LonLat { lon_deg: -95.62, lat_deg: 41.93 };
        let measured = [
            Measured::Profile(profile(&[(1.0, 100.0), (3.0, 300.0), (9.0, 300.0), (11.0, 100.0)])),
            Measured::Profile(profile(&[(1.0, 100.0), (6.0, 100.0), (8.0, 300.0)])),
            Measured::Once(Outcome::Refused),
            Measured::Profile(profile(&[(1.0, 100.0), (18.0, 100.0)])),
        ];
        let groups = [Some("ripped"), None, None, Some("check")];
        let insertion = |(k, measured): (usize, Measured)| Insertion {
            id: Some(format!("P{}", k + 1)),
            date: Some("2025-06-14".parse().unwrap()),
            group: groups[k].map(str::to_owned),
            ..Insertion::at(k + 1, place, measured)
        };
        Survey {
            features: 4,
            insertions: measured.into_iter().enumerate().map(insertion).collect(),
            ..Survey::default()
        }
    }

    #[test]
    fn groups_are_sorted_and_none_is_lost() {
        let survey = survey();
        let request = ProfileRequest { by_group: true, ..request() };
        let profiles = Profiles::of(&survey, &request).unwrap();
        let groups: Vec<(String, usize)> = profiles
            .groups(&request)
            .into_iter()
            .map(|(name, members)| (name, members.len()))
            .collect();
        let expected = [("check", 1), ("ripped", 1), ("no group", 1)];
        assert_eq!(groups, expected.map(|(name, count)| (name.to_owned(), count)));
    }

    #[test]
    fn what_is_not_counted_or_mixed_is_said() {
        let mut survey = survey();
        survey.insertions[0].date = Some("2025-08-26".parse().unwrap());
        survey.insertions[0].cone = Some(Depth::from_cm(2.027));
        survey.insertions[1].cone = Some(Depth::from_cm(1.283));
        let profiles = Profiles::of(&survey, &request()).unwrap();
        let notes = profiles.notes(&request()).join("\n");
        assert!(notes.contains("1 reading without a profile: not counted here"), "{notes}");
        assert!(notes.contains("2 days are mixed"), "{notes}");
        assert!(notes.contains("cones of 12.83 mm and 20.27 mm are mixed"), "{notes}");
        let visit = profiles.visit_text(UnitSystem::Us);
        assert!(visit.contains("3 profiles 8 in to 18 in deep"), "{visit}");
        let request = ProfileRequest { dates: Some("2025-06-14".parse().unwrap()), ..request() };
        let profiles = Profiles::of(&survey, &request).unwrap();
        assert_eq!((profiles.probes.len(), profiles.of_other_days), (2, 1));
    }

    #[test]
    fn no_profile_at_all_is_an_error() {
        let mut survey = survey();
        let request = ProfileRequest { dates: Some("2025-01-01".parse().unwrap()), ..request() };
        let error = Profiles::of(&survey, &request).unwrap_err();
        assert_eq!(error, "none of the 3 profiles is of 2025-01-01");
        survey.insertions.drain(..2);
        survey.insertions.pop();
        let error = Profiles::of(&survey, &request).unwrap_err();
        assert!(error.starts_with("no profile among its 1 reading:"), "{error}");
    }
}
