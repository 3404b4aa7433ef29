//! The page: what it is made of and where it stands.

use geo::{BoundingRect, MultiPolygon};
use mapping::DepthMap;
use survey::CheckedSurvey;

use crate::base_map::hatch_pattern;
use crate::frame::Rect;
use crate::header::{Head, PageHead};
use crate::legend::heading;
use crate::palette::PAPER;
use crate::svg::{Paint, Svg};
use crate::wording::{area_text, count_text, dates_text, moisture_text};
use crate::{confidence, footer, header, histogram, map_legend, map_panel, scatter, surface_panel};

/// Resolution of the page, dots per inch.
pub const DPI: u32 = 200;
/// Width of the page, pixels: 11 in.
pub const PAGE_WIDTH_PX: u32 = 11 * DPI;
/// Height of the page, pixels: 8.5 in.
pub const PAGE_HEIGHT_PX: u32 = 17 * DPI / 2;

const MARGIN: f64 = 88.0;
const HEADER: f64 = 128.0;
const FOOTER: f64 = 78.0;
const GAP: f64 = 40.0;
/// Room of a panel's heading.
const HEADING: f64 = 38.0;

/// A field this much wider than high, or more, has its map across the page.
pub(crate) const WIDE: f64 = 1.3;
/// From here on the map needs the whole width, and the legend joins the strip below.
const VERY_WIDE: f64 = 2.6;

/// What a page shows.
#[derive(Debug, Clone, Copy)]
pub struct MapPage<'a> {
    /// Headline, the field's name for instance. Shortened where it does not fit.
    pub title: &'a str,
    /// The survey.
    pub survey: &'a CheckedSurvey,
    /// The map made from it; its depth classes say which units the page uses.
    pub map: &'a DepthMap,
}

/// Width of the field over its height.
pub(crate) fn aspect(survey: &CheckedSurvey) -> f64 {
    aspect_of(survey.field().polygons())
}

/// Width of polygons over their height.
pub(crate) fn aspect_of(polygons: &MultiPolygon) -> f64 {
    let bounds = polygons.bounding_rect();
    bounds.map_or(1.0, |bounds| bounds.width() / bounds.height())
}

/// The page as one SVG document, fonts by name ("Inter").
pub fn map_svg(page: &MapPage) -> String {
    let units = page.map.classes.units();
    let threshold = page.survey.threshold().to_string();
    let subtitle = format!("Loose-layer depth: where {threshold} is first reached");
    let head = Head { title: page.title, subtitle: &subtitle, survey: page.survey, units };
    sheet(&head.of_page(), footer::MAP, &summary(page), |svg, body| {
        svg.raw(&hatch_pattern());
        match aspect(page.survey) {
            aspect if aspect >= WIDE => draw_wide(svg, page, body, aspect),
            aspect => draw_tall(svg, page, body, aspect),
        }
    })
}

/// A page as one SVG document: head and foot, and what is drawn between them.
pub(crate) fn sheet(
    head: &PageHead,
    cautions: (&str, &str),
    summary: &str,
    draw_body: impl FnOnce(&mut Svg, Rect),
) -> String {
    let mut svg = Svg::default();
    let sheet = Rect::new(0.0, 0.0, f64::from(PAGE_WIDTH_PX), f64::from(PAGE_HEIGHT_PX));
    svg.rect(sheet, Paint::fill(PAPER));
    let inner = sheet.trim(MARGIN, 70.0, MARGIN, 62.0);
    let (top, rest) = inner.split_top(HEADER, 30.0);
    let (body, foot) = rest.split_top(rest.height - FOOTER - 24.0, 24.0);
    header::draw(&mut svg, head, top);
    draw_body(&mut svg, body);
    footer::draw(&mut svg, cautions, head.utm, foot);
    let title = format!("{}: {}", header::title_line(head.title), head.subtitle);
    svg.document(PAGE_WIDTH_PX, PAGE_HEIGHT_PX, DPI, &title, summary)
}

/// The map across the page, a strip of panels below.
fn draw_wide(svg: &mut Svg, page: &MapPage, body: Rect, aspect: f64) {
    let narrow = aspect < VERY_WIDE;
    let map_height = match narrow {
        true => 800.0,
        false => (body.width / aspect + 150.0).clamp(body.height - GAP - 585.0, 800.0),
    };
    let (top, strip) = body.split_top(map_height, GAP);
    if narrow {
        let (map, side) = top.split_left(top.width - 470.0 - GAP, GAP);
        map_panel::draw(svg, page, map);
        map_legend::of(page).draw(svg, side);
        draw_panels(svg, page, &strip.columns(4, GAP));
    } else {
        map_panel::draw(svg, page, top);
        let (first, rest) = strip.split_left(420.0, GAP);
        map_legend::of(page).draw(svg, first);
        draw_panels(svg, page, &rest.columns(4, 30.0));
    }
}

/// The map on the left, a column of panels on the right.
fn draw_tall(svg: &mut Svg, page: &MapPage, body: Rect, aspect: f64) {
    let width = (body.height * aspect).clamp(820.0, 1260.0);
    let (map, column) = body.split_left(width, GAP + 10.0);
    map_panel::draw(svg, page, map);
    let legend = map_legend::of(page);
    // A narrow column takes more lines.
    let height = legend.least_height(column.width).clamp(380.0, 480.0);
    let (top, rest) = column.split_top(height, GAP);
    legend.draw(svg, top);
    // A kriged map has more to say below.
    let share = if page.map.class_intervals.is_some() { 0.37 } else { 0.47 };
    let (middle, bottom) = rest.split_top((rest.height - GAP) * share, GAP);
    let (charts, texts) = (middle.columns(2, GAP), bottom.columns(2, GAP));
    draw_panels(svg, page, &[charts[0], texts[0], charts[1], texts[1]]);
}

/// Histogram, surface, cross-validation and text, in this order.
fn draw_panels(svg: &mut Svg, page: &MapPage, places: &[Rect]) {
    let [readings, surface, check, sure] = places else {
        unreachable!("four panels");
    };
    let inside = |place: &Rect| place.trim(0.0, HEADING, 0.0, 0.0);
    heading(svg, "Readings", *readings);
    histogram::draw(svg, page, inside(readings));
    heading(svg, "Surface before classes", *surface);
    surface_panel::draw(svg, page, inside(surface));
    let checked = match page.map.strata.is_empty() {
        true => "Check: one left out",
        false => "Check of main ground",
    };
    heading(svg, checked, *check);
    scatter::draw(svg, page, inside(check));
    confidence::draw(svg, page, *sure);
}

/// The page in a few words, for those who cannot see it.
fn summary(page: &MapPage) -> String {
    let units = page.map.classes.units();
    let area = |area_m2| area_text(area_m2, page.survey.field(), units);
    let mut parts = vec![
        dates_text(page.survey, units),
        count_text(page.survey.spots().len(), "probe"),
        match page.survey.moisture() {
            Some(_) => format!("soil moisture {}", moisture_text(page.survey)),
            None => moisture_text(page.survey),
        },
        format!("field of {}", area(page.map.field_area_m2)),
    ];
    parts.extend((0..page.map.classes.len()).map(|class| {
        let area_m2 = page.map.class_area_m2(class);
        format!("{}: {}", page.map.classes.name(class), area(area_m2))
    }));
    parts.push(format!("no value: {}", area(page.map.unmapped.ground_area_m2)));
    parts.push(confidence::verdict(page));
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::palette::class_colour;
    use crate::{fonts, testing};
    use resvg::usvg;

    fn parse(svg: &str) -> usvg::Tree {
        let options = usvg::Options { fontdb: fonts::database(), dpi: 200.0, ..Default::default() };
        usvg::Tree::from_str(svg, &options).unwrap()
    }

    #[test]
    fn every_layout_parses_at_page_size() {
        for sample in [
            testing::wide(),
            testing::very_wide(),
            testing::tall(),
            testing::tiny(),
            testing::without_boundary(),
            testing::with_gap(),
        ] {
            let tree = parse(&map_svg(&sample.page("Field")));
            assert_eq!((tree.size().width(), tree.size().height()), (2200.0, 1700.0));
        }
    }

    #[test]
    fn a_kriged_map_has_room_for_its_intervals() {
        for (k, sample) in testing::kriged().iter().enumerate() {
            let svg = map_svg(&sample.page("Field"));
            testing::assert_text_is_apart(&svg);
            let words: Vec<String> =
                testing::texts(&svg).into_iter().map(|(words, _)| words).collect();
            assert!(words.iter().any(|text| text == "80 % int."), "{words:?}");
            let joined = words.join(" ");
            assert!(joined.contains("Ordinary kriging,"), "{joined}");
            assert!(joined.contains("80 % interval of ground"), "{joined}");
            // The last, about as wide as high, has no room for all there is to say, and owns up to it.
            assert_eq!(joined.contains('…'), k == 3, "{joined}");
            assert!(k == 3 || joined.contains("Errors of the methods"), "{joined}");
        }
    }

    #[test]
    fn a_wild_title_is_escaped_and_shortened() {
        let title = format!("<&\">\u{7}\u{202e}{}", "<b>very long name</b> & \"more\" ".repeat(10));
        let sample = testing::wide();
        let svg = map_svg(&sample.page(&title));
        assert!(!svg.contains("<b>") && !svg.contains('\u{7}') && !svg.contains('\u{202e}'));
        assert!(svg.contains('…'));
        parse(&svg);
    }

    #[test]
    fn nothing_runs_off_the_page() {
        let title = "W".repeat(300);
        for sample in [testing::wide(), testing::very_wide(), testing::tall(), testing::tiny()] {
            let tree = parse(&map_svg(&sample.page(&title)));
            let drawn = tree.root().abs_bounding_box();
            assert!(drawn.left() >= 0.0 && drawn.right() <= 2200.0, "{drawn:?}");
            assert!(drawn.top() >= 0.0 && drawn.bottom() <= 1700.0, "{drawn:?}");
        }
    }

    #[test]
    fn the_same_map_gives_the_same_page() {
        let (one, other) = (testing::wide(), testing::wide());
        assert_eq!(map_svg(&one.page("Field")), map_svg(&other.page("Field")));
    }

    #[test]
    fn si_pages_have_no_inch_foot_acre_or_psi() {
        let svg = map_svg(&testing::si().page("Feld"));
        let words: Vec<String> = parse_text(&svg);
        for text in words.iter().filter(|text| !text.contains("811")) {
            for unit in [" in", " ft", " ac", " psi"] {
                let after_number = text.match_indices(unit).any(|(at, _)| {
                    let ends =
                        text[at + unit.len()..].chars().next().is_none_or(|c| !c.is_alphanumeric());
                    ends && text[..at].ends_with(|c: char| c.is_ascii_digit() || c == ',')
                });
                assert!(!after_number, "{text}");
            }
        }
        assert!(words.iter().any(|text| text.ends_with(" cm")));
        assert!(words.iter().any(|text| text.ends_with(" ha")));
        assert!(words.iter().any(|text| text.contains("1379 kPa")));
    }

    /// What stands between tags.
    fn parse_text(svg: &str) -> Vec<String> {
        svg.split('>')
            .filter_map(|piece| piece.split('<').next())
            .map(|text| text.trim().to_owned())
            .filter(|text| !text.is_empty())
            .collect()
    }

    #[test]
    fn ground_without_a_value_is_hatched_and_never_coloured() {
        let sample = testing::with_gap();
        let page = sample.page("Gap");
        let picture = image::load_from_memory(&crate::map_png(&page).unwrap()).unwrap().to_rgb8();
        let middle = testing::pixel_of_gap(&page);
        let colours: Vec<[u8; 3]> = (0..7)
            .map(|class| class_colour(class, 7))
            .map(|colour| [colour.0, colour.1, colour.2])
            .collect();
        let mut hatched = false;
        for dx in 0..24 {
            let pixel = picture.get_pixel(middle.0 - 12 + dx, middle.1).0;
            assert!(!colours.contains(&pixel), "{pixel:?}");
            hatched |= pixel != [255, 255, 255];
        }
        assert!(hatched);
    }
}
