//! Commands that make files: children of this program, with their progress, and stopped without leaving
//! half a result.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{ExitStatus, Stdio};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::http::StatusCode;
use serde_json::{Value, json};
use tokio::io::{AsyncBufRead, AsyncBufReadExt, BufReader};
use tokio::process::{Child, ChildStdin, Command};
use tokio::sync::watch;

use super::App;
use super::answer::Refused;
use super::command_line;
use super::downloads::{self, ResultFile};
use crate::exit::Exit;
use crate::terminal;

/// Jobs that are remembered.
const MOST_JOBS: usize = 20;
/// The most bytes of what a job says.
const MOST_TEXT: usize = 1 << 20;
/// A child that was asked to end and is writing its results has so long to write them.
const TO_WRITE: Duration = Duration::from_secs(60);

/// The jobs of a page, the earliest first.
#[derive(Default)]
pub struct Jobs(Mutex<Vec<Arc<Job>>>);

/// A command that runs or has run.
pub struct Job {
    id: String,
    command: String,
    told: Mutex<Told>,
    /// The child's standard input, which it ends with.
    input: Mutex<Option<ChildStdin>>,
    ended: watch::Receiver<bool>,
}

/// How far it is, and what it said.
#[derive(Default)]
struct Told {
    state: State,
    is_stopping: bool,
    step: usize,
    of: usize,
    doing: String,
    out: String,
    err: String,
    files: Vec<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum State {
    #[default]
    Running,
    Done,
    DoneWithFindings,
    Failed,
    Stopped,
}

impl State {
    fn word(self) -> &'static str {
        match self {
            State::Running => "running",
            State::Done => "done",
            State::DoneWithFindings => "done_with_findings",
            State::Failed => "failed",
            State::Stopped => "stopped",
        }
    }

    fn of(status: ExitStatus, was_stopped: bool) -> Self {
        let is = |exit: Exit| status.code() == Some(exit as i32);
        match was_stopped {
            _ if is(Exit::Done) => State::Done,
            _ if is(Exit::Findings) => State::DoneWithFindings,
            true => State::Stopped,
            false => State::Failed,
        }
    }
}

impl Jobs {
    /// Starts a command, unless one runs.
    ///
    /// # Errors
    /// When one runs, or the program cannot be started again.
    pub fn start(&self, app: &Arc<App>, arguments: &[String]) -> Result<Arc<Job>, Refused> {
        let mut jobs = self.all();
        if let Some(running) = jobs.iter().find(|job| job.is_running()) {
            let what =
                format!("{} is still running; stop it, or wait for its end", running.command);
            return Err(Refused::new(StatusCode::CONFLICT, &what));
        }
        let failed = |error: std::io::Error| {
            Refused::unusable(&format!("the program could not be started again ({error})"))
        };
        let program = std::env::current_exe().map_err(failed)?;
        if !program.is_file() {
            // A system tells the old file's place as `loosedepth (deleted)`.
            return Err(Refused::unusable(
                "loosedepth was replaced or moved since this page was opened; end it with Ctrl-C and open it \
                 again",
            ));
        }
        let before = results(app);
        let mut child = child(&program, arguments).map_err(failed)?;
        let (ends, ended) = watch::channel(false);
        let number = jobs.last().and_then(|job| job.id.parse::<usize>().ok()).unwrap_or(0);
        let job = Arc::new(Job {
            id: (number + 1).to_string(),
            command: command_line::text(arguments),
            told: Mutex::default(),
            input: Mutex::new(child.stdin.take()),
            ended,
        });
        jobs.push(Arc::clone(&job));
        let forgotten = jobs.len().saturating_sub(MOST_JOBS);
        jobs.drain(..forgotten);
        drop(jobs);
        tokio::spawn(follow(Arc::clone(app), Arc::clone(&job), child, before, ends));
        Ok(job)
    }

    /// A job by its id.
    ///
    /// # Errors
    /// When there is none.
    pub fn of(&self, id: &str) -> Result<Arc<Job>, Refused> {
        let found = self.all().iter().find(|job| job.id == id).map(Arc::clone);
        found.ok_or_else(|| Refused::not_found("there is no such job"))
    }

    /// All of them, as the page reads them.
    pub fn json(&self) -> Value {
        self.all().iter().map(|job| job.json()).collect()
    }

    /// Whether a command runs.
    pub fn is_any_running(&self) -> bool {
        self.all().iter().any(|job| job.is_running())
    }

    /// Stops what runs, and waits until it has ended.
    pub async fn end_all(&self) {
        let all: Vec<Arc<Job>> = self.all().iter().map(Arc::clone).collect();
        for job in all {
            job.stop().await;
        }
    }

    fn all(&self) -> MutexGuard<'_, Vec<Arc<Job>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// This program again with other arguments. It has a group of its own, so that Ctrl-C comes to it through us.
fn child(program: &Path, arguments: &[String]) -> std::io::Result<Child> {
    let mut command = Command::new(program);
    command.args(arguments).env(terminal::PROGRESS, "1");
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command.kill_on_drop(true);
    #[cfg(unix)]
    command.process_group(0);
    command.spawn()
}

/// Listens to a child until it ends.
async fn follow(
    app: Arc<App>,
    job: Arc<Job>,
    mut child: Child,
    before: BTreeMap<String, ResultFile>,
    ends: watch::Sender<bool>,
) {
    let (out, err) = (child.stdout.take(), child.stderr.take());
    let hear_out = async {
        if let Some(out) = out {
            lines(BufReader::new(out), |line| add(&mut job.told().out, line)).await;
        }
    };
    let hear_err = async {
        if let Some(err) = err {
            lines(BufReader::new(err), |line| job.told().hear(line)).await;
        }
    };
    let ((), ()) = tokio::join!(hear_out, hear_err);
    let status = child.wait().await;
    let after = tokio::task::spawn_blocking(move || results(&app)).await.unwrap_or_default();
    let files = after.into_iter().filter(|(path, file)| before.get(path) != Some(file));
    {
        let mut told = job.told();
        told.files = files.map(|(path, _)| path).collect();
        told.state = match status {
            Ok(status) => State::of(status, told.is_stopping),
            Err(_) => State::Failed,
        };
    }
    let _ = ends.send(true);
}

/// The results by name, to tell which are new.
fn results(app: &App) -> BTreeMap<String, ResultFile> {
    let config = app.field.config().unwrap_or_default();
    let files = downloads::files(app, &config).unwrap_or_default();
    files.into_iter().map(|file| (file.path.clone(), file)).collect()
}

/// Hands over each line, as text.
async fn lines(mut from: impl AsyncBufRead + Unpin, mut take: impl FnMut(&str)) {
    let mut line = Vec::new();
    while from.read_until(b'\n', &mut line).await.is_ok_and(|count| count > 0) {
        take(String::from_utf8_lossy(&line).trim_end_matches(['\n', '\r']));
        line.clear();
    }
}

/// Adds a line, as long as there is room.
fn add(text: &mut String, line: &str) {
    if text.len() + line.len() < MOST_TEXT {
        text.push_str(line);
        text.push('\n');
    }
}

impl Told {
    /// A line of talk, or of progress.
    fn hear(&mut self, line: &str) {
        let progress = line.strip_prefix("progress ").and_then(|rest| {
            let mut parts = rest.splitn(3, ' ');
            let step = parts.next()?.parse().ok()?;
            let of = parts.next()?.parse().ok()?;
            Some((step, of, parts.next().unwrap_or_default()))
        });
        match progress {
            Some((step, of, doing)) => {
                (self.step, self.of, self.doing) = (step, of, doing.to_owned());
            }
            None => add(&mut self.err, line),
        }
    }
}

impl Job {
    fn told(&self) -> MutexGuard<'_, Told> {
        self.told.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn is_running(&self) -> bool {
        self.told().state == State::Running
    }

    /// Stops it, unless it has ended: its input ends, and with it the child, but never while it writes results.
    pub async fn stop(&self) {
        if !self.is_running() {
            return;
        }
        self.told().is_stopping = true;
        drop(self.input.lock().unwrap_or_else(PoisonError::into_inner).take());
        let mut ended = self.ended.clone();
        let _ = tokio::time::timeout(TO_WRITE, ended.wait_for(|ended| *ended)).await;
    }

    /// As the page reads it.
    pub fn json(&self) -> Value {
        let told = self.told();
        // The sentence of `refuse_existing`.
        let exists = told.state == State::Failed && told.err.contains("give --replace to replace");
        json!({
            "id": self.id,
            "command": self.command,
            "state": told.state.word(),
            "step": told.step,
            "of": told.of,
            "doing": told.doing,
            "out": told.out,
            "err": told.err,
            "exists": exists,
            "files": told.files,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_is_no_talk() {
        let mut told = Told::default();
        told.hear("progress 3 12 map of 2025-05-09");
        told.hear("note: progress is slow");
        told.hear("progress of nothing");
        assert_eq!((told.step, told.of, told.doing.as_str()), (3, 12, "map of 2025-05-09"));
        assert_eq!(told.err, "note: progress is slow\nprogress of nothing\n");
    }
}
