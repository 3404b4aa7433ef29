//! What is said of a trial in the end, and why nothing can be said where that is so.

use crate::trial::TrialSettings;
use crate::trial_censoring::TrialCensoring;
use crate::trial_contrast::Contrast;
use crate::trial_moisture::{SidesMoisture, TrialMoisture};
use crate::trial_randomisation::{Randomisation, is_shown};

/// What a trial shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The interval lies wholly above 0: treated ground gained depth of loose layer against check ground.
    Worked,
    /// The interval includes 0 and lies within what matters on both sides.
    NoChangeShown,
    /// The interval lies wholly below 0.
    Worse,
    /// None of these: see [`Doubt`].
    CannotTell,
}

impl Verdict {
    /// In words: `worked`, `no change shown`, `worse`, `cannot tell`.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Worked => "worked",
            Verdict::NoChangeShown => "no change shown",
            Verdict::Worse => "worse",
            Verdict::CannotTell => "cannot tell",
        }
    }
}

/// Why a trial cannot tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// A side has one strip: its ground and its treatment cannot be told apart.
    OneStrip,
    /// Strips treated alike changed alike to the last digit, which soil does not.
    NoSpread,
    /// At a visit one ground was moister than the other, or it dried more between them, which explains a
    /// difference as well.
    Moisture,
    /// The moisture of treated or check ground is not known at a visit.
    MoistureMissing,
    /// The interval includes 0 and differences that matter.
    WideInterval,
    /// Strips were drawn by lot, and the lot alone makes so great a difference too often.
    Lot,
    /// Readings that did not reach the threshold can turn the answer.
    NotReached,
}

impl Doubt {
    /// A name for files: `one_strip`, `no_spread`, `moisture`, `moisture_missing`, `wide_interval`,
    /// `lot`, `not_reached`.
    pub fn name(self) -> &'static str {
        match self {
            Doubt::OneStrip => "one_strip",
            Doubt::NoSpread => "no_spread",
            Doubt::Moisture => "moisture",
            Doubt::MoistureMissing => "moisture_missing",
            Doubt::WideInterval => "wide_interval",
            Doubt::Lot => "lot",
            Doubt::NotReached => "not_reached",
        }
    }
}

/// What an interval says by itself.
pub(crate) fn of_interval(found: &Contrast, matters_cm: f64) -> Verdict {
    match found.spread.map(|spread| spread.interval) {
        Some([low, _]) if low > 0.0 => Verdict::Worked,
        Some([_, high]) if high < 0.0 => Verdict::Worse,
        Some([low, high]) if low >= -matters_cm && high <= matters_cm => Verdict::NoChangeShown,
        _ => Verdict::CannotTell,
    }
}

/// What is said, and the gravest doubt where nothing can be.
pub(crate) fn verdict(
    found: &Contrast,
    settings: &TrialSettings,
    moisture: &TrialMoisture,
    censoring: &TrialCensoring,
    lot: Option<&Randomisation>,
) -> (Verdict, Option<Doubt>) {
    let said = of_interval(found, settings.matters_cm);
    let is_by_lot = lot.is_some_and(|lot| !is_shown(lot.p, settings.confidence));
    let doubt = match () {
        () if found.spread.is_none() && found.strips.contains(&1) => Doubt::OneStrip,
        () if found.spread.is_none() => Doubt::NoSpread,
        () if moisture.of_sides() == SidesMoisture::Differs => Doubt::Moisture,
        () if moisture.of_sides() == SidesMoisture::Unknown => Doubt::MoistureMissing,
        () if said == Verdict::CannotTell => Doubt::WideInterval,
        () if is_by_lot && said != Verdict::NoChangeShown => Doubt::Lot,
        () if !censoring.holds => Doubt::NotReached,
        () => return (said, None),
    };
    (Verdict::CannotTell, Some(doubt))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial_contrast::Spread;
    use crate::trial_moisture::tests::moist;

    fn contrast(interval: Option<[f64; 2]>, strips: [usize; 2]) -> Contrast {
        let spread = interval.map(|interval| Spread {
            strip_sd: 1.0,
            standard_error: 1.0,
            degrees_of_freedom: 4.0,
            t: 0.0,
            p: 1.0,
            interval,
        });
        Contrast { strips, blocks: None, means: [0.0; 2], difference: 0.0, spread }
    }

    fn bounds(holds: bool) -> TrialCensoring {
        TrialCensoring { treated: [0, 0], check: [0, 0], to_zero_cm: None, holds }
    }

    fn settings() -> TrialSettings {
        TrialSettings {
            confidence: 0.95,
            matters_cm: 4.0,
            is_randomised: true,
            seed: 1,
            moisture_within_pct: 3.0,
        }
    }

    #[test]
    fn an_interval_says_one_of_four_things() {
        let of = |low, high| of_interval(&contrast(Some([low, high]), [3, 3]), 4.0);
        assert_eq!(of(0.1, 9.0), Verdict::Worked);
        assert_eq!(of(0.1, 0.2), Verdict::Worked);
        assert_eq!(of(-9.0, -0.1), Verdict::Worse);
        assert_eq!(of(-4.0, 4.0), Verdict::NoChangeShown);
        assert_eq!(of(0.0, 4.0), Verdict::NoChangeShown);
        assert_eq!(of(-4.1, 1.0), Verdict::CannotTell);
        assert_eq!(of(-1.0, 4.1), Verdict::CannotTell);
        assert_eq!(of_interval(&contrast(None, [1, 3]), 4.0), Verdict::CannotTell);
    }

    const EQUAL: [f64; 2] = [20.0, 20.0];

    #[test]
    fn the_gravest_doubt_is_told() {
        let of = |interval, strips, moisture, holds| {
            verdict(&contrast(interval, strips), &settings(), &moisture, &bounds(holds), None)
        };
        let clear = Some([1.0, 9.0]);
        let fine = (Verdict::Worked, None);
        assert_eq!(of(clear, [3, 3], moist(EQUAL, [20.0, 22.0]), true), fine);
        let cannot = |doubt| (Verdict::CannotTell, Some(doubt));
        assert_eq!(of(None, [1, 3], moist(EQUAL, [20.0, 30.0]), true), cannot(Doubt::OneStrip));
        assert_eq!(of(None, [2, 3], moist(EQUAL, [20.0, 30.0]), true), cannot(Doubt::NoSpread));
        assert_eq!(of(clear, [3, 3], moist(EQUAL, [20.0, 24.0]), false), cannot(Doubt::Moisture));
        assert_eq!(of(clear, [3, 3], moist([31.0, 25.0], EQUAL), true), cannot(Doubt::Moisture));
        assert_eq!(of(clear, [3, 3], moist(EQUAL, [20.0, 22.0]), false), cannot(Doubt::NotReached));
        let wide = Some([-9.0, 9.0]);
        assert_eq!(of(wide, [3, 3], moist(EQUAL, [20.0, 22.0]), true), cannot(Doubt::WideInterval));
        let missing = cannot(Doubt::MoistureMissing);
        assert_eq!(of(clear, [3, 3], moist([f64::NAN; 2], EQUAL), true), missing);
        assert_eq!(of(clear, [3, 3], moist(EQUAL, [f64::NAN, 20.0]), true), missing);
        assert_eq!(of(wide, [3, 3], moist(EQUAL, [f64::NAN, 20.0]), true), missing);
    }

    /// Of two and two strips the lot makes the greatest difference in 2 of 6 ways, whatever their interval says.
    #[test]
    fn what_the_lot_alone_makes_is_no_effect() {
        let of = |interval, p| {
            let lot = Randomisation { ways: 6.0, drawn: None, p, smallest_p: p };
            let found = contrast(Some(interval), [2, 2]);
            verdict(&found, &settings(), &moist(EQUAL, EQUAL), &bounds(true), Some(&lot))
        };
        let by_lot = (Verdict::CannotTell, Some(Doubt::Lot));
        assert_eq!(of([1.0, 9.0], 1.0 / 3.0), by_lot);
        assert_eq!(of([-9.0, -1.0], 0.051), by_lot);
        assert_eq!(of([1.0, 9.0], 0.05), (Verdict::Worked, None));
        assert_eq!(of([-1.0, 1.0], 1.0 / 3.0), (Verdict::NoChangeShown, None));
    }
}
