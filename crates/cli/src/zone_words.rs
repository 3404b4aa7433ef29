//! How zones came about, for the terminal.

use mapping::{DepthMap, GOOD_ZONES, MUCH_OF_OTHER_CLASS, ZoneJoin};
use survey::units::tidy;

use crate::words;

/// The rules that made the zones what they are, and what to mind; nothing where none was asked for and
/// there are few zones.
pub fn zoning(map: &DepthMap) -> Vec<String> {
    let mut lines: Vec<String> = width(map).into_iter().collect();
    lines.extend(cells(map));
    lines.extend(other_class(map));
    lines.extend(joins(map));
    lines.extend(too_many(map));
    lines
}

fn width(map: &DepthMap) -> Option<String> {
    let distance = |m| map.classes.units().distance_text(m);
    let width = distance(map.zones_made.narrowest_m?);
    let along = match (map.zones_made.length_m, map.settings.zones.heading_deg) {
        (Some(length_m), Some(heading_deg)) => format!(
            ", and drawn {} long along passes of {}° where there is room",
            distance(length_m),
            tidy(heading_deg, 1)
        ),
        _ => String::new(),
    };
    Some(format!(
        "zones are at least {width} wide{along}; blunt tips and narrows of the field itself are left"
    ))
}

fn cells(map: &DepthMap) -> Option<String> {
    let side_m = map.settings.zones.cells_m.map(|_| map.zones_made.cell_m)?;
    let units = map.classes.units();
    let line = match map.settings.zones.heading_deg {
        Some(heading_deg) => format!("passes of {}°", tidy(heading_deg, 1)),
        None => "north".into(),
    };
    Some(format!(
        "zones are made of squares of {} in line with {line}, each with its mean depth",
        units.distance_text(side_m)
    ))
}

/// How much ground the zones do not tell the class of.
fn other_class(map: &DepthMap) -> Option<String> {
    let area_m2 = map.zones_made.other_class_m2;
    let units = map.classes.units();
    let share = map.share(area_m2);
    let caution = if share > MUCH_OF_OTHER_CLASS { "caution: " } else { "" };
    (area_m2 > 0.0).then(|| {
        format!(
            "{caution}{:.2} {} ({} of the field) lie in a zone of another class, too narrow, small or many for one of their own",
            units.area(area_m2),
            units.area_unit(),
            words::percent(share)
        )
    })
}

/// Joined zones in their order.
fn joins(map: &DepthMap) -> Vec<String> {
    let Some(most) = map.settings.zones.most else { return Vec::new() };
    let joins = &map.zones_made.joins;
    let mut lines = Vec::new();
    if !joins.is_empty() {
        lines.push(format!("joined in this order, for at most {most} zones:"));
        lines.extend(
            joins.iter().enumerate().map(|(k, join)| format!("  {}. {}", k + 1, joined(map, join))),
        );
    }
    if !map.zones_made.is_within_most {
        lines.push(format!(
            "caution: {} zones are left, more than --most-zones {most}: they touch no other they could join",
            map.zones.len()
        ));
    }
    lines
}

fn joined(map: &DepthMap, join: &ZoneJoin) -> String {
    let units = map.classes.units();
    format!(
        "{:.2} {} of {} to {}, now {}",
        units.area(join.area_m2),
        units.area_unit(),
        map.classes.name(join.class),
        map.classes.name(join.into_class),
        join.into_zone
    )
}

fn too_many(map: &DepthMap) -> Option<String> {
    let zones = map.zones.len();
    (zones > GOOD_ZONES && map.settings.zones.most.is_none()).then(|| {
        format!(
            "{zones} zones: more than about {GOOD_ZONES} are hard to work by; --most-zones {GOOD_ZONES} joins \
             the smallest to their neighbours"
        )
    })
}
