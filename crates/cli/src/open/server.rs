//! What the page can ask for, and who answers it.

use std::error::Error;
use std::net::TcpListener;
use std::sync::Arc;

use axum::extract::{DefaultBodyLimit, Multipart, Path, Query, State};
use axum::http::StatusCode;
use axum::middleware::from_fn_with_state;
use axum::response::Response;
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::Deserialize;
use serde_json::{Map, Value, json};

use super::answer::{Refused, Sent};
use super::choices::{self, Choices, Chosen};
use super::settings_edit::Edit;
use super::{App, assets, command_line, downloads, dropped, guard, rates, settings_edit, state};
use crate::terminal;

/// The most bytes of a request of JSON.
pub const MOST_JSON: usize = 2 << 20;
/// The most bytes of dropped files.
pub const MOST_FILES: usize = 300 << 20;
/// Where dropped files go.
pub const FILES: &str = "api/files";

type Answer = Result<Json<Value>, Refused>;
type Page = State<Arc<App>>;

/// Serves the page until Ctrl-C; then the jobs that still run are ended.
///
/// # Errors
/// When the machine gives no threads or sockets.
pub fn serve(app: &Arc<App>, listener: TcpListener) -> Result<(), Box<dyn Error>> {
    listener.set_nonblocking(true)?;
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
    runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let routes = routes(app);
        tokio::select! {
            ended = axum::serve(listener, routes) => ended?,
            () = asked_to_end() => {}
        }
        if app.jobs.is_any_running() {
            let what = "a command is ended, or writes its last results first; Ctrl-C again waits no longer";
            terminal::print_notes(&[what.to_owned()]);
        }
        tokio::select! {
            () = app.jobs.end_all() => {}
            () = asked_to_end() => {}
        }
        Ok::<(), Box<dyn Error>>(())
    })?;
    // Work that no one waits for any more.
    runtime.shutdown_background();
    Ok(())
}

/// Ctrl-C, or what ends a program of this system.
async fn asked_to_end() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupted => {}
                _ = terminated.recv() => {}
            }
            return;
        }
    }
    let _ = interrupted.await;
}

fn routes(app: &Arc<App>) -> Router {
    let at = |path: &str| format!("/{}/{path}", app.token);
    Router::new()
        .route(&at(""), get(async || assets::answer("index.html")))
        .route(&at("assets/{name}"), get(async |Path(name): Path<String>| assets::answer(&name)))
        .route(&at("api/state"), get(page_state))
        .route(&at("api/choices"), post(choose))
        .route(&at("api/settings"), post(edit_settings))
        .route(&at("api/rates"), get(show_rates).post(save_rates))
        .route(&at("api/rates/new"), post(new_rates))
        .route(&at("api/preview"), post(preview))
        .route(&at("api/compare"), post(compare))
        .route(&at("api/strips"), post(strips))
        .route(&at("api/run"), post(run))
        .route(&at("api/jobs/{id}"), get(job))
        .route(&at("api/jobs/{id}/stop"), post(stop))
        .route(&at("api/results.zip"), get(all_results))
        .route(&at("api/results/{*path}"), get(result))
        .layer(DefaultBodyLimit::max(MOST_JSON))
        .route(&at(FILES), post(take_files).layer(DefaultBodyLimit::max(MOST_FILES)))
        .fallback(async || Refused::not_found("there is nothing here"))
        .layer(from_fn_with_state(Arc::clone(app), guard::guard))
        .with_state(Arc::clone(app))
}

/// Work that reads files or reckons, off the threads that answer.
async fn apart<T: Send + 'static>(
    app: Arc<App>,
    work: impl FnOnce(&App) -> Result<T, Refused> + Send + 'static,
) -> Result<T, Refused> {
    let done = tokio::task::spawn_blocking(move || work(&app)).await;
    done.unwrap_or_else(|_| Err(Refused::failed()))
}

async fn page_state(State(app): Page) -> Answer {
    apart(app, |app| Ok(Json(state::json(app)))).await
}

async fn choose(State(app): Page, Sent(sent): Sent<Map<String, Value>>) -> Answer {
    apart(app, move |app| {
        let (choices, notes, unsaved) = choices::choose(app, Chosen::of(sent)?)?;
        let unsaved = unsaved.map(|refused| refused.json());
        let choices = state::with_days(app, choices);
        let config = app.field.config().unwrap_or_default();
        let commands = choices.commands(&app.field, &config);
        Ok(Json(json!({
            "choices": choices.json(), "commands": commands, "unsaved": unsaved, "notes": notes,
        })))
    })
    .await
}

async fn edit_settings(State(app): Page, Sent(edit): Sent<Edit>) -> Answer {
    apart(app, move |app| {
        settings_edit::apply(app, &edit)?;
        Ok(Json(state::json(app)))
    })
    .await
}

async fn show_rates(State(app): Page) -> Answer {
    apart(app, |app| Ok(Json(rates::json(app)?))).await
}

/// The text of a rates file.
#[derive(Deserialize)]
struct RatesText {
    text: String,
    /// What tells the text that it was begun from.
    base: Option<String>,
}

async fn save_rates(State(app): Page, Sent(rates): Sent<RatesText>) -> Answer {
    apart(app, move |app| {
        rates::save(app, &rates.text, rates.base.as_deref())?;
        Ok(Json(rates::json(app)?))
    })
    .await
}

async fn new_rates(State(app): Page) -> Answer {
    apart(app, |app| {
        rates::begin(app)?;
        Ok(Json(rates::json(app)?))
    })
    .await
}

/// How dropped files are taken.
#[derive(Default)]
struct Taking {
    /// The files that may be replaced, by their paths below the field's folder.
    replace: Vec<String>,
    /// What they are, where the user says so.
    kind: Option<String>,
}

impl Taking {
    fn of(asked: Vec<(String, String)>) -> Result<Self, Refused> {
        let mut taking = Taking::default();
        for (key, value) in asked {
            match (key.as_str(), value.as_str()) {
                ("replace", "true" | "false") => {
                    let what = "name the files to replace, one by one";
                    return Err(Refused::new(StatusCode::BAD_REQUEST, what));
                }
                ("replace", _) => taking.replace.push(value),
                ("as", _) => taking.kind = Some(value),
                _ => {
                    let what = format!("{key:?} is not asked when files are dropped");
                    return Err(Refused::new(StatusCode::BAD_REQUEST, &what));
                }
            }
        }
        Ok(taking)
    }
}

async fn take_files(
    State(app): Page,
    Query(asked): Query<Vec<(String, String)>>,
    files: Multipart,
) -> Answer {
    let taking = Taking::of(asked)?;
    let received = dropped::receive(&app, files).await?;
    apart(app, move |app| {
        let taken = dropped::take(app, &received, taking.kind.as_deref(), &taking.replace)?;
        Ok(Json(json!({ "taken": taken })))
    })
    .await
}

/// What is to be drawn.
#[derive(Deserialize)]
struct Draw {
    choices: Choices,
    /// The surface that the page has.
    have: Option<String>,
}

async fn preview(State(app): Page, Sent(Draw { choices, have }): Sent<Draw>) -> Answer {
    let asked = Arc::clone(&app);
    let list = apart(asked, move |app| state::arguments(app, "map", choices, false)).await?;
    Ok(Json(app.workbench.preview(list, app.field.clone(), have).await?))
}

async fn compare(State(app): Page, Sent(Draw { choices, .. }): Sent<Draw>) -> Answer {
    apart(app, |app| {
        let list = state::arguments(app, "compare", choices, false)?;
        Ok(Json(super::visit_change::json(&list)?))
    })
    .await
}

async fn strips(State(app): Page, Sent(Draw { choices, .. }): Sent<Draw>) -> Answer {
    apart(app, |app| {
        let list = state::arguments(app, "plan", choices, false)?;
        Ok(Json(super::strips::json(&list, &app.field.config()?)?))
    })
    .await
}

/// A command to run.
#[derive(Deserialize)]
struct Run {
    command: String,
    choices: Choices,
    #[serde(default)]
    replace: bool,
}

async fn run(State(app): Page, Sent(Run { command, choices, replace }): Sent<Run>) -> Answer {
    let asked = Arc::clone(&app);
    let list = apart(asked, move |app| {
        let list = state::arguments(app, &command, choices, replace)?;
        // What the command line would refuse is refused at once, in its words.
        command_line::parsed(&list)?;
        downloads::refuse_outside(app, &app.field.config()?)?;
        Ok(list)
    })
    .await?;
    Ok(Json(app.jobs.start(&app, &list)?.json()))
}

async fn job(State(app): Page, Path(id): Path<String>) -> Answer {
    Ok(Json(app.jobs.of(&id)?.json()))
}

async fn stop(State(app): Page, Path(id): Path<String>) -> Answer {
    let job = app.jobs.of(&id)?;
    job.stop().await;
    Ok(Json(job.json()))
}

async fn result(State(app): Page, Path(path): Path<String>) -> Result<Response, Refused> {
    apart(app, move |app| downloads::file(app, &path)).await
}

async fn all_results(State(app): Page) -> Result<Response, Refused> {
    apart(app, downloads::archive).await
}
