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
