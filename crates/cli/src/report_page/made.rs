//! How a report was made: enough to make it again and to see that nothing else went into it.

use formats::{Summary, listed_settings};
use survey::Depth;
use survey::units::tidy;

use super::ReportOf;
use crate::settings;

/// Names and values, in order.
pub fn made(of: &ReportOf) -> Vec<(String, String)> {
    let mut all = vec![
        ("Program".to_owned(), format!("loosedepth {}", env!("CARGO_PKG_VERSION"))),
        ("Command".into(), of.command.into()),
    ];
    let weather = of.stage.and_then(|stage| stage.weather.as_ref()).map(|file| ("weather", file));
    let files = of.loaded.files.iter().map(|(part, file)| (*part, file));
    all.extend(files.chain(weather).map(|(part, file)| {
        (format!("Input, {part}: {}", file.name()), format!("SHA-256 {}", file.sha256))
    }));
    let utm = of.latest().survey.field().utm();
    all.push(("Coordinate system".into(), format!("{} (EPSG:{})", utm.name(), utm.epsg())));
    all.extend(cross_validation(of));
    all.extend(listed(of));
    all
}

/// The leave-one-out check of each map.
fn cross_validation(of: &ReportOf) -> Vec<(String, String)> {
    let units = of.units();
    let depth =
        |cm: f64| format!("{} {}", tidy(units.depth(Depth::from_cm(cm)), 4), units.depth_unit());
    let visits = of.loaded.visits.iter();
    visits
        .map(|visit| {
            let validation = &visit.map.method.validation;
            let value = match validation.pairs.len() {
                0 => "no spot within reach of another".into(),
                spots => format!(
                    "root mean square error {}, mean absolute error {}, mean error {}, over {spots} spots",
                    depth(validation.rmse),
                    depth(validation.mae),
                    depth(validation.me)
                ),
            };
            (format!("Cross-validation, {}", visit.name), value)
        })
        .collect()
}

/// The settings of the latest map, by the names they have in its summary.json.
fn listed(of: &ReportOf) -> Vec<(String, String)> {
    let Some(source) = of.loaded.sources.last() else { return Vec::new() };
    let asked = source.args.read.options.threshold.first().cloned();
    let Ok(check) = settings::check_settings(&source.args, asked) else { return Vec::new() };
    let visit = of.latest();
    let settings = listed_settings(&Summary {
        version: env!("CARGO_PKG_VERSION"),
        field_name: &of.loaded.field_name,
        inputs: &of.loaded.files,
        check: &check,
        survey: &visit.survey,
        map: &visit.map,
        files: &[],
    });
    settings.into_iter().map(|(name, value)| (format!("Setting {name}"), value)).collect()
}
