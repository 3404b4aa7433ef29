//! A trial in sentences: for the terminal, files and pages alike.

use survey::units::tidy;
use survey::{Depth, UnitSystem};

use crate::trial::Trial;
use crate::trial_contrast::Contrast;
use crate::trial_moisture::SidesMoisture;
use crate::trial_power::POWER;
use crate::trial_randomisation::{is_shown, least_to_draw};
use crate::trial_verdict::{Doubt, Verdict};

impl Trial {
    /// What stands above everything else: one sentence for each moisture that does not match.
    pub fn stamps(&self) -> Vec<String> {
        self.moisture.stamps()
    }

    /// The answer in one plain sentence, short enough for the head of a page.
    pub fn sentence(&self, units: UnitSystem) -> String {
        let by = |cm: f64| length(cm.abs(), units);
        let difference = self.change.difference;
        match self.verdict {
            Verdict::Worked => {
                format!("Worked: treated strips gained {} against check strips.", by(difference))
            }
            Verdict::Worse => {
                format!("Worse: treated strips lost {} against check strips.", by(difference))
            }
            Verdict::NoChangeShown => format!(
                "No change shown: treated and check strips changed alike to within {}.",
                by(self.settings.matters_cm)
            ),
            Verdict::CannotTell => format!("Cannot tell: {}.", self.why(units)),
        }
    }

    fn why(&self, units: UnitSystem) -> String {
        let matters = length(self.settings.matters_cm, units);
        match self.doubt {
            Some(Doubt::OneStrip) => {
                let strips = strips_text(&self.change);
                format!("with {strips} ground and treatment look the same")
            }
            Some(Doubt::NoSpread) => "strips treated alike changed alike to the last digit".into(),
            Some(Doubt::Moisture) => "treated and check ground were not equally moist".into(),
            Some(Doubt::MoistureMissing) => {
                "whether treated and check ground were equally moist is not known".into()
            }
            Some(Doubt::Lot) => "the lot alone makes so great a difference too often".into(),
            Some(Doubt::NotReached) => {
                format!("{matters} more where the threshold was not reached would turn the answer")
            }
            Some(Doubt::WideInterval) | None => {
                format!("both 0 and more than the {matters} that matters are within chance")
            }
        }
    }

    /// The difference behind the answer, with its interval where there is one.
    pub fn figures(&self, units: UnitSystem) -> String {
        let beside_matters = match self.verdict {
            Verdict::Worked | Verdict::Worse => format!(", {}", self.beside_matters(units)),
            Verdict::NoChangeShown | Verdict::CannotTell => String::new(),
        };
        format!(
            "Treated less check {} ({}){beside_matters}.",
            signed(self.change.difference, units),
            self.basis(units)
        )
    }

    /// `95 % interval +0.8 to +3.8 in, 4 treated and 4 check strips`.
    fn basis(&self, units: UnitSystem) -> String {
        let strips = strips_text(&self.change);
        match self.change.spread {
            Some(spread) => format!(
                "{} interval {}, {strips}",
                percent(self.settings.confidence),
                interval(spread.interval, units)
            ),
            None => strips,
        }
    }

    /// How an interval beside 0 stands to what matters.
    fn beside_matters(&self, units: UnitSystem) -> String {
        let matters_cm = self.settings.matters_cm;
        let matters = length(matters_cm, units);
        let ends = self.change.spread.map(|spread| spread.interval.map(f64::abs));
        let [least, most] = ends.map_or([0.0; 2], |[a, b]| [a.min(b), a.max(b)]);
        match () {
            () if least >= matters_cm => format!("all of it at least the {matters} that matters"),
            () if most < matters_cm => format!("less than the {matters} that matters"),
            () => format!("which may be less or more than the {matters} that matters"),
        }
    }

    /// What would settle the question, one sentence each; empty where nothing is open.
    pub fn settle(&self, units: UnitSystem) -> Vec<String> {
        let mut all: Vec<String> = self.settle_doubt(units).into_iter().collect();
        if self.moisture.of_sides() != SidesMoisture::Matched {
            all.push(
                "Probe treated and check ground at equal moisture, in one go, before and after, and record the \
                 moisture of both."
                    .into(),
            );
        }
        if !self.moisture.visits.is_matched() {
            all.push("Probe before and after at equal moisture, best near field capacity.".into());
        }
        if self.is_apart_before() {
            all.push(
                "Probe both grounds before anything is done, and choose strips whose loose layers are alike then."
                    .into(),
            );
        }
        if !self.settings.is_randomised {
            all.push(
                "Draw by lot which strips are treated: only then does a difference come from the treatment and \
                 not from the choice of ground."
                    .into(),
            );
        }
        all
    }

    fn settle_doubt(&self, units: UnitSystem) -> Option<String> {
        match self.doubt? {
            Doubt::NoSpread => Some(
                "Read depths more finely than to whole marks, at more probes a strip: strips that all change \
                 alike are marks, not soil."
                    .into(),
            ),
            Doubt::OneStrip => Some(match self.enough_to_draw() {
                Some(enough) => format!("Treat and leave several strips, drawn by lot: {enough}."),
                None => "Treat and leave many strips, drawn by lot.".into(),
            }),
            Doubt::WideInterval => Some(self.strips_for_power(units)),
            Doubt::Lot => Some(self.more_to_draw()),
            Doubt::NotReached => {
                Some("Probe with a longer rod, so that every reading reaches the threshold.".into())
            }
            Doubt::Moisture | Doubt::MoistureMissing => None,
        }
    }

    /// The strips that would show what matters, or that this trial had them.
    fn strips_for_power(&self, units: UnitSystem) -> String {
        let matters = length(self.settings.matters_cm, units);
        let (Some(count), Some(spread)) = (self.strips_needed, self.change.spread) else {
            return format!(
                "At the spread seen between strips even 1000 a side would not show {matters}: use longer strips \
                 with more probes each, or blocks of like ground."
            );
        };
        let strips = match self.change.blocks {
            Some(_) => "blocks of one treated and one check strip",
            None => "strips a side",
        };
        let would_show = format!(
            "show {matters} with {} power at the spread seen ({} between strips)",
            percent(POWER),
            length(spread.strip_sd, units)
        );
        let [treated, check] = self.change.strips;
        match treated.min(check) < count {
            true => format!("About {count} {strips} would {would_show}."),
            false => format!(
                "Repeat it with as many strips again: about {count} {strips} {would_show}, this trial had them, \
                 and the difference seen is less than that."
            ),
        }
    }

    /// More strips for a lot that showed nothing.
    fn more_to_draw(&self) -> String {
        let confidence = self.settings.confidence;
        let could_show = self.randomisation.is_some_and(|lot| is_shown(lot.smallest_p, confidence));
        match self.enough_to_draw().filter(|_| !could_show) {
            Some(enough) => format!("Draw by lot among more strips: {enough}."),
            None => "Draw by lot among more strips, about as many again.".into(),
        }
    }

    /// `with 4 strips a side the smallest share a lot can give is 2 of 70 ways, no more than 5 %`.
    fn enough_to_draw(&self) -> Option<String> {
        let confidence = self.settings.confidence;
        let in_pairs = self.change.blocks.is_some();
        let (count, ways) = least_to_draw(confidence, in_pairs)?;
        let strips = match in_pairs {
            true => "blocks of one treated and one check strip",
            false => "strips a side",
        };
        Some(format!(
            "with {count} {strips} the smallest share that a lot can give is 2 of {} ways, no more than {}",
            tidy(ways, 0),
            percent(1.0 - confidence)
        ))
    }

    /// Whether the loose layers differed before: beyond chance or, where chance is not known, by more than what
    /// matters.
    fn is_apart_before(&self) -> bool {
        let before = &self.before;
        match before.spread {
            Some(spread) => spread.interval[0] > 0.0 || spread.interval[1] < 0.0,
            None => before.difference.abs() > self.settings.matters_cm,
        }
    }

    /// How treated and check ground stood before, where that bears on the answer.
    pub fn state_before(&self, units: UnitSystem) -> Option<String> {
        if !self.is_apart_before() {
            return None;
        }
        let before = &self.before;
        let word = if before.difference > 0.0 { "deeper" } else { "thinner" };
        let bounds = [self.censoring.treated[0], self.censoring.check[0]].map(|count| count > 0);
        let mean = |side: usize| {
            format!("{}{}", if bounds[side] { "≥" } else { "" }, length(before.means[side], units))
        };
        let taken = match bounds.contains(&true) {
            true => ", \"not reached\" taken at the depth probed",
            false => "",
        };
        let drawn = match self.settings.is_randomised {
            true => "though strips were drawn by lot, so chance did it",
            false => "so the strips were not alike to begin with (chosen, or treated before)",
        };
        Some(format!(
            "Before, the loose layer of the treated ground was already {} {word} than that of the check ground \
             ({} against {}{taken}), {drawn}: a deeper layer has more to lose in a \
             season, and the difference of the changes carries that too.",
            length(before.difference.abs(), units),
            mean(0),
            mean(1),
        ))
    }

    /// The test behind the interval, where there is one.
    pub fn test_text(&self) -> Option<String> {
        let spread = self.change.spread?;
        let method = match self.change.blocks {
            None => "Welch's t over strips",
            Some(_) => "Least squares with block effects over strips",
        };
        Some(format!(
            "{method}: t = {}, {} degrees of freedom, p {}.",
            minus(spread.t, 2),
            tidy(spread.degrees_of_freedom, 1),
            probability(spread.p)
        ))
    }

    /// What the draw says, where there was one.
    pub fn randomisation_text(&self) -> Option<String> {
        let found = self.randomisation?;
        let ways = tidy(found.ways, 0);
        let least = match found.smallest_p {
            p if p < 0.001 => "below 0.001".into(),
            p => tidy(p, 3),
        };
        let counted = match found.drawn {
            None => format!("all {ways} ways the lot could have fallen"),
            Some(drawn) => format!("{drawn} draws of {ways} ways the lot could have fallen"),
        };
        Some(format!(
            "Randomisation test over {counted}: p {}; with so many strips the smallest possible is {}.",
            probability(found.p),
            least,
        ))
    }

    /// What "not reached" can do, where there was any.
    pub fn censoring_text(&self, units: UnitSystem) -> Option<String> {
        let censoring = &self.censoring;
        let [[treated_before, treated_after], [check_before, check_after]] =
            [censoring.treated, censoring.check];
        if censoring.total() == 0 {
            return None;
        }
        let turned = match censoring.to_zero_cm {
            None => "none of them works against the difference".into(),
            Some(to_zero_cm) => format!(
                "there would be no difference if the loose layer went {} deeper at those that work against it{}",
                length(to_zero_cm, units),
                match self.not_reached_for_it() {
                    0 => "",
                    _ => "; the others can only make the difference greater",
                }
            ),
        };
        Some(format!(
            "Not reached, taken at the depth probed: treated {treated_before} before and {treated_after} after, \
             check {check_before} and {check_after}; {turned}."
        ))
    }

    /// How many readings that did not reach can only widen the difference.
    fn not_reached_for_it(&self) -> usize {
        let [[treated_before, treated_after], [check_before, check_after]] =
            [self.censoring.treated, self.censoring.check];
        match self.change.difference > 0.0 {
            true => treated_after + check_before,
            false => treated_before + check_after,
        }
    }

    /// What the places of the probes say.
    pub fn spatial_text(&self, units: UnitSystem) -> Vec<String> {
        let spatial = &self.spatial;
        let mut lines = Vec::new();
        if let Some(moran) = spatial.morans_i {
            lines.push(format!(
                "Moran's I of what the strips' means leave over: {} ({} on average over their orders within strips, \
                 p {}).",
                minus(moran.value, 2),
                minus(moran.expected, 2),
                probability(moran.p)
            ));
        }
        lines.push(match (&spatial.variogram, spatial.why_none) {
            (Some(model), _) if model.partial_sill > 0.0 => format!(
                "Near probes changed alike up to {}: see the effective probes of each strip.",
                units.distance_text(model.range_m)
            ),
            (Some(_), _) => "Near probes changed no more alike than far ones.".into(),
            (None, why) => format!(
                "Effective probes are not told: {}.",
                why.unwrap_or("there is no variogram")
            ),
        });
        if let Some(over) = spatial.over_probes {
            lines.push(format!(
                "For orientation, over single probes: treated less check {} ({} interval {}, {} and {} effective \
                 probes). That tells one ground from the other, not the treatment from the ground.",
                signed(over.difference_cm, units),
                percent(self.settings.confidence),
                interval(over.interval_cm, units),
                tidy(over.effective_probes[0], 1),
                tidy(over.effective_probes[1], 1),
            ));
        }
        lines
    }
}

/// `4 treated and 4 check strips`, with their blocks.
fn strips_text(contrast: &Contrast) -> String {
    let [treated, check] = contrast.strips;
    let strips = if check == 1 { "strip" } else { "strips" };
    let blocks = contrast.blocks.map_or_else(String::new, |blocks| format!(" in {blocks} blocks"));
    format!("{treated} treated and {check} check {strips}{blocks}")
}

/// A length with its unit: `2.1 in`.
fn length(cm: f64, units: UnitSystem) -> String {
    units.depth_text(Depth::from_cm(cm))
}

/// A difference with its sign and unit: `+2.1 in`, `−0.4 in`, `0 in`.
fn signed(cm: f64, units: UnitSystem) -> String {
    format!("{} {}", plus(cm, units), units.depth_unit())
}

fn plus(cm: f64, units: UnitSystem) -> String {
    survey::units::signed(units.depth(Depth::from_cm(cm)), 1)
}

/// A number as [`tidy`] gives it, with a minus sign instead of a hyphen.
pub(crate) fn minus(number: f64, decimals: usize) -> String {
    tidy(number, decimals).replace('-', "−")
}

/// `+0.8 to +3.8 in`.
fn interval([low, high]: [f64; 2], units: UnitSystem) -> String {
    format!("{} to {}", plus(low, units), signed(high, units))
}

fn percent(share: f64) -> String {
    format!("{} %", tidy(100.0 * share, 1))
}

/// A chance as it stands behind `p`, never told as 0: `= 0.029`, `< 0.001`.
fn probability(p: f64) -> String {
    match p {
        p if p < 0.001 => "< 0.001".into(),
        p => format!("= {}", tidy(p, 3)),
    }
}
