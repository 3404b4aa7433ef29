//! From arguments to settings. Nothing behind this file knows of flags.

use std::error::Error;

use formats::{Columns, ReadSettings, TaskdataSettings, Version, Zones};
use geostat::{Anisotropy, SectorKind, Sectors};
use mapping::{
    DepthClasses, MapSettings, MappingError, MethodChoice, ProbabilityChoice, ZoneSettings,
};
use plan::{CheckStrips, PlanSettings};
use survey::{
    Area, CheckSettings, CoordinateSystem, Depth, DepthUnit, Length, Threshold, UnitSystem,
};

use crate::args::{
    ChanceArgs, InterpolationArgs, LengthUnit, MapArgs, Method, Power, Probability, ReadOptions,
    StripArgs, SurveyArgs, TaskdataZones, TerminalArgs, Units, ZoneArgs, ZoneCells,
};
use crate::config::{Config, NAME};
use crate::exit::WrongArguments;

pub fn units(options: &ReadOptions) -> UnitSystem {
    unit_system(options.units.unwrap_or(Units::Us))
}

/// The units of a flag.
pub fn unit_system(units: Units) -> UnitSystem {
    match units {
        Units::Us => UnitSystem::Us,
        Units::Si => UnitSystem::Si,
    }
}

/// Limits between depth classes: those given, or those of the settings file where they are in the units asked for.
///
/// # Errors
/// When those of the settings file are in other units: 3 inches are no 3 centimetres.
pub fn class_limits<'a>(
    given: Option<&'a [f64]>,
    config: &'a Config,
    units: UnitSystem,
) -> Result<Option<&'a [f64]>, WrongArguments> {
    let Some(kept) = config.classes.as_deref().filter(|_| given.is_none()) else {
        return Ok(given);
    };
    let kept_in = unit_system(config.units.unwrap_or(Units::Us));
    if kept_in == units {
        return Ok(Some(kept));
    }
    let file = config.file.as_ref().map_or(NAME.into(), |file| file.path.display().to_string());
    let word = |units| match units {
        UnitSystem::Us => ("us", "inches"),
        UnitSystem::Si => ("si", "centimetres"),
    };
    let ((_, kept_in), (asked, asked_in)) = (word(kept_in), word(units));
    Err(WrongArguments(format!(
        "{file}: its classes are in {kept_in}, and --units {asked} was given; give --classes in {asked_in}"
    )))
}

/// How the survey's file is read: flags over the settings file over known names.
pub fn read_settings(args: &ReadOptions, config: &Config) -> Result<ReadSettings, Box<dyn Error>> {
    let mut columns: Columns = config.columns.clone();
    for column in &args.column {
        columns.set(column).map_err(|problem| format!("--column {column}: {problem}"))?;
    }
    if let (Some(name), Some(unit)) = (&args.depth_field, args.depth_unit) {
        let unit = match unit {
            LengthUnit::In => DepthUnit::Inches,
            LengthUnit::Cm => DepthUnit::Centimetres,
        };
        columns.set_depth(name, unit);
    }
    if let Some(group) = &args.group {
        columns.set_group(group);
    }
    let crs = args.crs.as_deref().map(CoordinateSystem::from_name).transpose()?;
    Ok(ReadSettings { columns, crs, join: args.join.clone() })
}

pub fn sustained(args: &ReadOptions) -> Depth {
    args.sustained.unwrap_or(Depth::from_m(0.0))
}

pub fn check_settings(
    args: &SurveyArgs,
    threshold: Option<Threshold>,
) -> Result<CheckSettings, String> {
    let edge_tolerance_m = args.check.edge_tolerance;
    if !(edge_tolerance_m >= 0.0 && edge_tolerance_m.is_finite()) {
        return Err(format!("--edge-tolerance cannot be {edge_tolerance_m} m"));
    }
    Ok(CheckSettings {
        threshold,
        dates: args.read.options.date,
        edge_tolerance_m,
        sustained: sustained(&args.read.options),
        rod: args.check.rod,
        ..CheckSettings::default()
    })
}

pub fn map_settings(args: &MapArgs) -> Result<MapSettings, MappingError> {
    let units = units(&args.survey.read.options);
    let mut settings = interpolation_settings(&args.interpolation, units)?;
    set_chance(&mut settings, &args.chance);
    refuse_unused_simulation(args)?;
    refuse_simulated_strata(args)?;
    settings.realisations = args.realisations.unwrap_or(settings.realisations);
    settings.seed = args.seed.unwrap_or(settings.seed);
    if let Some(limits) = &args.classes {
        settings.classes = DepthClasses::new(limits, units)?;
    }
    settings.zones = zone_settings(&args.zones)?;
    Ok(settings)
}

/// What the machine's terminal gets.
pub fn taskdata_settings(args: &TerminalArgs) -> Result<TaskdataSettings, String> {
    let cell_m = args.taskdata_cell.map(Length::m);
    if cell_m.is_some_and(|cell_m| cell_m <= 0.0) {
        return Err("--taskdata-cell must be above zero".into());
    }
    if cell_m.is_some() && args.taskdata == TaskdataZones::Polygons {
        return Err("--taskdata polygons has no use for --taskdata-cell; leave it out".into());
    }
    Ok(TaskdataSettings {
        version: if args.taskdata_version == 4 { Version::V4 } else { Version::V3 },
        zones: match args.taskdata {
            TaskdataZones::Zones => Zones::GridType1,
            TaskdataZones::Doses => Zones::GridType2,
            TaskdataZones::Polygons => Zones::Polygons,
        },
        cell_m,
    })
}

/// Seed of the draw of check strips unless another is given.
const STRIP_SEED: u64 = 1;
/// Most check strips, and most passes in one.
const MOST_STRIPS: usize = 1_000;

/// Passes and check strips of a plan.
pub fn plan_settings(args: &StripArgs) -> Result<PlanSettings, String> {
    let passes = args.strip_passes.unwrap_or(1);
    for (option, number) in
        [("--check-strips", args.check_strips), ("--strip-passes", Some(passes))]
    {
        if number.is_some_and(|number| !(1..=MOST_STRIPS).contains(&number)) {
            return Err(format!("{option} must be from 1 to {MOST_STRIPS}"));
        }
    }
    let seed = args.seed.unwrap_or(STRIP_SEED);
    Ok(PlanSettings {
        swath_m: args.swath.map(Length::m),
        heading_deg: args.heading,
        check_strips: args.check_strips.map(|count| CheckStrips { count, passes, seed }),
    })
}

/// Which chance is mapped, and how it is estimated.
pub fn set_chance(settings: &mut MapSettings, args: &ChanceArgs) {
    settings.thinner_than = args.thinner_than;
    settings.probability = match args.probability {
        Probability::Auto => ProbabilityChoice::Auto,
        Probability::Indicator => ProbabilityChoice::Indicator,
        Probability::Normal => ProbabilityChoice::Normal,
    };
}

/// How zones are drawn.
///
/// # Errors
/// When settings contradict each other.
pub fn zone_settings(args: &ZoneArgs) -> Result<ZoneSettings, MappingError> {
    let cells = match args.zone_cells {
        Some(ZoneCells::Swath) => Some(args.swath.ok_or(MappingError::CellsOfNoSwath)?),
        Some(ZoneCells::Side(side)) => Some(side),
        None => None,
    };
    let along = [args.swath.is_some(), args.narrowest_zone.is_some(), args.zone_cells.is_some()];
    let is_heading = args.heading.is_some_and(|deg| (0.0..=360.0).contains(&deg));
    if is_heading && !along.contains(&true) {
        return Err(MappingError::HeadingAlone);
    }
    Ok(ZoneSettings {
        smallest_m2: args.smallest_zone.map(Area::m2),
        swath_m: args.swath.map(Length::m),
        narrowest_m: args.narrowest_zone.map(Length::m),
        heading_deg: args.heading,
        cells_m: cells.map(Length::m),
        most: args.most_zones,
        border_tolerance_m: args.border_tolerance.map(Length::m),
        earlier: Vec::new(),
    })
}

/// Maps are drawn around a kriged map alone: for another the options would do nothing.
fn refuse_unused_simulation(args: &MapArgs) -> Result<(), MappingError> {
    let method = match args.interpolation.method {
        Method::Kriging | Method::Auto => return Ok(()),
        Method::Idw => "idw",
        Method::Mean => "mean",
    };
    let given = [("--realisations", args.realisations.is_some()), ("--seed", args.seed.is_some())];
    match given.into_iter().find(|(_, is_given)| *is_given) {
        Some((option, _)) => Err(MappingError::OptionOfOther { option, method }),
        None => Ok(()),
    }
}

/// Maps are drawn for a field as a whole: with strata the options would do nothing.
fn refuse_simulated_strata(args: &MapArgs) -> Result<(), MappingError> {
    let given = [
        ("--thinner-than", args.chance.thinner_than.is_some()),
        ("--realisations", args.realisations.is_some_and(|count| count > 0)),
        ("--seed", args.seed.is_some()),
    ];
    match given.into_iter().find(|(_, is_given)| *is_given && args.zones.strata.is_some()) {
        Some((option, _)) => Err(MappingError::NotWithStrata { option }),
        None => Ok(()),
    }
}

/// Settings of a surface; all else as by default.
pub fn interpolation_settings(
    args: &InterpolationArgs,
    units: UnitSystem,
) -> Result<MapSettings, MappingError> {
    let anisotropy = args.direction.map(|along| Anisotropy::new(along.azimuth_deg, along.ratio));
    let sectors = args.sectors.map(|limit| Sectors {
        kind: if limit.octants { SectorKind::Octants } else { SectorKind::Quadrants },
        most: limit.most,
    });
    Ok(MapSettings {
        method: match args.method {
            Method::Idw => MethodChoice::InverseDistance,
            Method::Auto => MethodChoice::Auto,
            Method::Kriging => MethodChoice::Kriging,
            Method::Mean => MethodChoice::Mean,
        },
        sectors,
        anisotropy: anisotropy.transpose()?.unwrap_or(Anisotropy::NONE),
        smoothing_m: args.smoothing,
        power: match args.power {
            Power::Auto => None,
            Power::Fixed(power) => Some(power),
        },
        neighbours: args.neighbours,
        reach_m: args.reach,
        cell_m: args.cell,
        ..MapSettings::new(units)
    })
}
