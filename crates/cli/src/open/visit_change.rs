//! Two visits and their change on the page.

use report::{ChangeView, MapViewOptions, VisitView, change_limits_cm, map_view};
use serde_json::{Value, json};
use survey::{CheckedSurvey, UnitSystem};

use super::answer::Refused;
use super::command_line;
use crate::args::Command;
use crate::commands::compare::Made;
use crate::{change_picture, compare_table, terminal};

/// The day of a visit, as a reader in these units writes it.
pub fn label(survey: &CheckedSurvey, units: UnitSystem) -> String {
    survey.dates().map(|(first, _)| report::day(first, units)).unwrap_or_default()
}

/// The comparison that arguments of `compare` make, as the page draws it.
///
/// # Errors
/// When the command would fail.
pub fn json(arguments: &[String]) -> Result<Value, Refused> {
    let Command::Compare(args) = command_line::parsed(arguments)? else {
        return Err(command_line::unknown("this"));
    };
    let (made, said) = terminal::heard(|| Made::unwritten(&args));
    let made = made?;
    let compared = made.compared();
    let labels = compared.visits.map(|visit| label(&visit.survey, visit.map.classes.units()));
    let [earlier, later] = compared.visits;
    let visits = [(earlier, &labels[0]), (later, &labels[1])].map(|(visit, label)| VisitView {
        day: &visit.name,
        label,
        survey: &visit.survey,
        map: &visit.map,
    });
    let change = &made.found.change;
    let view = ChangeView {
        visits: [0, 1],
        change_cm: &change.change_cm,
        half_width_cm: &change.half_width_cm,
        confidence: change.confidence,
        limits_cm: &change_limits_cm(visits[1].map.classes.units()),
    };
    let view = map_view(&visits, Some(&view), &MapViewOptions::default());
    let view = serde_json::to_value(view).map_err(|error| error.to_string())?;
    let table = terminal::shown(&compare_table::text(&compared));
    let mut words = vec![made.found.moisture.sentence(), change_picture::verdict(&compared)];
    words.extend(compare_table::sentences(&compared));
    let said = said.err.lines().chain(made.found.pairs.notes.iter().map(String::as_str));
    Ok(json!({
        "view": view,
        "words": words.iter().map(|line| terminal::one_line(line)).collect::<Vec<_>>(),
        "notes": said.map(terminal::one_line).collect::<Vec<_>>(),
        "table": table,
    }))
}
