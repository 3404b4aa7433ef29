//! A trial as text for the terminal: stamps, the answer, then what it rests on.

use season::{Trial, TrialStrip};
use survey::units::tidy;
use survey::{Depth, UnitSystem};

use crate::words::listed;

/// The trial, block by block.
pub fn trial(field_name: &str, visits: [&str; 2], trial: &Trial, units: UnitSystem) -> String {
    let stamps = trial.stamps().into_iter().map(|stamp| format!("*** {stamp} ***"));
    let [earlier, later] = visits;
    let mut blocks: Vec<String> = stamps.collect();
    blocks.push(format!("{}\n{}", trial.sentence(units), trial.figures(units)));
    blocks.extend(listed("what would settle it", &trial.settle(units)));
    blocks.push(
        [format!("{field_name}: {earlier} before, {later} after"), strips(trial, units)].join("\n"),
    );
    blocks.push(basis(trial, units).join("\n"));
    blocks.join("\n\n")
}

/// One line a strip.
fn strips(trial: &Trial, units: UnitSystem) -> String {
    let unit = match units {
        UnitSystem::Us => "inches",
        UnitSystem::Si => "centimetres",
    };
    let has_blocks = trial.strips.iter().any(|strip| strip.block.is_some());
    let width = trial.strips.iter().map(|strip| strip.name.chars().count()).max();
    let width = width.unwrap_or(0).max("strip".len());
    let block_width =
        trial.strips.iter().filter_map(|strip| Some(strip.block.as_ref()?.chars().count()));
    let block_width = block_width.max().unwrap_or(0).max("block".len());
    let in_block = |block: &str| match has_blocks {
        true => format!("  {block:<block_width$}"),
        false => String::new(),
    };
    let head = format!(
        "  {:<width$}  treatment{}  probes  effective  before  after  change  sd",
        "strip",
        in_block("block")
    );
    let line = |strip: &TrialStrip| {
        let depth = |cm: f64| tidy(units.depth(Depth::from_cm(cm)), 1).replace('-', "−");
        let effective = strip.effective_probes.map_or("-".into(), |count| tidy(count, 1));
        let marked = |cm: f64, not_reached: usize| match not_reached {
            0 => depth(cm),
            _ => format!("≥{}", depth(cm)),
        };
        let [earlier, later] = strip.not_reached;
        format!(
            "  {:<width$}  {:<9}{}  {:>6}  {effective:>9}  {:>6}  {:>5}  {:>6}  {}",
            strip.name,
            strip.treatment.name(),
            in_block(strip.block.as_deref().unwrap_or_default()),
            strip.probes,
            marked(strip.earlier_cm, earlier),
            marked(strip.later_cm, later),
            depth(strip.change_cm),
            strip.change_sd_cm.map_or("-".into(), depth),
        )
    };
    let lines: Vec<String> = trial.strips.iter().map(line).collect();
    format!(
        "{head}\n{}\n  depths and changes in {unit}; change is after minus before",
        lines.join("\n")
    )
}

/// What the answer rests on, as far as a page has room; moistures stand in its head.
pub fn page_notes(trial: &Trial, units: UnitSystem) -> Vec<String> {
    let notes = [
        trial.state_before(units),
        trial.test_text(),
        trial.randomisation_text(),
        trial.censoring_text(units),
    ];
    notes.into_iter().flatten().chain(trial.spatial_text(units)).collect()
}

/// What the answer rests on.
fn basis(trial: &Trial, units: UnitSystem) -> Vec<String> {
    let mut lines: Vec<String> = trial.state_before(units).into_iter().collect();
    lines.extend(trial.test_text());
    lines.extend(trial.randomisation_text());
    lines.extend(trial.censoring_text(units));
    lines.extend(trial.spatial_text(units));
    lines.extend(trial.moisture.texts());
    if trial.outside > 0 {
        lines.push(format!(
            "{} probes of both visits stand in no strip and play no part.",
            trial.outside
        ));
    }
    lines
}
