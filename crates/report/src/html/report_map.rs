//! The map as a still picture, which shows and prints without the script: the zones of one visit with
//! its probes, and the legend beside them.

use crate::base_map::{NO_VALUE, hatch_pattern};
use crate::compass;
use crate::fonts::{self, CAP_HEIGHT, Weight};
use crate::frame::Rect;
use crate::html::map_view::{MapView, ProbeData, VisitData};
use crate::html::markup::Html;
use crate::html::zone_paths::ZonePath;
use crate::labels::{Taken, around, beside};
use crate::marks::Mark;
use crate::palette::{HAIRLINE, INK, PAPER, SURROUNDINGS};
use crate::probe_marks::MARK;
use crate::scale_bar;
use crate::svg::{Anchor, Paint, Svg, Type, escape, number};

/// Width of the picture in its own pixels: at 230 dots an inch its share of a printed page, beside the legend.
const WIDTH: f64 = 1200.0;
/// Height at most: the first printed page also holds the words.
const MOST_HEIGHT: f64 = 800.0;
const LEAST_HEIGHT: f64 = 400.0;
const MARGIN: f64 = 26.0;
/// Height of the strip that the scale bar and the arrow stand in.
const STRIP: f64 = 92.0;
/// Sizes of a reading and of a zone's id.
const READING: f64 = 23.0;
const ZONE_ID: f64 = 32.0;
/// Id of the clip path of the field.
const FIELD: &str = "field-on-still-map";

/// From metres of the page to pixels of the picture.
struct StillView {
    scale: f64,
    left: f64,
    top: f64,
    height: f64,
}

impl StillView {
    fn fit(map: &MapView) -> StillView {
        let (wide, high) = (map.frame.width, map.frame.height);
        let room = WIDTH - 2.0 * MARGIN;
        let height = (room * high / wide + 2.0 * MARGIN + STRIP).clamp(LEAST_HEIGHT, MOST_HEIGHT);
        let scale = (room / wide).min((height - 2.0 * MARGIN - STRIP) / high);
        StillView {
            scale,
            left: (WIDTH - scale * wide) / 2.0,
            top: MARGIN + (height - 2.0 * MARGIN - STRIP - scale * high) / 2.0,
            height,
        }
    }

    fn on_page(&self, x: f64, y: f64) -> (f64, f64) {
        (self.left + x * self.scale, self.top + y * self.scale)
    }
}

/// Draws the zones of a visit with their legend.
pub(crate) fn draw(html: &mut Html, map: &MapView, visit: &VisitData) {
    html.open("figure", &[("class", "still")]);
    html.raw(&picture(map, visit));
    html.open("figcaption", &[]);
    html.element_with(
        "p",
        &[("class", "still-title")],
        &format!("Depth of the loose layer, {}", visit.label),
    );
    legend(html, map, visit);
    html.close("figcaption");
    html.close("figure");
}

/// The picture as one SVG element.
fn picture(map: &MapView, visit: &VisitData) -> String {
    let view = StillView::fit(map);
    let mut svg = Svg::default();
    svg.raw(&hatch_pattern());
    let matrix = format!(
        "translate({} {}) scale({})",
        number(view.left),
        number(view.top),
        // Six digits: a thousandth of a pixel at the far end of the field.
        survey::units::tidy(view.scale, 6)
    );
    svg.raw(&format!(
        r#"<clipPath id="{FIELD}"><path d="{}" clip-rule="evenodd" transform="{matrix}"/></clipPath>"#,
        map.field
    ));
    svg.rect(Rect::new(0.0, 0.0, WIDTH, view.height), Paint::fill(SURROUNDINGS));
    let inside = format!(r#"<g clip-path="url(#{FIELD})">"#);
    svg.raw(&inside);
    svg.rect(Rect::new(0.0, 0.0, WIDTH, view.height), Paint::pattern(NO_VALUE));
    svg.raw(&format!(r#"<g transform="{matrix}" stroke="{PAPER}" stroke-width="1.3">"#));
    for zone in &visit.zones.zones {
        svg.raw(&zone_markup(zone, &visit.zones.classes[zone.class].colour));
    }
    svg.raw("</g></g>");
    svg.raw(&format!(
        r#"<path d="{}" transform="{matrix}" fill="none" fill-rule="evenodd" stroke="{INK}" stroke-width="1.8" vector-effect="non-scaling-stroke"/>"#,
        map.field
    ));
    let sheet = Rect::new(0.0, 0.0, WIDTH, view.height);
    svg.rect(sheet.trim(0.8, 0.8, 0.8, 0.8), Paint::stroke(HAIRLINE, 1.6));
    let foot = view.height - 18.0;
    svg.raw(r#"<g class="still-scale">"#);
    scale_bar::draw(&mut svg, (MARGIN, foot), 340.0, view.scale, map.unit_system());
    compass::draw_turned(&mut svg, (WIDTH - MARGIN - 8.0, foot), map.frame.true_north);
    svg.raw("</g>");
    draw_marks(&mut svg, &view, visit, sheet);
    let title = format!("Map of the field with its zones, {}", visit.label);
    let words: Vec<String> =
        visit.zones.zones.iter().map(|zone| format!("{}: {}", zone.label, zone.words)).collect();
    format!(
        "<svg class=\"still-map\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {}\" \
         role=\"img\" aria-labelledby=\"still-map-title still-map-words\" font-family=\"{}, \
         sans-serif\">\n<title id=\"still-map-title\">{}</title>\n<desc id=\"still-map-words\">{}</desc>\n\
         {}</svg>\n",
        number(view.height),
        fonts::FAMILY,
        escape(&title),
        escape(&words.join(". ")),
        svg.into_markup()
    )
}

fn zone_markup(zone: &ZonePath, colour: &str) -> String {
    format!(
        r#"<path d="{}" fill="{colour}" fill-rule="evenodd" vector-effect="non-scaling-stroke"/>"#,
        zone.path
    )
}

/// Draws probes with their readings, and the zones' ids where there is room.
fn draw_marks(svg: &mut Svg, view: &StillView, visit: &VisitData, sheet: Rect) {
    let mut taken = Taken::new(sheet.trim(3.0, 3.0, 3.0, STRIP - 12.0));
    let marks: Vec<(Mark, (f64, f64), &str)> =
        visit.probes.iter().map(|probe| mark(probe, view)).collect();
    for &(_, at, _) in &marks {
        taken.take(around(at, 2.0 * MARK + 3.0, 2.0 * MARK + 3.0));
    }
    let style = |size| Type::semi_bold(size).halo(PAPER, 3.0).anchor(Anchor::Middle);
    svg.raw(r#"<g class="still-ids">"#);
    for zone in &visit.zones.zones {
        let [x, y, radius] = zone.at;
        let (x, y) = view.on_page(x, y);
        let width = fonts::width(&zone.label, ZONE_ID, Weight::SemiBold) + 8.0;
        let height = ZONE_ID * CAP_HEIGHT + 8.0;
        let room = radius * view.scale;
        let place = [(0.0, 0.0), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)]
            .map(|(right, down)| (x + right * room * 0.5, y + down * room * 0.5))
            .into_iter()
            .find(|&at| room > height / 2.0 && taken.take_if_free(around(at, width, height)));
        if let Some((x, y)) = place {
            svg.text(&zone.label, (x, y + ZONE_ID * CAP_HEIGHT / 2.0), style(ZONE_ID));
        }
    }
    svg.raw(r#"</g><g class="still-probes">"#);
    for &(mark, at, label) in &marks {
        mark.draw(svg, at, MARK);
        if label.is_empty() {
            continue;
        }
        if let Some(foot) = beside(&mut taken, label, READING, at, MARK, |_| Some(0)) {
            let style = Type::regular(READING).halo(PAPER, 2.5).anchor(Anchor::Middle);
            svg.text(label, foot, style);
        }
    }
    svg.raw("</g>");
}

fn mark<'a>(probe: &'a ProbeData, view: &StillView) -> (Mark, (f64, f64), &'a str) {
    let ProbeData(x, y, kind, _, reading) = probe;
    let mark = match kind {
        0 => Mark::Reached,
        1 => Mark::NotReached,
        _ => Mark::NoReading,
    };
    (mark, view.on_page(*x, *y), reading)
}

/// The classes with their ground, and what the marks mean.
fn legend(html: &mut Html, map: &MapView, visit: &VisitData) {
    html.raw("<table class=\"still-legend\"><tbody>\n");
    for class in &visit.zones.classes {
        let swatch = format!(r#"<rect width="30" height="18" fill="{}"/>"#, class.colour);
        row(html, &swatch, &class.name, &class.ground);
    }
    let hatch = format!(r#"<rect width="30" height="18" fill="url(#{NO_VALUE})"/>"#);
    let (ground, why) =
        visit.zones.unmapped_words.split_once(", ").unwrap_or((&visit.zones.unmapped_words, ""));
    row(html, &hatch, "no value", ground);
    html.raw("</tbody></table>\n");
    html.open("ul", &[("class", "map-marks")]);
    let of_kind = |kind: u8| visit.probes.iter().filter(|probe| probe.2 == kind).count();
    let threshold = &map.threshold;
    let unit = map.units.depth;
    let marks = [
        (Mark::Reached, of_kind(0), format!("{threshold} first reached at this depth, {unit}")),
        (
            Mark::NotReached,
            of_kind(1),
            format!(
                "{threshold} not reached down to this depth (+): the loose layer is at least as deep"
            ),
        ),
        (Mark::NoReading, of_kind(2) + of_kind(3), "no reading".into()),
    ];
    for (mark, count, words) in marks.iter().filter(|(_, count, _)| *count > 0) {
        let mut svg = Svg::default();
        mark.draw(&mut svg, (0.0, 0.0), MARK);
        html.raw(&format!(
            "<li><svg viewBox=\"-9 -9 18 18\" width=\"18\" height=\"18\" aria-hidden=\"true\">{}</svg>",
            svg.into_markup()
        ));
        html.text(&format!("{words}: {count}"));
        html.close("li");
    }
    if visit.zones.zones.iter().any(|zone| zone.label.ends_with('*')) {
        html.element("li", "* few probes in the zone");
    }
    if !why.is_empty() {
        html.element("li", &format!("no value: {why}"));
    }
    html.close("ul");
}

fn row(html: &mut Html, swatch: &str, name: &str, ground: &str) {
    html.raw(&format!(
        "<tr><th scope=\"row\"><span class=\"legend-name\"><svg class=\"swatch\" viewBox=\"0 0 30 18\" width=\"30\" height=\"18\" \
         aria-hidden=\"true\">{swatch}<rect x=\"0.5\" y=\"0.5\" width=\"29\" height=\"17\" fill=\"none\" \
         stroke=\"#55606d\" stroke-opacity=\"0.5\"/></svg><span>{}</span></span></th>",
        escape(name)
    ));
    html.element_with("td", &[("class", "number")], ground);
    html.close("tr");
}
