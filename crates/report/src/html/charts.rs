//! The charts of the page, each with its words, and its numbers on demand.

use std::collections::BTreeSet;

use crate::error::ReportError;
use crate::html::markup::Html;
use crate::html::page::Chart;
use crate::html::tables;
use crate::svg::escape;

/// The ids that charts have used: one that comes twice would take the colours of another chart.
#[derive(Debug, Default)]
pub(crate) struct Ids(BTreeSet<String>);

/// Writes a chart; `id` must be one of a kind on the page.
///
/// # Errors
/// When it is no SVG element that can stand in the page as it is.
pub(crate) fn draw(
    html: &mut Html,
    chart: &Chart,
    id: &str,
    ids: &mut Ids,
) -> Result<(), ReportError> {
    let svg = checked(&chart.svg, ids)
        .map_err(|problem| ReportError::Chart { title: chart.title.clone(), problem })?;
    let heading_id = format!("{id}-heading");
    html.open("figure", &[("class", "chart")]);
    html.element_with("h3", &[("id", &heading_id)], &chart.title);
    let region = [
        ("class", "chart-scroll"),
        ("role", "group"),
        ("tabindex", "0"),
        ("aria-labelledby", &heading_id),
    ];
    html.open("div", &region);
    let name = escape(&chart.title);
    html.raw(&svg.replacen("<svg", &format!("<svg role=\"img\" aria-label=\"{name}\""), 1));
    html.close("div");
    html.element("figcaption", &chart.words);
    if let Some(table) = &chart.table {
        html.raw("<details><summary>The numbers</summary>\n");
        tables::draw(html, table, &format!("{id}-numbers"))?;
        html.close("details");
    }
    html.close("figure");
    Ok(())
}

/// The SVG element without what only a file of its own needs.
fn checked(svg: &str, ids: &mut Ids) -> Result<String, String> {
    let start = svg.find("<svg").ok_or("is no SVG element")?;
    let svg = svg[start..].trim_end();
    let head = svg.split('>').next().unwrap_or_default();
    if !svg.ends_with("</svg>") || !head.contains("viewBox=") {
        return Err("is not one SVG element with a viewBox".into());
    }
    let lower = svg.to_ascii_lowercase();
    for bad in ["<script", " style=", "<style", "<foreignobject", "<a ", "javascript:"] {
        if lower.contains(bad) {
            return Err(format!("has `{}`, which the page does not allow", bad.trim()));
        }
    }
    for piece in svg.split(" id=\"").skip(1) {
        let id = piece.split('"').next().unwrap_or_default();
        if !ids.0.insert(id.to_owned()) {
            return Err(format!("has the id `{id}`, which another chart has too"));
        }
    }
    // The page gives it these.
    let own = |name: &str| head.contains(&format!(" {name}=\""));
    let mut text = svg.to_owned();
    for name in ["role", "aria-label", "aria-labelledby"] {
        if own(name) {
            let from = text.find(&format!(" {name}=\"")).expect("found above");
            let length = name.len() + 3;
            let end = text[from + length..].find('"').ok_or("has an attribute without an end")?;
            text.replace_range(from..from + length + end + 1, "");
        }
    }
    Ok(text)
}
