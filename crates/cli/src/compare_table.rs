//! A comparison of two visits as text for the terminal: the moisture first, then the ground, then the
//! spots, each figure with its unit and each test with what it asks.

use season::number_words::p_text;
use season::{
    ADJUSTMENT_CAUTION, AdjustedChange, ChangeBasis, EffectiveMean, Groups, MoistureFit,
    MoistureMatch, change_text,
};
use survey::units::{signed, tidy};
use survey::{Depth, Moisture, Reading, UnitSystem};

use crate::commands::compare::Compared;
use crate::words;

/// All of it.
pub fn text(compared: &Compared) -> String {
    let table = Table { compared, units: compared.visits[1].map.classes.units() };
    let mut lines = vec![compared.found.moisture.sentence(), table.head()];
    lines.extend(table.change());
    lines.extend(table.transitions());
    lines.extend(table.pairs());
    lines.extend(table.agreement());
    lines.extend(compared.adjusted.map(|adjusted| table.adjusted(adjusted)));
    lines.join("\n")
}

/// What the spots say and what the uncertainty rests on, as sentences for a page, the most important first;
/// the terminal and the summary tell the tests.
pub fn sentences(compared: &Compared) -> Vec<String> {
    let table = Table { compared, units: compared.visits[1].map.classes.units() };
    let adjusted = compared.adjusted.map(|adjusted| table.adjusted(adjusted));
    let spots = match compared.found.paired.counts.all() {
        0 => table.pairs(),
        _ => vec![table.mean_change().unwrap_or_default(), table.near_spots(), table.signs()],
    };
    let basis = compared.found.change.uncertainty_says();
    page_sentences(spots, basis, adjusted)
}

/// The sentences of lines; the adjusted change comes last, lest it push out what was found.
fn page_sentences(spots: Vec<String>, basis: String, adjusted: Option<String>) -> Vec<String> {
    let all = spots.into_iter().chain([basis]).chain(adjusted).collect::<Vec<_>>().join("\n");
    all.lines().filter(|line| !line.trim().is_empty()).map(sentence).collect()
}

/// A line as a sentence: a capital and a full stop.
fn sentence(line: &str) -> String {
    let words: Vec<&str> = line.split_whitespace().collect();
    format!("{}.", plan::capitalised(words.join(" ").trim_end_matches('.')))
}

struct Table<'a> {
    compared: &'a Compared<'a>,
    units: UnitSystem,
}

impl Table<'_> {
    fn head(&self) -> String {
        let [earlier, later] = &self.compared.found.names;
        format!(
            "{}: {later} beside {earlier}; a change is later minus earlier, below 0 the loose layer became \
             thinner",
            self.compared.field_name
        )
    }

    /// What stands beside every figure.
    fn at_moisture(&self) -> String {
        at_moisture(&self.compared.found.moisture)
    }

    fn cm(&self, change_cm: f64) -> String {
        change_text(change_cm, self.units, 2)
    }

    /// `−6.5 to −4.6 in`.
    fn interval(&self, cm: [f64; 2]) -> String {
        format!("{} to {}", self.cm(cm[0]), self.cm(cm[1]))
    }

    fn confidence(&self) -> String {
        format!("{} %", tidy(100.0 * self.compared.found.settings.confidence, 1))
    }

    fn area(&self, area_m2: f64) -> String {
        format!("{:.2} {}", self.units.area(area_m2), self.units.area_unit())
    }

    /// The change of the map.
    fn change(&self) -> Vec<String> {
        let change = &self.compared.found.change;
        let map = &self.compared.visits[1].map;
        let ground = |name: &str, area_m2: f64| {
            let share = words::percent(map.share(area_m2));
            format!("  {name:<34}{:>12}{share:>8}", self.area(area_m2))
        };
        let mut lines = vec![
            format!(
                "change of the map{}: {} on average over the ground that both maps have",
                self.at_moisture(),
                self.cm(change.mean_cm)
            ),
            ground("thinner beyond its uncertainty", change.thinner_m2),
            ground("deeper beyond its uncertainty", change.deeper_m2),
            ground("within its uncertainty", change.within_m2),
        ];
        if change.unmapped_m2 >= 0.5 {
            lines.push(ground("not mapped at both visits", change.unmapped_m2));
        }
        lines.push(format!("  {}", change.uncertainty_says()));
        if let ChangeBasis::KrigedPairs { widened, .. } = change.basis
            && widened > 1.0
        {
            lines.push(format!(
                "  Spots left out were farther off than that says, so it was widened {} times.",
                tidy(widened, 2)
            ));
        }
        if change.basis != ChangeBasis::Unknown {
            lines.push(format!(
                "  Its interval of {} holds for one cell at a time: where nothing changed, {} of the cells \
                 stand out by chance.",
                self.confidence(),
                words::percent(1.0 - change.confidence)
            ));
        }
        lines
    }

    /// Ground by class, rows earlier.
    fn transitions(&self) -> Vec<String> {
        let found = &self.compared.found.transitions;
        let classes = &self.compared.visits[1].map.classes;
        let names: Vec<String> = (0..classes.len()).map(|class| classes.name(class)).collect();
        let number = |area_m2: f64| match area_m2 > 0.0 {
            true => format!("{:.2}", self.units.area(area_m2)),
            false => "–".into(),
        };
        let row = |name: &str, cells: Vec<String>| {
            let cells: String = cells.iter().map(|cell| format!("{cell:>11}")).collect();
            format!("  {name:<12}{cells}")
        };
        let mut lines = vec![
            format!(
                "ground by class in {}{}: from the class in the row, {}, to that in the column, {}",
                self.units.area_unit(),
                self.at_moisture(),
                self.compared.found.names[0],
                self.compared.found.names[1],
            ),
            row("", names.iter().cloned().chain(["all".into()]).collect()),
        ];
        for (class, areas_m2) in found.areas_m2.iter().enumerate() {
            let all_m2 = found.earlier_m2(class);
            let cells = areas_m2.iter().copied().chain([all_m2]).map(number).collect();
            lines.push(row(&names[class], cells));
        }
        let columns = (0..found.classes()).map(|class| found.later_m2(class));
        lines.push(row("all", columns.chain([found.mapped_m2()]).map(number).collect()));
        let share = |area_m2| words::percent(found.share(area_m2));
        lines.push(format!(
            "  {} went to a shallower class, {} to a deeper one, {} stayed",
            share(found.shallower_m2()),
            share(found.deeper_m2()),
            share(found.same_m2()),
        ));
        lines
    }

    /// The spots that both visits have.
    fn pairs(&self) -> Vec<String> {
        let (pairs, paired) = (&self.compared.found.pairs, &self.compared.found.paired);
        let counts = paired.counts;
        if counts.all() == 0 {
            return vec![format!(
                "no spot was probed on both visits: no name in common within {}, no place within {}; so nothing \
                 is tested, and the change of the map is all there is",
                self.units.distance_text(pairs.within.named_m),
                self.units.distance_text(pairs.within.placed_m),
            )];
        }
        let mut lines = vec![format!(
            "{} spots probed on both visits{}, {} of them known by name: {} changes are exact, {} are at most, {} \
             at least so much, {} unknown, since readings were not reached",
            counts.all(),
            self.at_moisture(),
            pairs.by_name(),
            counts.exact,
            counts.at_most,
            counts.at_least,
            counts.unknown,
        )];
        lines.extend(self.mean());
        lines.extend(self.ranks_and_signs());
        lines.extend(self.median());
        lines.extend(paired.groups.as_ref().map(|groups| self.groups(groups)));
        lines.extend(paired.correlation.as_ref().map(|test| {
            format!(
                "  both visits' depths go together by r = {} ({}; modified t test, as {} independent spots): \
                 whether deep spots stayed the deeper ones",
                signed(test.correlation, 2),
                p_text(test.p),
                tidy(test.effective_size, 1),
            )
        }));
        lines
    }

    fn mean(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.mean_change().into_iter().collect();
        let Some(t) = &self.compared.found.paired.t else {
            lines.push("  all spots changed alike or not at all: there is nothing to test".into());
            return lines;
        };
        lines.push(format!(
            "  paired t test: t = {}, {} degrees of freedom, {}; {} interval {}: whether the mean change is \
             none, as if spots were independent",
            signed(t.t, 2),
            tidy(t.degrees_of_freedom, 0),
            p_text(t.p),
            self.confidence(),
            self.interval(t.interval),
        ));
        lines.push(self.near_spots());
        lines
    }

    /// The mean of the changes, and which way it is a bound.
    fn mean_change(&self) -> Option<String> {
        let paired = &self.compared.found.paired;
        let counts = paired.counts;
        let bound = match (counts.at_most, counts.at_least + counts.unknown) {
            (0, 0) => "",
            (_, 0) => {
                "; \"not reached\" counts as the depth probed, so the true fall is at least as great"
            }
            (0, _) if counts.unknown == 0 => {
                "; \"not reached\" counts as the depth probed, so the true rise is at least as great"
            }
            _ => "; \"not reached\" counts as the depth probed",
        };
        paired.mean_cm.map(|mean_cm| format!("  mean change {}{bound}", self.cm(mean_cm)))
    }

    /// The interval of the mean where near spots tell partly the same.
    fn near_spots(&self) -> String {
        match self.compared.found.paired.effective {
            EffectiveMean::Of { size, interval_cm } => format!(
                "  near spots tell partly the same: as {} independent spots, {} interval {}",
                tidy(size, 1),
                self.confidence(),
                self.interval(interval_cm),
            ),
            EffectiveMean::TooFew { size } => format!(
                "  the mean has no interval: near spots tell so much the same that all of them count for {} \
                 independent ones",
                tidy(size, 1),
            ),
            EffectiveMean::Unknown => {
                "  the interval of the mean is as if spots were independent; how far near spots tell the same is \
                 not known, for which 50 spots and a variogram that tells more than two apart are needed: the \
                 true interval may be wider"
                    .into()
            }
        }
    }

    fn ranks_and_signs(&self) -> Vec<String> {
        let paired = &self.compared.found.paired;
        let mut lines: Vec<String> = Vec::new();
        if let (Some(test), Some(middle)) = (&paired.signed_rank, &paired.pseudomedian) {
            lines.push(format!(
                "  signed-rank test (Wilcoxon, spots without change ranked and left out after Pratt): {}; \
                 pseudomedian {}, {} interval {}: whether falls and rises are equally great",
                p_text(test.p_exact.unwrap_or(test.p)),
                self.cm(middle.estimate),
                format_args!("{} %", tidy(100.0 * middle.confidence, 1)),
                self.interval(middle.interval),
            ));
        }
        lines.push(self.signs());
        lines
    }

    /// The spots whose direction is certain.
    fn signs(&self) -> String {
        let signs = self.compared.found.paired.signs;
        let p = match signs.up + signs.down {
            0 => String::new(),
            _ => format!(
                " ({}, sign test: whether falls and rises are equally many)",
                p_text(signs.p)
            ),
        };
        format!(
            "  certainly thinner at {} spots, deeper at {}, equal at {}{p}",
            signs.down, signs.up, signs.zero
        )
    }

    fn median(&self) -> Option<String> {
        let (least, most) = match self.compared.found.paired.median_cm {
            [None, None] => return None,
            [least, most] => (least.map(|cm| self.cm(cm)), most.map(|cm| self.cm(cm))),
        };
        Some(match (least, most) {
            (Some(least), Some(most)) if least == most => format!("  median change {least}"),
            (Some(least), Some(most)) => {
                format!("  median change from {least} to {most}, as far as the readings tell")
            }
            (Some(least), None) => format!("  median change {least} or more"),
            (None, most) => format!("  median change {} or less", most.unwrap_or_default()),
        })
    }

    fn groups(&self, groups: &Groups) -> String {
        let median = |reading: Reading| match reading {
            Reading::Reached(depth) => self.units.depth_text(depth),
            Reading::NotReached { probed_to } => {
                format!("more than {}", self.units.depth_text(probed_to))
            }
        };
        let test = groups.log_rank.as_ref().map_or(String::new(), |test| {
            format!(
                " ({}, log-rank test: whether both visits have one distribution; it does not know that the \
                 spots are the same)",
                p_text(test.p)
            )
        });
        format!(
            "  as two groups, \"not reached\" as it is: median depth {} earlier, {} later (Kaplan–Meier){test}",
            median(groups.earlier_median),
            median(groups.later_median),
        )
    }

    /// How far classes agree.
    fn agreement(&self) -> Vec<String> {
        let found = &self.compared.found.agreement;
        let mut lines = Vec::new();
        if let Some(ground) = found.ground {
            lines.push(format!(
                "class maps{}: kappa {} (1 the same, 0 as by chance); {} differ since classes have another size, \
                 {} since they lie elsewhere; a description, not a test, for cells are not evidence",
                self.at_moisture(),
                tidy(ground.kappa, 2),
                words::percent(ground.quantity),
                words::percent(ground.allocation),
            ));
        }
        if let (Some(spots), Some(error)) = (found.spots, found.spots_error) {
            lines.push(format!(
                "classes at the paired spots: kappa {}, standard error {}",
                tidy(spots.kappa, 2),
                tidy(error.standard_error, 2),
            ));
        }
        lines
    }

    /// The change without what the season gives to moisture.
    fn adjusted(&self, (fit, change): (&MoistureFit, &AdjustedChange)) -> String {
        let per_point = |cm: f64| {
            format!("{} {}", tidy(self.units.depth(Depth::from_cm(cm)), 3), self.units.depth_unit())
        };
        let [least, most] = fit.moisture_range_pct();
        format!(
            "adjusted for moisture, as asked{}: {} of {} left, {} interval {}\n  \
             from {} visits at {} spots with mean moistures of {least:.1} to {most:.1} %: {} of depth for each \
             percentage point (standard error {}, R² {}), so {} for {} points\n  \
             {} of {} readings were not reached and count as the depth probed\n  {ADJUSTMENT_CAUTION}",
            self.at_moisture(),
            self.cm(change.adjusted_cm),
            self.cm(change.change_cm),
            self.confidence(),
            self.interval(change.interval_cm),
            fit.visits.len(),
            fit.spots,
            per_point(fit.slope_cm_per_pct),
            per_point(fit.standard_error),
            fit.r_squared.map_or("unknown".into(), |share| tidy(share, 2)),
            self.cm(change.by_moisture_cm),
            signed(change.moisture_change_pct, 1),
            fit.not_reached,
            fit.readings,
        )
    }
}

/// ` (moisture 33.7 % earlier, 18.9 % later)`.
fn at_moisture(moisture: &MoistureMatch) -> String {
    let text = |moisture: Option<Moisture>| {
        moisture.map_or("unknown".into(), |moisture| format!("{:.1} %", moisture.mean_pct))
    };
    let [earlier, later] = moisture.moistures().map(text);
    format!(" (moisture {earlier} earlier, {later} later)")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_ends_with_the_adjustment_each_line_a_sentence() {
        let adjusted = "adjusted for moisture: −0.2 in\n  from 12 visits\n  It is no evidence.";
        let found = page_sentences(
            vec!["  mean change −5.5 in".into(), String::new()],
            "Uncertainty is one figure.".into(),
            Some(adjusted.into()),
        );
        let expected = [
            "Mean change −5.5 in.",
            "Uncertainty is one figure.",
            "Adjusted for moisture: −0.2 in.",
            "From 12 visits.",
            "It is no evidence.",
        ];
        assert_eq!(found, expected);
    }
}
