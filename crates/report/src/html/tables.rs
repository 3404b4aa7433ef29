//! The tables of the page, each in a region of its own that scrolls where it is too wide.

use crate::error::ReportError;
use crate::html::markup::Html;
use crate::html::page::Table;

/// Writes a table; `id` must be one of a kind on the page.
///
/// # Errors
/// When a row has not as many cells as there are columns.
pub(crate) fn draw(html: &mut Html, table: &Table, id: &str) -> Result<(), ReportError> {
    let caption_id = format!("{id}-caption");
    let region = [
        ("class", "table-scroll"),
        ("role", "group"),
        ("tabindex", "0"),
        ("aria-labelledby", &caption_id),
    ];
    html.open("div", &region);
    html.raw("<table>");
    html.element_with("caption", &[("id", &caption_id)], &table.caption);
    html.raw("<thead><tr>");
    for column in &table.columns {
        let class = if column.is_number { "number" } else { "text" };
        html.element_with("th", &[("scope", "col"), ("class", class)], &column.heading);
    }
    html.raw("</tr></thead><tbody>\n");
    for (k, row) in table.rows.iter().enumerate() {
        if row.len() != table.columns.len() {
            return Err(ReportError::Row {
                caption: table.caption.clone(),
                row: k + 1,
                cells: row.len(),
                columns: table.columns.len(),
            });
        }
        html.raw("<tr>");
        for (n, (cell, column)) in row.iter().zip(&table.columns).enumerate() {
            let class = if column.is_number { "number" } else { "text" };
            match n {
                0 => html.element_with("th", &[("scope", "row"), ("class", class)], cell),
                _ => html.element_with("td", &[("class", class)], cell),
            }
        }
        html.close("tr");
    }
    html.raw("</tbody></table>");
    html.close("div");
    if !table.note.is_empty() {
        html.element_with("p", &[("class", "note")], &table.note);
    }
    Ok(())
}
