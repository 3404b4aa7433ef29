//! From arguments to settings. Nothing behind this file knows of flags.

use formats::DepthField;
use mapping::{DepthClasses, MapSettings, MappingError};
use survey::{Area, CheckSettings, DepthUnit, UnitSystem};

use crate::args::{LengthUnit, MapArgs, Power, SurveyArgs, Units};

pub fn units(args: &SurveyArgs) -> UnitSystem {
    match args.units {
        Units::Us => UnitSystem::Us,
        Units::Si => UnitSystem::Si,
    }
}

pub fn depth_field(args: &SurveyArgs) -> Option<DepthField> {
    let unit = match args.depth_unit? {
        LengthUnit::In => DepthUnit::Inches,
        LengthUnit::Cm => DepthUnit::Centimetres,
    };
    Some(DepthField { name: args.depth_field.clone()?, unit })
}

pub fn check_settings(args: &SurveyArgs) -> Result<CheckSettings, String> {
    if !(args.edge_tolerance >= 0.0 && args.edge_tolerance.is_finite()) {
        return Err(format!("--edge-tolerance cannot be {} m", args.edge_tolerance));
    }
    Ok(CheckSettings {
        threshold: args.threshold,
        dates: args.date,
        edge_tolerance_m: args.edge_tolerance,
        ..CheckSettings::default()
    })
}

pub fn map_settings(args: &MapArgs) -> Result<MapSettings, MappingError> {
    let units = units(&args.survey);
    Ok(MapSettings {
        classes: match &args.classes {
            Some(limits) => DepthClasses::new(limits, units)?,
            None => DepthClasses::rod_marks(units),
        },
        power: match args.power {
            Power::Auto => None,
            Power::Fixed(power) => Some(power),
        },
        neighbours: args.neighbours,
        reach_m: args.reach,
        cell_m: args.cell,
        smallest_zone_m2: args.smallest_zone.map(Area::m2),
    })
}
