//! Every colour of the page.
//!
//! Depth runs from cream (shallow) to navy (deep): the map "lapaz", reversed, of Crameri (2018,
//! Scientific colour maps, MIT licence), seven steps. It darkens evenly, so it survives grey print,
//! and its steps stay apart for colour-blind readers. It is no traffic light: shallow is not "bad".

use std::fmt;

use mapping::DepthClasses;
use survey::Depth;

/// A colour, sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

/// As CSS and SVG write it: `#fdedea`.
impl fmt::Display for Rgb {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }
}

/// Text and the field's outline.
pub(crate) const INK: Rgb = Rgb(0x1b, 0x24, 0x30);
/// Text of second rank, axes.
pub(crate) const SOFT_INK: Rgb = Rgb(0x55, 0x60, 0x6d);
/// What is there but empty: a class without ground.
pub(crate) const DIM: Rgb = Rgb(0x8b, 0x94, 0x9e);
/// Hairlines and frames.
pub(crate) const HAIRLINE: Rgb = Rgb(0xc4, 0xca, 0xd1);
/// Lines behind everything: graticule, chart grid.
pub(crate) const FAINT: Rgb = Rgb(0xdf, 0xe3, 0xe7);
/// Ground around the field.
pub(crate) const SURROUNDINGS: Rgb = Rgb(0xf3, 0xf4, 0xf6);
/// Hatching of ground without a value.
pub(crate) const HATCH: Rgb = Rgb(0xa9, 0xb0, 0xb8);
/// Ground whose change is within its uncertainty, and its thin lines.
pub(crate) const WITHIN_GROUND: Rgb = Rgb(0xfc, 0xfc, 0xfb);
pub(crate) const WITHIN_LINE: Rgb = Rgb(0x9a, 0xa2, 0xab);
/// A full mark: dark beside paper and bright on dark ground, in grey print too.
pub(crate) const FULL: Rgb = Rgb(0xe0, 0x7b, 0x00);
/// The paper.
pub(crate) const PAPER: Rgb = Rgb(0xff, 0xff, 0xff);

/// Colours from low to high values, linear in sRGB between neighbouring steps.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ramp<'a>(&'a [Rgb]);

/// Depth, cream to navy.
const DEPTH: Ramp = Ramp(&[
    Rgb(0xfd, 0xed, 0xea),
    Rgb(0xd7, 0xbe, 0xa6),
    Rgb(0x95, 0xa3, 0x98),
    Rgb(0x60, 0x8e, 0xa3),
    Rgb(0x3a, 0x6e, 0x9f),
    Rgb(0x29, 0x47, 0x8c),
    Rgb(0x1e, 0x1c, 0x6e),
]);

/// Probability, pale to dark purple: the map "acton", reversed, of the same author. Between any two of
/// the six steps lie at least 10.5 units of CAM02-UCS, also for colour-blind readers (Machado et al.
/// 2009, severity 100), and at least 11.8 of L* in grey print.
pub(crate) const PROBABILITY: Ramp = Ramp(&[
    Rgb(0xf0, 0xea, 0xfa),
    Rgb(0xe2, 0xb2, 0xcf),
    Rgb(0xca, 0x71, 0x99),
    Rgb(0x85, 0x64, 0x8e),
    Rgb(0x4f, 0x47, 0x75),
    Rgb(0x26, 0x0d, 0x40),
]);

/// Standard error, pale grey to dark brown: the map "bilbao", reversed, of the same author, from 3 % of
/// its length on. At least 10.7 and 10.6 units, as above.
pub(crate) const STANDARD_ERROR: Ramp = Ramp(&[
    Rgb(0xf1, 0xf1, 0xf0),
    Rgb(0xc2, 0xbc, 0xa3),
    Rgb(0xad, 0x91, 0x62),
    Rgb(0xa3, 0x6d, 0x5a),
    Rgb(0x8c, 0x3c, 0x43),
    Rgb(0x4c, 0x00, 0x01),
]);

/// Change, thinner to deeper: the map "vik" of the same author, seven steps, brown end first. Deeper
/// is blue as deep ground is on the map of depth, so thinner is brown. Between any two steps lie at
/// least 19.4 units of CAM02-UCS, as above; in grey print both ends are alike, so the sign is printed.
pub(crate) const CHANGE: Ramp = Ramp(&[
    Rgb(0x73, 0x14, 0x06),
    Rgb(0xb8, 0x5c, 0x28),
    Rgb(0xd7, 0xa0, 0x81),
    Rgb(0xeb, 0xe6, 0xe2),
    Rgb(0x80, 0xb2, 0xca),
    Rgb(0x13, 0x66, 0x97),
    Rgb(0x02, 0x2a, 0x70),
]);

/// How much is done on ground: the browns of the standard error. They stand on a sheet of their own, away from errors.
pub(crate) const DOSE: Ramp = STANDARD_ERROR;

impl Ramp<'_> {
    /// The colour of a class out of so many, 0 the lowest.
    pub fn class_colour(self, class: usize, classes: usize) -> Rgb {
        self.blend(class as f64 / (classes.max(2) - 1) as f64)
    }

    /// The colour at a share of the way, 0 the lowest and 1 the highest.
    fn blend(self, share: f64) -> Rgb {
        let Ramp(steps) = self;
        let place = share.clamp(0.0, 1.0) * (steps.len() - 1) as f64;
        let below = (place as usize).min(steps.len() - 2);
        let part = place - below as f64;
        let (a, b) = (steps[below], steps[below + 1]);
        let mix =
            |a: u8, b: u8| (f64::from(a) + part * (f64::from(b) - f64::from(a))).round() as u8;
        Rgb(mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
    }
}

/// The colour of a depth class out of so many, 0 the shallowest.
pub fn class_colour(class: usize, classes: usize) -> Rgb {
    DEPTH.class_colour(class, classes)
}

/// The colour of a depth. A class begins in its own colour and ends in the next one's; the deepest
/// class, which has no end, has one colour.
pub(crate) fn depth_colour(depth: Depth, classes: &DepthClasses) -> Rgb {
    let class = classes.class_of_cm(depth.cm());
    let part = classes.below(class).map_or(0.0, |below| {
        let from_m = classes.from(class).m();
        (depth.m() - from_m) / (below.m() - from_m)
    });
    DEPTH.blend((class as f64 + part) / (classes.len() - 1) as f64)
}

/// Relative luminance, 0 black to 1 white (WCAG 2.1, definition of relative luminance).
pub(crate) fn luminance(colour: Rgb) -> f64 {
    let linear = |channel: u8| match f64::from(channel) / 255.0 {
        c if c <= 0.04045 => c / 12.92,
        c => ((c + 0.055) / 1.055).powf(2.4),
    };
    0.2126 * linear(colour.0) + 0.7152 * linear(colour.1) + 0.0722 * linear(colour.2)
}

/// Ink for text on a ground, and the halo that sets it off.
pub(crate) fn ink_on(ground: Rgb) -> (Rgb, Rgb) {
    // White and ink contrast equally with a ground of about this luminance.
    match luminance(ground) < 0.24 {
        true => (PAPER, ground),
        false => (INK, ground),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::UnitSystem;

    #[test]
    fn deeper_classes_print_darker_in_grey() {
        for classes in 2..=mapping::MOST_CLASSES {
            let grey: Vec<f64> =
                (0..classes).map(|class| luminance(class_colour(class, classes))).collect();
            assert!(grey.windows(2).all(|pair| pair[0] > pair[1] + 0.005), "{grey:?}");
        }
    }

    #[test]
    fn seven_classes_have_the_seven_steps() {
        let colours: Vec<Rgb> = (0..7).map(|class| class_colour(class, 7)).collect();
        assert_eq!(colours, DEPTH.0);
        assert_eq!(colours[0].to_string(), "#fdedea");
    }

    #[test]
    fn classes_of_any_number_differ() {
        for classes in 2..=mapping::MOST_CLASSES {
            let mut colours: Vec<String> =
                (0..classes).map(|class| class_colour(class, classes).to_string()).collect();
            colours.dedup();
            assert_eq!(colours.len(), classes);
        }
    }

    #[test]
    fn every_ramp_darkens_and_bears_text() {
        for ramp in [DEPTH, PROBABILITY, STANDARD_ERROR] {
            for classes in 2..=6 {
                let colours: Vec<Rgb> =
                    (0..classes).map(|class| ramp.class_colour(class, classes)).collect();
                let darkens = |pair: &[Rgb]| luminance(pair[0]) > luminance(pair[1]) + 0.005;
                assert!(colours.windows(2).all(darkens), "{colours:?}");
                assert!(colours.iter().all(|&colour| contrast(colour, ink_on(colour).0) >= 3.4));
            }
        }
    }

    #[test]
    fn change_is_palest_in_the_middle_and_darkens_to_both_ends() {
        let grey: Vec<f64> = (0..7).map(|class| luminance(CHANGE.class_colour(class, 7))).collect();
        assert!(grey[..4].windows(2).all(|pair| pair[0] < pair[1] - 0.02), "{grey:?}");
        assert!(grey[3..].windows(2).all(|pair| pair[0] > pair[1] + 0.02), "{grey:?}");
        // The same way round as depth: deeper is blue.
        let Rgb(red, _, blue) = CHANGE.class_colour(6, 7);
        assert!(blue > red);
    }

    #[test]
    fn a_full_mark_stands_out_from_paper_and_from_probable_ground() {
        assert!(contrast(FULL, PAPER) > 2.5);
        assert!((4..6).all(|class| contrast(FULL, PROBABILITY.class_colour(class, 6)) > 2.5));
    }

    fn contrast(a: Rgb, b: Rgb) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn maps_of_different_things_do_not_share_colours() {
        let distance = |a: Rgb, b: Rgb| {
            let apart = |a: u8, b: u8| f64::from(a.abs_diff(b));
            apart(a.0, b.0).max(apart(a.1, b.1)).max(apart(a.2, b.2))
        };
        let middle = |ramp: Ramp| ramp.class_colour(2, 6);
        for (one, other) in
            [(DEPTH, PROBABILITY), (DEPTH, STANDARD_ERROR), (PROBABILITY, STANDARD_ERROR)]
        {
            assert!(distance(middle(one), middle(other)) > 40.0);
        }
    }

    #[test]
    fn a_depth_on_a_limit_has_the_colour_of_the_class_it_begins() {
        let classes = DepthClasses::rod_marks(UnitSystem::Us);
        for class in 0..classes.len() {
            let colour = depth_colour(classes.from(class), &classes);
            assert_eq!(colour, class_colour(class, classes.len()));
        }
        assert_eq!(depth_colour(Depth::from_in(40.0), &classes), DEPTH.0[6]);
    }

    #[test]
    fn text_stands_out_from_every_class() {
        for class in 0..8 {
            let ground = class_colour(class, 8);
            let contrast = contrast(ground, ink_on(ground).0);
            assert!(contrast >= 3.4, "class {class}: {contrast}");
        }
    }
}
