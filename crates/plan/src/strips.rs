//! The planned ground in pieces: zones without their check strips, then the strips.
//!
//! The proof of a treatment is the difference of differences: what changed in the treated ground beside a
//! strip, less what changed in the strip, read on the same days at matched moisture. "Before" in dry soil
//! and "after" in wet soil proves nothing.

use geo::MultiPolygon;
use survey::UnitSystem;
use survey::units::tidy;

use crate::cut::{Pieces, cut};
use crate::error::PlanError;
use crate::passes::{MOST_RUNS, Runs};
use crate::plan::CheckStrips;
use crate::rates_file::RatesFile;
use crate::words::listed;
use crate::zone_map::{MappedZone, ZoneMap};

/// A piece of one zone.
pub(crate) struct Piece {
    /// Index of the zone in the map.
    pub zone: usize,
    /// Number of the check strip, from 1.
    pub strip: Option<usize>,
    pub polygons: MultiPolygon,
    pub ground_area_m2: f64,
}

/// The ground in pieces, with what should be known of the strips.
pub(crate) struct Divided {
    pub pieces: Vec<Piece>,
    pub warnings: Vec<String>,
    pub workings: Vec<String>,
}

/// How the machine passes over the field.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Passes {
    pub swath_m: Option<f64>,
    pub heading_deg: Option<f64>,
}

/// The zones as they are.
pub(crate) fn undivided(map: &ZoneMap) -> Divided {
    let whole = |(zone, mapped): (usize, &MappedZone)| Piece {
        zone,
        strip: None,
        polygons: mapped.polygons.clone(),
        ground_area_m2: mapped.ground_area_m2,
    };
    let pieces = map.zones.iter().enumerate().map(whole).collect();
    Divided { pieces, warnings: Vec::new(), workings: Vec::new() }
}

/// The zones with strips cut out; `treated` says of each whether anything is done there.
pub(crate) fn divided(
    map: &ZoneMap,
    treated: &[bool],
    passes: Passes,
    strips: CheckStrips,
    rates: &RatesFile,
    units: UnitSystem,
) -> Result<Divided, PlanError> {
    let need =
        |what, option, key| PlanError::StripsNeed { file: rates.file.clone(), what, option, key };
    let swath_m = passes.swath_m.ok_or(need("the width of a pass", "--swath", "swath"))?;
    let heading_deg =
        passes.heading_deg.ok_or(need("the heading of the passes", "--heading", "heading"))?;
    let all: Vec<&MultiPolygon> = map.zones.iter().map(|zone| &zone.polygons).collect();
    let is_treated = |(zone, _): &(usize, &&MultiPolygon)| treated[*zone];
    let to_treat: Vec<&MultiPolygon> =
        all.iter().enumerate().filter(is_treated).map(|(_, polygons)| *polygons).collect();
    let width_m = swath_m * strips.passes as f64;
    let runs = Runs::over(&all, heading_deg, width_m).ok_or_else(|| PlanError::TooManyPasses {
        width: units.distance_text(width_m),
        most: MOST_RUNS,
    })?;
    let areas = runs.areas_m2(&to_treat);
    let drawn = runs.draw(&areas, strips).map_err(|found| PlanError::TooManyStrips {
        asked: strips.count,
        found,
        width: units.distance_text(width_m),
        most: (found / 2).min(strips.count - 1),
    })?;
    let bands: Vec<(f64, f64)> =
        drawn.iter().map(|&run| (runs.edge_m(run), runs.edge_m(run + 1))).collect();
    let mut cut_zones = Vec::new();
    for (zone, found) in map.zones.iter().zip(cut(&all, runs.frame, &bands)) {
        cut_zones.push(found.map_err(|problem| PlanError::Cut { zone: zone.id.clone(), problem })?);
    }
    let share = drawn.iter().map(|&run| areas[run]).sum::<f64>() / areas.iter().sum::<f64>();
    let pieces = pieces(map, cut_zones, strips.count);
    let mut warnings = not_proved(map, treated, &runs, &drawn);
    let has_rest = |zone: usize| pieces.iter().any(|p| p.zone == zone && p.strip.is_none());
    let lost = map.zones.iter().enumerate().filter(|(zone, _)| treated[*zone] && !has_rest(*zone));
    let lost: Vec<&str> = lost.map(|(_, zone)| zone.id.as_str()).collect();
    if !lost.is_empty() {
        warnings.push(format!("check strips cover all of {}: left untreated", listed(&lost)));
    }
    Ok(Divided {
        pieces,
        warnings,
        workings: workings(&runs, &drawn, heading_deg, strips, share, units),
    })
}

/// Zones without their strips first, then strip by strip. The ground of a zone is shared out as its
/// pieces lie on the globe, so that they add up to it.
fn pieces(map: &ZoneMap, cut_zones: Vec<Pieces>, strips: usize) -> Vec<Piece> {
    let mut by_strip: Vec<Vec<Piece>> = (0..=strips).map(|_| Vec::new()).collect();
    for (zone, (mapped, found)) in map.zones.iter().zip(cut_zones).enumerate() {
        let all: Vec<MultiPolygon> = [found.rest].into_iter().chain(found.in_strips).collect();
        let ground: Vec<f64> =
            all.iter().map(|polygons| map.utm.ground_area_m2(polygons)).collect();
        let factor = mapped.ground_area_m2 / ground.iter().sum::<f64>();
        for (strip, (polygons, ground_m2)) in all.into_iter().zip(ground).enumerate() {
            if !polygons.0.is_empty() {
                by_strip[strip].push(Piece {
                    zone,
                    strip: (strip > 0).then_some(strip),
                    polygons,
                    ground_area_m2: ground_m2 * factor,
                });
            }
        }
    }
    by_strip.into_iter().flatten().collect()
}

/// Treated zones that no strip crosses, and those that lie in strips as a whole.
fn not_proved(map: &ZoneMap, treated: &[bool], runs: &Runs, drawn: &[usize]) -> Vec<String> {
    let mut none = Vec::new();
    for (zone, _) in map.zones.iter().zip(treated).filter(|(_, treated)| **treated) {
        let areas = runs.areas_m2(&[&zone.polygons]);
        if drawn.iter().all(|&run| areas[run] < 1.0) {
            none.push(zone.id.clone());
        }
    }
    match none.is_empty() {
        true => Vec::new(),
        false => vec![format!(
            "no check strip crosses {}: there the treatment will not be proved; more strips or another seed \
             may reach them",
            listed(&none)
        )],
    }
}

fn workings(
    runs: &Runs,
    drawn: &[usize],
    heading_deg: f64,
    strips: CheckStrips,
    share: f64,
    units: UnitSystem,
) -> Vec<String> {
    let numbers: Vec<String> = drawn.iter().map(|run| (run + 1).to_string()).collect();
    let width = match strips.passes {
        1 => format!("passes of {}", units.distance_text(runs.width_m)),
        passes => format!("runs of {passes} passes, {} wide", units.distance_text(runs.width_m)),
    };
    vec![
        format!(
            "check strips: number {} of {} {width}, counted from the left edge of the planned ground looking \
             along heading {}°; one drawn in each of {} blocks of equal treated ground (seed {}, SplitMix64 of \
             Steele, Lea and Flood 2014); {} % of the ground to be treated stays untreated in them",
            numbers.join(", "),
            runs.count,
            tidy(heading_deg, 2),
            strips.count,
            strips.seed,
            tidy(100.0 * share, 1),
        ),
        "check strips prove the treatment by the difference of differences: the change beside a strip less \
         the change in it, both read on the same days at matched moisture"
            .into(),
    ]
}
