//! The report's page: what a grower needs first, then the map, charts, tables, how it was made, cautions.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::error::ReportError;
use crate::html::assets::{
    BASE_CSS, FONT_REGULAR_WOFF2, FONT_SEMI_BOLD_WOFF2, MAP_JS, REPORT_CSS, REPORT_JS,
};
use crate::html::charts::{self, Ids};
use crate::html::map_view::MapView;
use crate::html::markup::Html;
use crate::html::policy::policy;
use crate::html::{report_map, tables};

/// What a report says, in the order in which it says it. All text is plain: nothing in it is markup.
#[derive(Debug, Clone, PartialEq)]
pub struct ReportPage {
    /// Headline, the field's name for instance.
    pub title: String,
    /// What it is about: `Loose-layer depth, Apr 14 to Aug 24, 2025`.
    pub subtitle: String,
    /// Names and values below the headline: field, probes, moisture.
    pub facts: Vec<(String, String)>,
    /// The one page in plain words.
    pub summary: GrowerSummary,
    /// The map; its last visit is the picture of the summary.
    pub map: MapView,
    /// Charts and tables, by what they answer.
    pub sections: Vec<Section>,
    /// How it was made: settings, versions, hashes, as names and values.
    pub made: Vec<(String, String)>,
    /// What to do and to heed before acting on it.
    pub cautions: Vec<String>,
}

/// The grower's page: short sentences without terms of the trade.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GrowerSummary {
    /// What matters most, one sentence.
    pub headline: String,
    /// What was found, a few sentences.
    pub sentences: Vec<String>,
    /// What to do next.
    pub do_next: Vec<String>,
    /// What is not known.
    pub not_known: Vec<String>,
}

/// A part of the report with a heading of its own.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Section {
    /// Heading: `How sure the map is`.
    pub heading: String,
    /// Sentences below it.
    pub sentences: Vec<String>,
    /// Charts.
    pub charts: Vec<Chart>,
    /// Tables.
    pub tables: Vec<Table>,
}

/// A chart with what it shows in words.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chart {
    /// Heading.
    pub title: String,
    /// One SVG element with a `viewBox` and width and height in pixels, drawn at the size it is shown at.
    /// It must be sound markup without scripts, links and `style` attributes; its ids must differ from those of
    /// other charts.
    pub svg: String,
    /// What it shows, for those who cannot see it and those who can.
    pub words: String,
    /// Its numbers, shown on demand.
    pub table: Option<Table>,
}

/// A table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// What it holds.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, as many cells in each as there are columns; the first names the row.
    pub rows: Vec<Vec<String>>,
    /// A sentence below it; may be empty.
    pub note: String,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Column {
    /// Heading with its unit: `Ground, ac`.
    pub heading: String,
    /// Whether it holds numbers, which stand at the right.
    pub is_number: bool,
}

/// The report as one HTML file that needs no other.
///
/// # Errors
/// When a chart is no SVG, or a table's row has not as many cells as there are columns.
pub fn report_html(page: &ReportPage) -> Result<String, ReportError> {
    let styles = [fonts_css(), format!("{BASE_CSS}\n{REPORT_CSS}")];
    // The data is no script that runs, so the policy need not name it.
    let script = format!("{MAP_JS}\n{REPORT_JS}");
    let mut html = Html::default();
    html.raw("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    let policy = policy(&[&script], &[&styles[0], &styles[1]]);
    html.open("meta", &[("http-equiv", "Content-Security-Policy"), ("content", &policy)]);
    html.raw("\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    html.raw("<meta name=\"referrer\" content=\"no-referrer\">\n");
    html.element("title", &format!("{} · {}", page.title, page.subtitle));
    for style in &styles {
        html.raw(&format!("<style>{style}</style>\n"));
    }
    html.raw("</head>\n<body>\n");
    body(&mut html, page)?;
    html.raw(&format!(
        "<script type=\"application/json\" id=\"map-data\">{}</script>\n\
         <script type=\"module\">{script}</script>\n</body>\n</html>\n",
        page.map.json()
    ));
    Ok(html.into_string())
}

fn fonts_css() -> String {
    [(400, FONT_REGULAR_WOFF2), (600, FONT_SEMI_BOLD_WOFF2)]
        .map(|(weight, bytes)| {
            format!(
                "@font-face{{font-family:Inter;font-weight:{weight};font-display:swap;\
                 src:url(data:font/woff2;base64,{}) format(\"woff2\")}}\n",
                STANDARD.encode(bytes)
            )
        })
        .concat()
}

/// What stands between the tags of the body, but for the scripts.
fn body(html: &mut Html, page: &ReportPage) -> Result<(), ReportError> {
    html.raw("<a class=\"skip-link\" href=\"#in-short\">To the summary</a>\n");
    html.raw("<header class=\"page-head\">\n");
    html.element("h1", &page.title);
    html.element_with("p", &[("class", "subtitle")], &page.subtitle);
    facts(html, &page.facts);
    html.raw("</header>\n");
    contents(html, page);
    html.raw("<main>\n");
    summary(html, page);
    map(html);
    let mut ids = Ids::default();
    for (k, section) in page.sections.iter().enumerate() {
        let id = format!("part-{}", k + 1);
        part(html, &id, &section.heading, |html| {
            for sentence in &section.sentences {
                html.element("p", sentence);
            }
            if !section.charts.is_empty() {
                html.open("div", &[("class", "charts")]);
                for (n, chart) in section.charts.iter().enumerate() {
                    charts::draw(html, chart, &format!("{id}-chart-{}", n + 1), &mut ids)?;
                }
                html.close("div");
            }
            for (n, table) in section.tables.iter().enumerate() {
                tables::draw(html, table, &format!("{id}-table-{}", n + 1))?;
            }
            Ok(())
        })?;
    }
    part(html, "made", "How it was made", |html| tables::draw(html, &made(page), "made-table"))?;
    part(html, "cautions", "Before you act on this report", |html| {
        html.list(&page.cautions);
        Ok(())
    })?;
    html.raw("</main>\n<footer class=\"page-foot\">\n");
    html.element(
        "p",
        "This file holds all it shows: it fetches nothing and sends nothing. Keep it with the field's \
         records, and copy it as you like.",
    );
    html.raw("</footer>\n");
    Ok(())
}

/// A part of the page with its heading.
fn part(
    html: &mut Html,
    id: &str,
    heading: &str,
    write: impl FnOnce(&mut Html) -> Result<(), ReportError>,
) -> Result<(), ReportError> {
    let heading_id = format!("{id}-heading");
    html.open("section", &[("id", id), ("aria-labelledby", &heading_id)]);
    html.element_with("h2", &[("id", &heading_id)], heading);
    write(html)?;
    html.close("section");
    Ok(())
}

fn facts(html: &mut Html, facts: &[(String, String)]) {
    if facts.is_empty() {
        return;
    }
    html.open("dl", &[("class", "facts")]);
    for (name, value) in facts {
        html.open("div", &[]);
        html.element("dt", name);
        html.element("dd", value);
        html.close("div");
    }
    html.close("dl");
}

/// Links to the parts.
fn contents(html: &mut Html, page: &ReportPage) {
    html.raw("<nav class=\"contents\" aria-label=\"Parts of this report\"><ul>\n");
    let mut link = |id: &str, words: &str| {
        html.open("li", &[]);
        html.element_with("a", &[("href", &format!("#{id}"))], words);
        html.close("li");
    };
    link("in-short", "In short");
    link("map-part", "The map");
    for (k, section) in page.sections.iter().enumerate() {
        link(&format!("part-{}", k + 1), &section.heading);
    }
    link("made", "How it was made");
    link("cautions", "Before you act");
    html.raw("</ul></nav>\n");
}

/// The grower's page.
fn summary(html: &mut Html, page: &ReportPage) {
    let summary = &page.summary;
    html.raw("<section id=\"in-short\" class=\"summary\" aria-labelledby=\"in-short-heading\">\n");
    html.element_with("h2", &[("id", "in-short-heading")], "In short");
    html.element_with("p", &[("class", "headline")], &summary.headline);
    html.raw("<div class=\"summary-words\">\n");
    block(html, "found", "What was found", &summary.sentences);
    block(html, "do-next", "What to do next", &summary.do_next);
    block(html, "not-known", "What is not known", &summary.not_known);
    html.raw("</div>\n");
    if let Some(visit) = page.map.visits.last() {
        report_map::draw(html, &page.map, visit);
    }
    if let Some(caution) = page.cautions.first() {
        html.open("p", &[("class", "first-caution")]);
        html.element("strong", "Before you act:");
        html.text(&format!(" {caution}"));
        html.close("p");
    }
    html.close("section");
}

/// A list of sentences with a heading; nothing where there are none.
fn block(html: &mut Html, class: &str, heading: &str, sentences: &[String]) {
    if sentences.is_empty() {
        return;
    }
    html.open("div", &[("class", class)]);
    html.element("h3", heading);
    html.list(sentences);
    html.close("div");
}

/// The place of the map to look into. The script shows it.
fn map(html: &mut Html) {
    html.raw(
        "<noscript><p>The map with its layers and dates needs scripting, which is switched off; the picture \
         above shows the zones.</p></noscript>\n\
         <section id=\"map-part\" aria-labelledby=\"map-heading\" hidden>\n\
         <h2 id=\"map-heading\">The map</h2>\n<div id=\"map\"></div>\n</section>\n",
    );
}

fn made(page: &ReportPage) -> Table {
    let column = |heading: &str| Column { heading: heading.into(), is_number: false };
    Table {
        caption: "Settings, versions and hashes".into(),
        columns: vec![column("What"), column("Value")],
        rows: page.made.iter().map(|(name, value)| vec![name.clone(), value.clone()]).collect(),
        note: String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::html::policy::hash;
    use crate::html::testing;
    use crate::testing as samples;
    use crate::testing_change::Changed;

    fn report() -> String {
        report_html(&testing::page(testing::one_visit(&samples::wide()))).unwrap()
    }

    /// What stands between tags that begin with such words.
    fn contents<'a>(html: &'a str, start: &str, end: &str) -> Vec<&'a str> {
        let pieces = html.split(start).skip(1);
        pieces.map(|piece| piece.split(end).next().unwrap()).collect()
    }

    #[test]
    fn the_policy_names_the_scripts_and_styles_that_stand_in_the_page() {
        let html = report();
        let policy =
            contents(&html, "Content-Security-Policy\" content=\"", "\"")[0].replace("&#39;", "'");
        let styles = contents(&html, "<style>", "</style>");
        let scripts = contents(&html, "<script type=\"module\">", "</script>");
        assert_eq!((styles.len(), scripts.len()), (2, 1));
        for content in styles.iter().chain(&scripts) {
            assert!(policy.contains(&hash(content)), "{policy}");
        }
        assert_eq!(policy.matches("sha256-").count(), 3);
        assert_eq!(html.matches("<script").count(), 2, "one script, and data that does not run");
        // Neither would be allowed.
        assert!(
            !html.contains(" style=\"")
                && !html.contains(" onclick")
                && !html.contains("javascript:")
        );
    }

    #[test]
    fn nothing_of_the_page_lies_elsewhere() {
        let html = report().replace("http://www.w3.org/2000/svg", "");
        for address in ["http:", "https:", "//", "url(\"", "src=\""] {
            let rest: Vec<&str> = html
                .match_indices(address)
                .map(|(at, _)| html[at.saturating_sub(20)..].get(..60).unwrap_or_default())
                .filter(|text| address != "//" || text.contains("://"))
                .collect();
            assert!(rest.is_empty(), "{rest:?}");
        }
        let links: Vec<&str> = contents(&html, "href=\"", "\"");
        assert!(!links.is_empty());
        for link in links {
            let id = link.strip_prefix('#').expect("a place on the page");
            assert!(html.contains(&format!(" id=\"{id}\"")), "{id}");
        }
    }

    #[test]
    fn hostile_text_stays_text() {
        let wild = "</script><b onload=\"x\">'&\u{202e}\u{0}";
        let mut page = testing::page(testing::one_visit(&samples::tiny()));
        let shown = |text: &mut String| text.push_str(wild);
        shown(&mut page.title);
        shown(&mut page.subtitle);
        shown(&mut page.summary.headline);
        shown(&mut page.summary.sentences[0]);
        shown(&mut page.facts[0].1);
        shown(&mut page.made[0].0);
        shown(&mut page.cautions[0]);
        let section = &mut page.sections[0];
        shown(&mut section.heading);
        shown(&mut section.tables[0].caption);
        shown(&mut section.tables[0].rows[0][1]);
        shown(&mut section.charts[0].title);
        shown(&mut section.charts[0].words);
        let visit = &mut page.map.visits[0];
        shown(&mut visit.label);
        shown(&mut visit.probes[0].3);
        shown(&mut visit.probes[0].4);
        shown(&mut visit.zones.zones[0].label);
        shown(&mut visit.zones.zones[0].words);
        shown(&mut visit.zones.classes[0].name);
        let html = report_html(&page).unwrap();
        assert!(
            !html.contains("<b onload") && !html.contains('\u{202e}') && !html.contains('\u{0}')
        );
        assert_eq!(html.matches("</script>").count(), 2);
        assert!(
            html.matches("&lt;/script&gt;&lt;b onload=&quot;x&quot;&gt;&#39;&amp;").count() >= 15
        );
    }

    #[test]
    fn a_season_of_twelve_visits_stays_below_a_megabyte() {
        let changed = Changed::new(samples::fine());
        let map = testing::season(&changed, 12);
        assert!(map.visits[0].depth.columns * map.visits[0].depth.rows > 90_000);
        let html = report_html(&testing::page(map)).unwrap();
        assert!(html.len() < 1_000_000, "{}", html.len());
    }

    #[test]
    fn the_same_report_has_the_same_bytes() {
        assert_eq!(report(), report());
    }

    #[test]
    fn the_summary_and_a_still_map_come_first_and_need_no_script() {
        let html = report();
        let body = &html[html.find("<main>").unwrap()..html.find("application/json").unwrap()];
        let places: Vec<usize> =
            ["thinner than 6 in on a fifth", "Dig three pits", "still-map", "id=\"map\""]
                .iter()
                .map(|words| body.find(words).unwrap_or_else(|| panic!("{words}")))
                .collect();
        assert!(places.is_sorted(), "{places:?}");
        let still = contents(body, "<svg class=\"still-map\"", "</svg>")[0];
        assert!(
            still.contains("fill=\"#95a398\"") && still.contains(">Z1"),
            "zones and their names"
        );
        assert!(still.matches("<circle").count() > 20, "probes");
    }

    #[test]
    fn charts_that_the_page_does_not_allow_are_refused() {
        let refuse = |svg: &str| {
            let mut page = testing::page(testing::one_visit(&samples::tiny()));
            page.sections[0].charts[0].svg = svg.into();
            report_html(&page).unwrap_err().to_string()
        };
        assert!(refuse("<p>no</p>").contains("is no SVG element"));
        assert!(refuse("<svg width=\"3\"></svg>").contains("viewBox"));
        let script = "<svg viewBox=\"0 0 1 1\"><script>1</script></svg>";
        assert!(refuse(script).contains("`<script`"));
        let twice = "<svg viewBox=\"0 0 1 1\"><g id=\"a\"/><g id=\"a\"/></svg>";
        assert!(refuse(twice).contains("id `a`"));
    }

    #[test]
    fn a_row_with_a_cell_too_few_is_refused() {
        let mut page = testing::page(testing::one_visit(&samples::tiny()));
        page.sections[0].tables[0].rows[1].pop();
        let error = report_html(&page).unwrap_err().to_string();
        assert_eq!(error, "row 2 of the table \"Zones\" has 1 cells; there are 2 columns");
    }
}
