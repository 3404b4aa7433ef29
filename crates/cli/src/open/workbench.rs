//! The map that the page draws while choices change: one thread keeps the last surface, and the latest request
//! wins.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::Instant;

use mapping::{DepthMap, FilledSurface, Tried, error_text};
use report::{MapViewOptions, VisitView, map_view, zone_paths};
use serde_json::{Value, json};
use survey::{CheckedSurvey, Finding, NoReading, Severity, Subject, UnitSystem};
use tokio::sync::oneshot;

use super::answer::Refused;
use super::choices::ZONES;
use super::command_line;
use super::field::Field;
use super::state::{Stamps, stamp_with_parts, stamps};
use super::visit_change::label;
use crate::args::{Command, MapArgs};
use crate::commands::asked_map::Asked;
use crate::commands::{self, Source};
use crate::{table, terminal};

/// What of a kriged map is not worked out for each move of a limit.
const UNTOLD: &str = "how much ground each class may have is told when the map is made";

/// Where requests wait, at most one at a time.
#[derive(Clone)]
pub struct Workbench(Arc<(Mutex<Option<Request>>, Condvar)>);

/// A map to be drawn.
struct Request {
    arguments: Vec<String>,
    field: Field,
    have: Option<String>,
    answer: oneshot::Sender<Result<Value, Refused>>,
}

impl Workbench {
    /// Starts its thread. A thread of its own keeps one PROJ, which takes longer to make than a map to redraw.
    pub fn start() -> Self {
        let bench = Workbench(Arc::default());
        let worker = bench.clone();
        std::thread::spawn(move || {
            let mut kept = None;
            let mut surfaces = 0;
            loop {
                let request = worker.next();
                let work = || drawn(&request, &mut kept, &mut surfaces);
                let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(work));
                let done = done.unwrap_or_else(|_| Err(Refused::failed()));
                // Who asked may have gone.
                let _ = request.answer.send(done);
            }
        });
        bench
    }

    /// The map that arguments of `map` make, for the page.
    ///
    /// # Errors
    /// When the command would fail, or a later request takes the place of this one.
    pub async fn preview(
        &self,
        arguments: Vec<String>,
        field: Field,
        have: Option<String>,
    ) -> Result<Value, Refused> {
        let (answer, answered) = oneshot::channel();
        let request = Request { arguments, field, have, answer };
        let waiting = {
            let (next, wake) = &*self.0;
            let waiting = next.lock().unwrap_or_else(PoisonError::into_inner).replace(request);
            wake.notify_one();
            waiting
        };
        if let Some(older) = waiting {
            let _ = older.answer.send(Err(Refused::superseded()));
        }
        answered.await.unwrap_or_else(|_| Err(Refused::failed()))
    }

    fn next(&self) -> Request {
        let (next, wake) = &*self.0;
        let mut waiting = next.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            if let Some(request) = waiting.take() {
                return request;
            }
            waiting = wake.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// What a surface depends on: the arguments but those of classes and zones, and the files.
#[derive(PartialEq, Eq)]
struct Key {
    folder: PathBuf,
    arguments: Vec<String>,
    files: Stamps,
}

impl Key {
    fn of(request: &Request, config: &crate::config::Config) -> Self {
        let mut rest = request.arguments.iter();
        let mut arguments = Vec::new();
        while let Some(argument) = rest.next() {
            match zone_flag(argument) {
                Some(true) => {}
                Some(false) => drop(rest.next()),
                None => arguments.push(argument.clone()),
            }
        }
        let mut files = stamps(&request.field, config);
        for argument in &arguments {
            let value = argument.split_once('=').map_or(argument.as_str(), |(_, value)| value);
            stamp_with_parts(&mut files, Path::new(value));
        }
        Key { folder: request.field.typed().to_path_buf(), arguments, files }
    }
}

/// Whether an argument is a flag of classes or zones, and then whether its value stands in the same argument.
fn zone_flag(argument: &str) -> Option<bool> {
    let flag = argument.strip_prefix("--")?;
    let (name, has_value) = match flag.split_once('=') {
        Some((name, _)) => (name, true),
        None => (flag, false),
    };
    // Other zones to take ids from are another file to read.
    (ZONES.contains(&name) && name != "earlier-zones").then_some(has_value)
}

/// The last surface, with what it was made from.
struct Kept {
    key: Key,
    id: String,
    asked: Asked,
    source: Source,
    survey: CheckedSurvey,
    surface: FilledSurface,
}

/// Draws a map, on the kept surface if that is still the one.
fn drawn(
    request: &Request,
    kept: &mut Option<Kept>,
    surfaces: &mut usize,
) -> Result<Value, Refused> {
    let begun = Instant::now();
    let Command::Map(args) = command_line::parsed(&request.arguments)? else {
        return Err(command_line::unknown("this"));
    };
    let config = request.field.config()?;
    let key = Key::of(request, &config);
    let asked = match kept {
        Some(kept) if kept.key == key => kept.asked.with_zones_of(args)?,
        _ => {
            // Its room is for the next one.
            *kept = None;
            *surfaces += 1;
            let made = Kept::make(args, key, surfaces.to_string())?;
            let asked = made.asked.clone();
            *kept = Some(made);
            asked
        }
    };
    let Some(kept) = kept else { return Err(Refused::failed()) };
    let mut settings = asked.settings.clone();
    let is_simulated = settings.realisations > 0;
    if is_simulated {
        // A hundred maps for each move of a limit would take longer than the eye waits.
        settings.realisations = 0;
    }
    let map = kept.surface.map(&kept.survey, &settings);
    let map = map.map_err(|error| Refused::of(&error, None))?;
    let is_new = request.have.as_deref() != Some(kept.id.as_str());
    let mut answer = kept.told(&asked, &map);
    answer["surface"] = json!(kept.id);
    answer["view"] = if is_new { kept.view(&map)? } else { Value::Null };
    if is_simulated && map.standard_error_cm.is_some() && map.strata.is_empty() {
        answer["notes"].as_array_mut().expect("told above").push(json!(UNTOLD));
    }
    answer["milliseconds"] = json!(begun.elapsed().as_millis() as u64);
    Ok(answer)
}

impl Kept {
    fn make(args: MapArgs, key: Key, id: String) -> Result<Self, Refused> {
        let mut asked = Asked::of(args)?;
        asked
            .completed
            .folder_for(&asked.args.result)
            .map_err(|error| Refused::of(&error, None))?;
        // The title is no part of the surface.
        let title = asked.args.title.take();
        let source = asked.read()?;
        asked.args.title = title;
        let threshold = commands::thresholds(&asked.args.survey.read).into_iter().next().flatten();
        let checked = || commands::checked(&asked.args.survey, &source, threshold);
        let (checked, _) = terminal::heard(checked);
        let (_, survey) = checked?;
        let surface = FilledSurface::new(&survey, &asked.settings);
        let surface = surface.map_err(|error| Refused::of(&error, None))?;
        Ok(Kept { key, id, asked, source, survey, surface })
    }

    fn view(&self, map: &DepthMap) -> Result<Value, Refused> {
        let day = self.survey.dates().map(|(first, _)| first.to_string()).unwrap_or_default();
        let label = label(&self.survey, map.classes.units());
        let visit = VisitView { day: &day, label: &label, survey: &self.survey, map };
        let view = map_view(&[visit], None, &MapViewOptions::default());
        serde_json::to_value(view).map_err(|error| Refused::from(error.to_string()))
    }

    /// All but the view.
    fn told(&self, asked: &Asked, map: &DepthMap) -> Value {
        let (survey, units) = (&self.survey, map.classes.units());
        let name = match asked.args.title.as_deref().filter(|title| !title.trim().is_empty()) {
            Some(title) => title,
            None => &self.source.field_name,
        };
        let findings: Vec<Value> = survey.findings().iter().map(|it| self.finding(it)).collect();
        let cell_m = map.depth_cm.grid.cell_m();
        let checked = table::surface(survey, &map.probed, &map.method, cell_m, units);
        let table = [table::survey(name, survey, units), table::map(survey, map)].join("\n");
        json!({
            "zones": zone_paths(map),
            "check": {
                "words": checked.lines().map(terminal::one_line).collect::<Vec<_>>(),
                "methods": methods(map),
            },
            "facts": facts(survey, units),
            "findings": findings,
            "notes": map.notes.iter().map(|note| terminal::one_line(note)).collect::<Vec<_>>(),
            "table": terminal::shown(&table),
        })
    }

    /// A finding with the point it is about, and where that is on the page.
    fn finding(&self, finding: &Finding) -> Value {
        let severity = match finding.severity {
            Severity::Note => "note",
            Severity::Doubt => "doubt",
            Severity::Fault => "fault",
        };
        let point = match &finding.subject {
            Subject::Record { id, .. } => id.clone(),
            Subject::Survey | Subject::Boundary => None,
        };
        json!({
            "severity": severity,
            "words": terminal::one_line(&finding.to_string()),
            "point": point,
            "at": self.place(finding),
        })
    }

    /// Where the reading lies that a finding is about, also where it was left out.
    fn place(&self, finding: &Finding) -> Option<[f64; 2]> {
        let Subject::Record { number, .. } = finding.subject else { return None };
        let all = &self.source.readings.survey.insertions;
        let insertion = all.iter().find(|insertion| insertion.number == number)?;
        let place = self.survey.field().utm().project(insertion.place).ok()?;
        let [x, y] = report::on_page(self.survey.field(), place);
        (x.is_finite() && y.is_finite()).then_some([x, y])
    }
}

/// The ways of making the surface that were tried, with their errors when each reading is left out.
fn methods(map: &DepthMap) -> Vec<Value> {
    let units = map.classes.units();
    let told = |tried: &Tried| {
        json!({
            "name": tried.name(),
            "error": tried.errors.as_ref().ok().map(|errors| error_text(errors.rmse, units)),
            "problem": tried.errors.as_ref().err().map(ToString::to_string),
            "chosen": tried.kind == map.method.estimator.kind(),
        })
    };
    map.method.best_of_kinds().into_iter().map(told).collect()
}

/// What was measured, each figure with its name.
fn facts(survey: &CheckedSurvey, units: UnitSystem) -> Vec<[String; 2]> {
    let spots = survey.spots().len();
    let fact = |name: &str, told: String| [name.to_owned(), told];
    let not_reached = survey.not_reached();
    let share = 100.0 * not_reached as f64 / spots as f64;
    let area_m2 = survey.field().ground_area_m2();
    let moisture = survey.moisture().map_or("not recorded".into(), |it| {
        format!("{:.1} % ({:.1} to {:.1} %)", it.mean_pct, it.min_pct, it.max_pct)
    });
    vec![
        fact("Readings", spots.to_string()),
        fact("Threshold", survey.threshold().to_string()),
        fact("Never reached it", format!("{not_reached} ({share:.1} %)")),
        fact("Stopped by stones or roots", survey.count_without(NoReading::Refused).to_string()),
        fact("Skipped", survey.count_without(NoReading::Skipped).to_string()),
        fact("Typical spacing", units.distance_text(survey.spacing_m())),
        fact("Soil moisture", moisture),
        fact("Field", format!("{:.2} {}", units.area(area_m2), units.area_unit())),
    ]
}
