//! When the crop of a field reaches its reproductive stage, as far as the folder tells: visits go until then.

use std::error::Error;

use formats::{InputFile, read_weather};
use season::{
    Crop, GrowingDegrees, NoDegrees, ObservedStage, Stage, StageDate, Visit, calendar_words,
    stage_date,
};
use survey::{Date, Finding};

use crate::config::Config;

/// The reproductive stage of a season.
pub struct ReproductiveStage {
    /// Its first and last day: one day where it was seen, a window where it is estimated.
    pub days: Option<[Date; 2]>,
    /// What it is called: `silking (R1) of corn`.
    pub name: String,
    /// When it is reached and how that is known, or why not.
    pub sentence: String,
    /// The weather file, where there is one.
    pub weather: Option<InputFile>,
    /// Lines of it that were left out.
    pub findings: Vec<Finding>,
}

/// The stage, from what the settings of the folder say; `None` where they say nothing of the crop.
///
/// # Errors
/// When the weather cannot be read, or the crop has no such stage as was seen.
pub fn reproductive_stage(
    config: &Config,
    visits: &[Visit],
) -> Result<Option<ReproductiveStage>, Box<dyn Error>> {
    let Some(crop) = config.crop.as_deref().map(Crop::from_name) else { return Ok(None) };
    let observed = config
        .stages
        .iter()
        .map(|seen| Ok(ObservedStage { date: seen.date, stage: crop.stage(&seen.stage)? }))
        .collect::<Result<Vec<ObservedStage>, Box<dyn Error>>>()?;
    let (weather, file) = config.weather.as_deref().map(read_weather).transpose()?.unzip();
    // As `calendar` has it: what lies after the last visit or stage seen is no knowledge.
    let last_visit = visits.iter().filter_map(|visit| Some(visit.survey.dates()?.1)).max();
    let seen = observed.iter().map(|seen| seen.date).max();
    let degrees = match (config.planted, &file, last_visit.max(seen)) {
        (None, ..) => Err(NoDegrees::NotPlanted),
        (_, None, _) | (_, _, None) => Err(NoDegrees::NoWeather),
        (Some(planted), Some(file), Some(today)) => {
            GrowingDegrees::since(planted, &file.weather, today)
        }
    };
    let target = Stage::FLOWERING;
    let stage = stage_date(Some(&crop), target, &observed, degrees.as_ref());
    Ok(Some(ReproductiveStage {
        days: days(&stage),
        name: calendar_words::target_text(Some(&crop), target),
        sentence: calendar_words::stage_sentence(
            Some(&crop),
            target,
            &stage,
            degrees.as_ref().ok(),
        ),
        weather,
        findings: file.map(|file| file.findings).unwrap_or_default(),
    }))
}

fn days(stage: &StageDate) -> Option<[Date; 2]> {
    match stage {
        StageDate::Seen(seen) => Some([seen.date, seen.date]),
        StageDate::Estimated { first, last, .. } => Some([first.date, last.date]),
        StageDate::Unknown(_) => None,
    }
}
