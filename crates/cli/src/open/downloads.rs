//! Results for the browser to keep: the very files that the commands wrote.

use std::fs;
use std::io::{Cursor, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use axum::body::Body;
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::App;
use super::answer::Refused;
use super::command_line::stays_below;
use super::state::slashed;
use crate::config::Config;

/// The most bytes of all results in one archive.
const MOST_BYTES: u64 = 1 << 30;

/// A file below the folder of results.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ResultFile {
    /// Its path below that folder, parts separated by `/`.
    pub path: String,
    /// How long it is.
    pub bytes: u64,
    /// When it was written.
    pub written: Option<SystemTime>,
}

impl ResultFile {
    /// As the page reads it.
    pub fn json(&self) -> Value {
        json!({ "path": self.path, "bytes": self.bytes })
    }
}

/// What to do about results elsewhere.
const OPEN_THERE: &str = "results are made and opened there from the terminal";

/// Refuses results outside of the field's folder, which the page neither makes nor shows.
///
/// # Errors
/// When that is where they go.
pub fn refuse_outside(app: &App, config: &Config) -> Result<(), Refused> {
    app.field.inside(&app.field.results(config), OPEN_THERE)
}

/// The folder of results as it really is.
///
/// # Errors
/// When there is none, or it lies outside of the field's folder: who made the folder must not choose which
/// other files of this machine the page gives out.
fn root(app: &App, config: &Config) -> Result<PathBuf, Refused> {
    let folder = app.field.results(config);
    refuse_outside(app, config).map_err(Refused::into_not_found)?;
    folder.canonicalize().map_err(|_| Refused::not_found("there are no results yet"))
}

/// The files below the folder of results, sorted. Links are not followed, and hidden files left out.
///
/// # Errors
/// When there is no such folder, or it lies outside of the field's.
pub fn files(app: &App, config: &Config) -> Result<Vec<ResultFile>, Refused> {
    let root = root(app, config)?;
    let mut files = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
            let (path, Ok(kind)) = (entry.path(), entry.file_type()) else { continue };
            if entry.file_name().to_string_lossy().starts_with('.') {
                continue;
            }
            if kind.is_dir() {
                folders.push(path);
            } else if kind.is_file()
                && let (Ok(about), Ok(below)) = (entry.metadata(), path.strip_prefix(&root))
            {
                let (bytes, written) = (about.len(), about.modified().ok());
                files.push(ResultFile { path: slashed(below), bytes, written });
            }
        }
    }
    files.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(files)
}

/// One file.
///
/// # Errors
/// When it is not among the results.
pub fn file(app: &App, path: &str) -> Result<Response, Refused> {
    let missing = || Refused::not_found("there is no such result");
    let is_hidden = path.split('/').any(|part| part.starts_with('.'));
    if is_hidden || !stays_below(path.as_ref()) || path.contains('\\') {
        return Err(missing());
    }
    let root = root(app, &app.field.config()?)?;
    let real = root.join(path).canonicalize().map_err(|_| missing())?;
    if !real.starts_with(&root) || !real.is_file() {
        return Err(missing());
    }
    let bytes = fs::read(&real).map_err(|_| missing())?;
    let name = Path::new(path).file_name().unwrap_or_default().to_string_lossy();
    Ok(attachment(&name, bytes))
}

/// All results in one archive. The same results give the same bytes.
///
/// # Errors
/// When there are none, or they are too large for one.
pub fn archive(app: &App) -> Result<Response, Refused> {
    let config = app.field.config()?;
    let root = root(app, &config)?;
    let files = files(app, &config)?;
    if files.iter().map(|file| file.bytes).sum::<u64>() > MOST_BYTES {
        return Err(Refused::unusable("the results are more than 1 GB; take them one by one"));
    }
    let failed = |error: &dyn std::fmt::Display| {
        Refused::unusable(&format!("the results could not be put into one file ({error})"))
    };
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for file in &files {
        let bytes = fs::read(root.join(&file.path)).map_err(|error| failed(&error))?;
        zip.start_file(&file.path, options).map_err(|error| failed(&error))?;
        zip.write_all(&bytes).map_err(|error| failed(&error))?;
    }
    let bytes = zip.finish().map_err(|error| failed(&error))?.into_inner();
    Ok(attachment(&format!("{}-results.zip", app.field.name()), bytes))
}

/// A file that the browser keeps and does not open, so that nothing in it runs as our page (RFC 6266; RFC 8187 for
/// the name).
fn attachment(name: &str, bytes: Vec<u8>) -> Response {
    let encoded: String = name
        .bytes()
        .map(|byte| match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'_' | b'.' => {
                char::from(byte).to_string()
            }
            _ => format!("%{byte:02X}"),
        })
        .collect();
    let disposition = format!("attachment; filename*=UTF-8''{encoded}");
    let disposition =
        HeaderValue::from_str(&disposition).unwrap_or(HeaderValue::from_static("attachment"));
    let kind = match Path::new(name).extension().and_then(|end| end.to_str()) {
        Some("png") => "image/png",
        Some("pdf") => "application/pdf",
        Some("json" | "geojson") => "application/json",
        _ => "application/octet-stream",
    };
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static(kind)),
        (header::CONTENT_DISPOSITION, disposition),
    ];
    (headers, Body::from(bytes)).into_response()
}
