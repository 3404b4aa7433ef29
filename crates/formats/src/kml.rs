//! A plan as KML 2.2: OGC 07-147r2. Elements stand in the order of its schema, which readers that check
//! it ask for.

use std::fmt::Write;

use geo::{LineString, MultiPolygon, Polygon};

use crate::plain_text::{plain, xml};
use crate::plan_rows::{Row, Rows};

/// Colours of the depth classes from the shallowest, as KML writes them: opacity, blue, green, red
/// (element `color`); dark brown to pale sand. Check strips are grey.
const CLASS_COLOURS: [&str; 6] =
    ["b3134080", "b32a6bb0", "b34f97cf", "b37cbde3", "b3a9d8f0", "b3d5eef9"];
const CHECK_COLOUR: &str = "b3808080";

/// The parts as placemarks, in the plan's order.
pub(crate) fn plan_kml(rows: &Rows) -> String {
    let style = |(id, colour): (String, &str)| {
        format!(
            "<Style id=\"{id}\"><LineStyle><color>ff202020</color><width>1.5</width></LineStyle>\
             <PolyStyle><color>{colour}</color></PolyStyle></Style>\n"
        )
    };
    let classes = CLASS_COLOURS.iter().enumerate();
    let styles = classes.map(|(k, colour)| (format!("class{}", k + 1), *colour));
    let styles: String = styles.chain([("check".into(), CHECK_COLOUR)]).map(style).collect();
    let names = rows.dose_names();
    let placemarks: String = rows.rows.iter().map(|row| placemark(rows, row, &names)).collect();
    let plan = rows.plan;
    let said = [&plan.stamps, &plan.warnings, &plan.cautions];
    let said: Vec<&str> = said.into_iter().flatten().map(String::as_str).collect();
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n<name>{}</name>\n\
         <description>{}</description>\n{styles}{placemarks}</Document>\n</kml>\n",
        xml(&plan.name),
        xml(&said.join(" | ")),
    )
}

fn placemark(rows: &Rows, row: &Row, names: &[String]) -> String {
    let part = row.part;
    let style = match part.check_strip {
        Some(_) => "check".into(),
        None => format!("class{}", part.class_no.clamp(1, CLASS_COLOURS.len())),
    };
    let data = |name: &str, value: &str| {
        format!("<Data name=\"{}\"><value>{}</value></Data>", xml(name), xml(value))
    };
    let mut said = data("zone_id", &part.zone_id) + &data("class_name", &plain(&part.class_name));
    for (name, number) in names.iter().zip(rows.dose_numbers(row)) {
        said += &data(name, &number.to_string());
    }
    said += &data("area_ha", &format!("{:.4}", part.ground_area_m2 / 1e4));
    format!(
        "<Placemark><name>{}</name><description>{}</description><styleUrl>#{style}</styleUrl>\
         <ExtendedData>{said}</ExtendedData>{}</Placemark>\n",
        xml(&part.id),
        xml(&part.marked_action()),
        geometry(&row.degrees),
    )
}

fn geometry(polygons: &MultiPolygon) -> String {
    let polygons: String = polygons.iter().map(polygon).collect();
    format!("<MultiGeometry>{polygons}</MultiGeometry>")
}

fn polygon(polygon: &Polygon) -> String {
    let around = |name: &str, line: &LineString| format!("<{name}>{}</{name}>", ring(line));
    let holes = polygon.interiors().iter().map(|line| around("innerBoundaryIs", line));
    let rings = around("outerBoundaryIs", polygon.exterior()) + &holes.collect::<String>();
    format!("<Polygon>{rings}</Polygon>")
}

/// Longitude before latitude (element `coordinates`), the shortest digits that give the same number again.
fn ring(line: &LineString) -> String {
    let mut places = String::new();
    for (k, place) in line.0.iter().enumerate() {
        let blank = if k > 0 { " " } else { "" };
        write!(places, "{blank}{},{}", place.x, place.y).expect("a string takes everything");
    }
    format!("<LinearRing><coordinates>{places}</coordinates></LinearRing>")
}
