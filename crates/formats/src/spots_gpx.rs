//! Planned spots as waypoints and a route of GPX 1.1 (topografix.com/GPX/1/1), for handhelds, in walking order.
//!
//! Names are short, ASCII, and differ, as in `plan_gpx`. A waypoint's description must not look like a reading
//! to whoever reads the file back, so the name of a depth class is not in it.

use sampling::PlannedSpot;

use crate::plain_text::{Short, ascii, xml};
use crate::spots_file::SpotsFile;

const NAME_BYTES: usize = 14;

/// The spots as waypoints, then the walk as a route.
pub fn spots_gpx(file: &SpotsFile) -> String {
    let mut names = Short::new(NAME_BYTES);
    let names: Vec<String> =
        file.spots.iter().map(|spot| names.next(&ascii(&spot.id), "Spot")).collect();
    let point = |element: &str, spot: &PlannedSpot, name: &str, more: &str| {
        let place = file.place(spot);
        format!(
            "<{element} lat=\"{:.8}\" lon=\"{:.8}\"><name>{}</name>{more}</{element}>\n",
            place.lat_deg,
            place.lon_deg,
            xml(name),
        )
    };
    let waypoint = |(spot, name): (&PlannedSpot, &String)| {
        point("wpt", spot, name, &format!("<desc>{}</desc>", xml(&spot.why.words())))
    };
    let waypoints: String = file.spots.iter().zip(&names).map(waypoint).collect();
    let on_route = |(spot, name): (&PlannedSpot, &String)| point("rtept", spot, name, "");
    let route: String = file.spots.iter().zip(&names).map(on_route).collect();
    let name = xml(file.field_name);
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <gpx version=\"1.1\" creator=\"loosedepth\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n\
         <metadata><name>{name}</name></metadata>\n{waypoints}<rte><name>{name}: walk</name>\n{route}</rte>\n\
         </gpx>\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spots_file::tests::{spots, utm};
    use survey::UnitSystem;

    #[test]
    fn waypoints_come_first_then_the_route_and_names_are_escaped() {
        let spots = spots();
        let text = spots_gpx(&SpotsFile {
            field_name: "East & West",
            units: UnitSystem::Us,
            utm: utm(),
            threshold: None,
            insertions: 4,
            spots: &spots,
        });
        assert!(text.contains("<name>East &amp; West: walk</name>"), "{text}");
        assert_eq!(text.matches("<wpt ").count(), 2);
        assert_eq!(text.matches("<rtept ").count(), 2);
        assert_eq!(text.matches("<name>A &lt;7&gt;</name>").count(), 2);
        assert!(text.find("<rte>") > text.rfind("<wpt "));
        assert!(!text.contains("3–6 in"), "a class is no reading");
    }
}
