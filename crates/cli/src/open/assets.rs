//! The files of the page, kept in the program.

use axum::http::header;
use axum::response::{IntoResponse, Response};

use super::answer::Refused;

/// Each file by name, sorted: those that lie in `assets/open` and those that the report's page shares.
const FILES: &[(&str, &[u8])] = &include!(concat!(env!("OUT_DIR"), "/page_files.rs"));

/// A file of the page.
pub fn answer(name: &str) -> Response {
    match FILES.iter().find(|(known, _)| *known == name) {
        Some((_, bytes)) => ([(header::CONTENT_TYPE, kind(name))], *bytes).into_response(),
        None => Refused::not_found("the page has no such file").into_response(),
    }
}

fn kind(name: &str) -> &'static str {
    match name.rsplit_once('.').map(|(_, end)| end) {
        Some("html") => "text/html; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("woff2") => "font/woff2",
        Some("ttf") => "font/ttf",
        Some("json" | "webmanifest") => "application/json",
        _ => "application/octet-stream",
    }
}
