//! Profiles as text for the terminal: cone index by depth, and what lies at or above each threshold.

use survey::units::tidy;
use survey::{
    Combined, Depth, DepthSummary, Pressure, Profile, Reading, SharesAbove, Threshold, TightLayers,
    UnitSystem,
};

use crate::profiles::{ProfileRequest, Profiles};

/// About where roots stop (Penn State and Cornell extension publications on penetrometer use): the
/// shares at or above it are always given.
pub const STOPS_ROOTS_PSI: f64 = 300.0;

/// The visit, one table a group, the thresholds of each group, and what must be known of the
/// numbers.
pub fn profiles(field_name: &str, profiles: &Profiles, request: &ProfileRequest) -> String {
    let units = request.units;
    let mut lines = vec![format!("{field_name}: {}", profiles.visit_text(units))];
    let members = profiles.groups(request);
    for (group, (name, members)) in profiles.drawn_groups(request).iter().zip(&members) {
        lines.push(format!("\n{name} ({})", members.len()));
        lines.extend(by_depth(&group.summary, units));
        if group.count_falls() {
            lines.push(
                "some rods stopped above the greatest depth, most often in hard ground: below the \
                 first stop the quartiles are those of the softer spots, too low"
                    .into(),
            );
        }
        for threshold in &request.thresholds {
            lines.extend(of_threshold(members, threshold, request));
        }
        let stops_roots = Threshold::plain(Pressure::from_psi(STOPS_ROOTS_PSI));
        let is_it = |given: &Threshold| given.pressure().is_same_threshold(stops_roots.pressure());
        if !request.thresholds.iter().any(is_it) {
            lines.push(shares_text(members, &stops_roots));
        }
    }
    let notes = profiles.notes(request);
    if !notes.is_empty() {
        lines.push(String::new());
    }
    lines.extend(notes);
    lines.join("\n")
}

/// The shares of points and probes at or above a threshold: one line for a page.
pub fn shares_text(profiles: &[&Profile], threshold: &Threshold) -> String {
    let shares = SharesAbove::of(profiles.iter().copied(), threshold.pressure());
    let percent = |share: Option<f64>| match share {
        Some(share) => format!("{:.1} %", 100.0 * share),
        None => "no share".into(),
    };
    format!(
        "{threshold} or more at {} of {} measuring points, in {} of {} probes",
        percent(shares.of_points()),
        shares.points,
        percent(shares.of_probes()),
        shares.probes,
    )
}

fn by_depth(summary: &[DepthSummary], units: UnitSystem) -> Vec<String> {
    let psi = units.pressure_unit();
    let head = format!(
        "  {:>10}{:>10}{:>21}{:>13}{:>21}",
        format!("depth, {}", units.depth_unit()),
        "profiles",
        format!("lower quartile, {psi}"),
        format!("median, {psi}"),
        format!("upper quartile, {psi}"),
    );
    let row = |row: &DepthSummary| {
        let pressure = |pressure| format!("{:.0}", units.pressure(pressure));
        format!(
            "  {:>10}{:>10}{:>21}{:>13}{:>21}",
            tidy(units.depth(row.depth), 1),
            row.count,
            pressure(row.lower_quartile),
            pressure(row.median),
            pressure(row.upper_quartile),
        )
    };
    [head].into_iter().chain(summary.iter().map(row)).collect()
}

fn of_threshold(
    profiles: &[&Profile],
    threshold: &Threshold,
    request: &ProfileRequest,
) -> Vec<String> {
    let units = request.units;
    let mut lines = vec![shares_text(profiles, threshold)];
    let found = TightLayers::of(profiles, threshold.pressure(), request.sustained);
    let Some(tight) = found else {
        return lines;
    };
    let loose = tight.loose;
    lines.push(format!(
        "  loose layer: median {}{}; not reached by {} of {} probes",
        reading_text(loose.reading, units),
        spread_text(loose, units),
        loose.not_reached,
        loose.count,
    ));
    if let Some(layers) = tight.layers {
        let bottom = match layers.bottom.reading {
            Reading::Reached(depth) => format!("bottom {}", units.depth_text(depth)),
            Reading::NotReached { .. } => "bottom not measured (dig or probe on)".into(),
        };
        lines.push(format!(
            "  tight layer in {} of {} probes, still tight where {} of them ended; their medians: \
             top {}, {bottom}, thickness {}",
            layers.top.count,
            loose.count,
            layers.bottom.not_reached,
            reading_text(layers.top.reading, units),
            reading_text(layers.thickness.reading, units),
        ));
    }
    lines
}

fn reading_text(reading: Reading, units: UnitSystem) -> String {
    match reading {
        Reading::Reached(depth) => units.depth_text(depth),
        Reading::NotReached { probed_to } => format!("more than {}", units.depth_text(probed_to)),
    }
}

fn spread_text(combined: Combined, units: UnitSystem) -> String {
    let text = |depth: Option<Depth>| match depth {
        Some(depth) => units.depth_text(depth),
        None => "not reached".into(),
    };
    format!(" (quartiles {} and {})", text(combined.lower_quartile), text(combined.upper_quartile))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profiles::tests::{request, survey};

    #[test]
    fn the_table_says_depths_shares_and_layers_with_their_units() {
        let survey = survey();
        let found = Profiles::of(&survey, &request()).unwrap();
        let text = profiles("Home", &found, &request());
        for line in [
            "Home: visit of 2025-06-14; 3 profiles 8 in to 18 in deep; soil moisture not recorded",
            "all profiles (3)",
            "   depth, in  profiles  lower quartile, psi  median, psi  upper quartile, psi",
            "           1         3                  100          100                  100",
            "           8         3                  100          300                  300",
            "          18         1                  100          100                  100",
            "200 psi or more at 33.3 % of 9 measuring points, in 66.7 % of 3 probes",
            "  loose layer: median 7 in (quartiles 2 in and not reached); not reached by 1 of 3 probes",
            "  tight layer in 2 of 3 probes, still tight where 1 of them ended; their medians: top 4.5 in, \
             bottom 10 in, thickness 8 in",
            "1 reading without a profile: not counted here",
        ] {
            assert!(text.lines().any(|found| found == line), "{line}\n--\n{text}");
        }
        assert!(text.contains("softer spots"));
    }

    #[test]
    fn what_is_not_reached_is_no_depth() {
        let survey = survey();
        let mut request = request();
        request.thresholds = vec!["400psi".parse().unwrap()];
        let found = Profiles::of(&survey, &request).unwrap();
        let text = profiles("Home", &found, &request);
        let line = "  loose layer: median more than 18 in (quartiles not reached and not reached); \
                    not reached by 3 of 3 probes";
        assert!(text.contains(line), "{text}");
        assert!(!text.contains("tight layer in"));
    }
}
