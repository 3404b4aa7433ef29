//! Places inside the parts of a plan as waypoints of GPX 1.1 (topografix.com/GPX/1/1), for handhelds.
//!
//! Many handhelds show few characters of a name and no others than ASCII (common practice): names are
//! ASCII, at most [`NAME_BYTES`] long, and differ.

use crate::plain_text::{Short, ascii, plain, xml};
use crate::plan_rows::Rows;

const NAME_BYTES: usize = 14;

/// One waypoint for each part, in the plan's order.
pub(crate) fn plan_gpx(rows: &Rows) -> String {
    let mut names = Short::new(NAME_BYTES);
    let waypoints: String = rows
        .rows
        .iter()
        .map(|row| {
            let name = names.next(&ascii(&row.part.id), "Zone");
            format!(
                "<wpt lat=\"{:.8}\" lon=\"{:.8}\"><name>{}</name><desc>{}</desc></wpt>\n",
                row.centre.lat_deg,
                row.centre.lon_deg,
                xml(&name),
                xml(&row.part.marked_action()),
            )
        })
        .collect();
    let (name, stamps) = (xml(&rows.plan.name), plain(&rows.plan.stamps.join(" | ")));
    let desc = match stamps.is_empty() {
        true => String::new(),
        false => format!("<desc>{}</desc>", xml(&stamps)),
    };
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <gpx version=\"1.1\" creator=\"loosedepth\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n\
         <metadata><name>{name}</name>{desc}</metadata>\n{waypoints}</gpx>\n"
    )
}
