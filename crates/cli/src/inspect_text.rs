//! What is in a file, as text for the terminal.

use std::path::Path;

use formats::{Inspected, InspectedLayer, InspectedZone};
use survey::UnitSystem;

/// Zones of a layer that are listed; the others are counted.
const MOST_ZONES: usize = 40;

/// What was found in a file.
pub fn inspected(path: &Path, found: &Inspected, units: UnitSystem) -> String {
    let mut lines = vec![format!("{}: {}", path.display(), found.format)];
    lines.extend(found.field.iter().map(|field| format!("field: {field}")));
    lines.extend(found.extent_deg.map(extent));
    for layer in &found.layers {
        lines.push(String::new());
        lines.extend(layer_lines(layer, units));
    }
    if !found.notes.is_empty() {
        lines.extend(["".into(), "to know:".into()]);
        lines.extend(found.notes.iter().map(|note| format!("- {note}")));
    }
    lines.join("\n")
}

fn extent([west, south, east, north]: [f64; 4]) -> String {
    format!(
        "extent: longitude {west:.6} to {east:.6}, latitude {south:.6} to {north:.6} degrees (WGS 84)"
    )
}

fn layer_lines(layer: &InspectedLayer, units: UnitSystem) -> Vec<String> {
    let InspectedLayer { name, quantities, zones, defaults } = layer;
    let area_m2: f64 = zones.iter().filter_map(|zone| zone.area_m2).sum();
    let area = match zones.iter().any(|zone| zone.area_m2.is_some()) {
        true => format!(", {} in all", area_text(area_m2, units)),
        false => String::new(),
    };
    let mut lines = vec![match zones.len() {
        // A raster, or a layer of which a note says that it is empty.
        0 => format!("layer {name}"),
        1 => format!("layer {name}: 1 record{area}"),
        count => format!("layer {name}: {count} records{area}"),
    }];
    if !quantities.is_empty() {
        lines.push(format!("  values: {}", quantities.join("; ")));
    }
    lines.extend(table(&zones[..zones.len().min(MOST_ZONES)], units));
    if zones.len() > MOST_ZONES {
        lines.push(format!("  and {} more", zones.len() - MOST_ZONES));
    }
    lines.extend(defaults.iter().map(|default| format!("  {default}")));
    lines
}

/// One line a zone: its name, its area, its values one under another.
fn table(zones: &[InspectedZone], units: UnitSystem) -> Vec<String> {
    let rows: Vec<Vec<String>> = zones
        .iter()
        .map(|zone| {
            let area = zone.area_m2.map_or(String::new(), |area_m2| area_text(area_m2, units));
            let holes = match zone.holes {
                0 => String::new(),
                1 => "1 hole".into(),
                holes => format!("{holes} holes"),
            };
            [zone.name.clone(), area, holes]
                .into_iter()
                .chain(zone.values.iter().cloned())
                .collect()
        })
        .collect();
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max()
    };
    let widths: Vec<usize> = (0..columns).map(|column| width(column).unwrap_or(0)).collect();
    rows.iter().map(|row| line(row, &widths)).collect()
}

/// Names to the left, all else to the right; empty columns take no room.
fn line(row: &[String], widths: &[usize]) -> String {
    let cells = row.iter().zip(widths).enumerate().filter(|(_, (_, width))| **width > 0);
    let cells = cells.map(|(column, (cell, &width))| match column {
        0 => format!("  {cell:<width$}"),
        _ => format!("  {cell:>width$}"),
    });
    cells.collect::<String>().trim_end().to_owned()
}

fn area_text(area_m2: f64, units: UnitSystem) -> String {
    format!("{:.2} {}", units.area(area_m2), units.area_unit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zones_stand_under_each_other_with_their_units() {
        let zone = |name: &str, area_m2: f64, holes, values: &[&str]| InspectedZone {
            name: name.into(),
            area_m2: Some(area_m2),
            holes,
            values: values.iter().map(|value| (*value).to_owned()).collect(),
        };
        let found = Inspected {
            format: "GeoPackage".into(),
            field: Some("North Bench".into()),
            extent_deg: Some([-95.0, 41.0, -94.5, 41.25]),
            layers: vec![InspectedLayer {
                name: "zones".into(),
                quantities: vec!["loosen in cm".into()],
                zones: vec![
                    zone("Z1", 40_468.564_224, 1, &["35.56 cm"]),
                    zone("Z2 check", 4e3, 0, &["0 cm"]),
                ],
                defaults: vec!["outside the field: tool at the surface".into()],
            }],
            notes: vec!["no overviews".into()],
        };
        let expected = "\
plan.gpkg: GeoPackage
field: North Bench
extent: longitude -95.000000 to -94.500000, latitude 41.000000 to 41.250000 degrees (WGS 84)

layer zones: 2 records, 10.99 ac in all
  values: loosen in cm
  Z1        10.00 ac  1 hole  35.56 cm
  Z2 check   0.99 ac              0 cm
  outside the field: tool at the surface

to know:
- no overviews";
        assert_eq!(inspected(Path::new("plan.gpkg"), &found, UnitSystem::Us), expected);
    }
}
