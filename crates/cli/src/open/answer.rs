//! Answers that are no: the sentences of the terminal, as JSON.

use std::error::Error;
use std::path::Path;

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};

use crate::terminal;

/// Why a request was not done.
#[derive(Debug, Clone)]
pub struct Refused {
    status: StatusCode,
    lines: Vec<String>,
    /// What the page may act on: `exists`, `superseded`.
    flag: Option<&'static str>,
    /// The files that are there already, where the page may name them back.
    exists: Vec<String>,
}

impl Refused {
    /// In one sentence.
    pub fn new(status: StatusCode, what: &str) -> Self {
        Refused { status, lines: vec![terminal::shown(what)], flag: None, exists: Vec::new() }
    }

    /// Something the user can put right.
    pub fn unusable(what: &str) -> Self {
        Refused::new(StatusCode::UNPROCESSABLE_ENTITY, what)
    }

    /// Something of ours broke.
    pub fn failed() -> Self {
        let what = "this did not work, and the fault is the program's; what it said stands in its terminal";
        Refused::new(StatusCode::INTERNAL_SERVER_ERROR, what)
    }

    /// Nothing is there.
    pub fn not_found(what: &str) -> Self {
        Refused::new(StatusCode::NOT_FOUND, what)
    }

    /// The same, of what is asked for by its address.
    pub fn into_not_found(self) -> Self {
        Refused { status: StatusCode::NOT_FOUND, ..self }
    }

    /// A file is there already, and its replacement was not asked for.
    pub fn exists(what: &str) -> Self {
        Refused { flag: Some("exists"), ..Refused::new(StatusCode::CONFLICT, what) }
    }

    /// Files are there already, and their replacement was not asked for.
    pub fn all_exist(what: &str, exists: Vec<String>) -> Self {
        Refused { exists, ..Refused::new(StatusCode::CONFLICT, what) }
    }

    /// A file is another by now.
    pub fn changed(what: &str) -> Self {
        Refused { flag: Some("changed"), ..Refused::new(StatusCode::CONFLICT, what) }
    }

    /// A later request took its place.
    pub fn superseded() -> Self {
        let what = "a later request took the place of this one";
        Refused { flag: Some("superseded"), ..Refused::new(StatusCode::CONFLICT, what) }
    }

    /// An error with its causes; what stands in a folder that the user does not know is told without it.
    pub fn of(error: &dyn Error, hidden: Option<&Path>) -> Self {
        match hidden {
            Some(hidden) => Refused::of_copy(error, hidden, Path::new("")),
            None => Refused::of_lines(terminal::error_lines(error, str::to_owned)),
        }
    }

    /// An error of a copy in another folder, told as that of the file itself.
    pub fn of_copy(error: &dyn Error, copies: &Path, folder: &Path) -> Self {
        let hidden = format!("{}{}", copies.display(), std::path::MAIN_SEPARATOR);
        let shown = folder.join("").display().to_string();
        Refused::of_lines(terminal::error_lines(error, |text| text.replace(&hidden, &shown)))
    }

    fn of_lines(lines: Vec<String>) -> Self {
        let status = StatusCode::UNPROCESSABLE_ENTITY;
        Refused { status, lines, flag: None, exists: Vec::new() }
    }

    /// Arguments that the command line would refuse, in its words.
    pub fn of_arguments(error: &clap::Error) -> Self {
        let text = error.render().to_string();
        let mut lines: Vec<String> = text
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty() && !line.starts_with("For more information"))
            .take_while(|line| !line.starts_with("Usage:"))
            .map(terminal::one_line)
            .collect();
        if let Some(first) = lines.first_mut()
            && let Some(rest) = first.strip_prefix("error: ")
        {
            *first = rest.to_owned();
        }
        Refused::of_lines(lines)
    }

    /// Its first sentence.
    pub fn text(&self) -> String {
        self.lines.first().cloned().unwrap_or_default()
    }

    /// As the page reads it, also where it is a part of an answer.
    pub fn json(&self) -> Value {
        let (first, because) =
            self.lines.split_first().map_or(("", &[][..]), |(first, rest)| (first.as_str(), rest));
        let mut told = Map::new();
        told.insert("error".into(), json!(first));
        told.insert("because".into(), json!(because));
        if let Some(flag) = self.flag {
            told.insert(flag.into(), json!(true));
        }
        if !self.exists.is_empty() {
            told.insert("exists".into(), json!(self.exists));
        }
        Value::Object(told)
    }
}

impl From<Box<dyn Error>> for Refused {
    fn from(error: Box<dyn Error>) -> Self {
        Refused::of(&*error, None)
    }
}

impl From<formats::FormatError> for Refused {
    fn from(error: formats::FormatError) -> Self {
        Refused::of(&error, None)
    }
}

impl From<String> for Refused {
    fn from(what: String) -> Self {
        Refused::unusable(&what)
    }
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        (self.status, Json(self.json())).into_response()
    }
}

/// What a request sends as JSON.
pub struct Sent<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Sent<T> {
    type Rejection = Refused;

    async fn from_request(request: Request, state: &S) -> Result<Self, Refused> {
        let told =
            |rejection: JsonRejection| Refused::new(rejection.status(), &rejection.body_text());
        let Json(sent) = Json::<T>::from_request(request, state).await.map_err(told)?;
        Ok(Sent(sent))
    }
}
