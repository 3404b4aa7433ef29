//! A cone-index profile that one record holds: lists of depths and pressures, or a column for each
//! depth.

use serde_json::Value;
use survey::{ConeIndex, Depth, DepthUnit, Pressure, Profile};

use crate::fields::{Field, Fields};
use crate::interpret::Remark;
use crate::names::Role;
use crate::outcome::{depth, is_list};
use crate::pressure_unit::PressureUnit;
use crate::values;

/// How far two statements of one pressure may differ: by rounding, 2 % and 1 kPa.
fn is_same_pressure(a: Pressure, b: Pressure) -> bool {
    (a.kpa() - b.kpa()).abs() <= 0.02 * a.kpa().abs() + 1.0
}

/// Whether two depths are one, but for the arithmetic of units.
fn is_same_depth(a: Depth, b: Depth) -> bool {
    (a.m() - b.m()).abs() < 1e-9
}

/// A profile and what is odd about it.
pub(crate) struct OwnProfile {
    pub profile: Profile,
    pub unit: DepthUnit,
    pub remarks: Vec<Remark>,
}

/// The profile that a record holds, where it holds one.
///
/// # Errors
/// When lists do not fit each other, or a number is none.
pub(crate) fn own_profile(fields: &Fields) -> Result<Option<OwnProfile>, String> {
    match lists(fields)? {
        Some(profile) => Ok(Some(profile)),
        None => columns(fields),
    }
}

/// The cone index that a record gives for its one depth; of several columns the first, with a
/// remark where another differs.
pub(crate) fn first_pressure(
    fields: &Fields,
) -> Result<Option<(Pressure, Option<Remark>)>, String> {
    let mut first: Option<(&str, Pressure)> = None;
    let mut remark = None;
    for (field, unit) in pressures(fields).filter(|(field, _)| !is_list(field)) {
        let Some(number) = fields.number(field)? else {
            continue;
        };
        let pressure = unit.pressure(number);
        match first {
            None => first = Some((field.key, pressure)),
            Some((_, used)) if is_same_pressure(used, pressure) => {}
            Some((key, _)) => {
                remark = remark.or(Some(differ(key, field.key)));
            }
        }
    }
    Ok(first.map(|(_, pressure)| (pressure, remark)))
}

fn differ(used: &str, other: &str) -> Remark {
    Remark::fault(format!("{used} and {other} differ by more than 2 %"), "the first is used")
}

fn pressures<'f, 'a>(
    fields: &'f Fields<'a>,
) -> impl Iterator<Item = (&'f Field<'a>, PressureUnit)> {
    fields.iter().filter_map(|field| match field.meaning.role {
        Role::ConeIndex(unit) => Some((field, unit)),
        _ => None,
    })
}

/// A profile of a list of depths and a list of as many pressures.
fn lists(fields: &Fields) -> Result<Option<OwnProfile>, String> {
    let mut pressures = pressures(fields).filter(|(field, _)| is_list(field));
    let Some((field, pressure_unit)) = pressures.next() else {
        return Ok(None);
    };
    let depths = fields.iter().find_map(|field| match (field.meaning.role, field.value) {
        (Role::Depth(unit), Value::Array(list)) => Some((field.key, list, unit)),
        _ => None,
    });
    let Some((depth_key, depths, unit)) = depths else {
        return Err(format!("{} is a list, but no list of depths goes with it", field.key));
    };
    let list = numbers(fields, field)?;
    if list.len() != depths.len() {
        return Err(format!(
            "{} has {} values, {depth_key} {}",
            field.key,
            list.len(),
            depths.len()
        ));
    }
    let mut remarks = Vec::new();
    for (other, other_unit) in pressures {
        let same = |(a, b): (&Option<f64>, &Option<f64>)| match (a, b) {
            (Some(a), Some(b)) => {
                is_same_pressure(pressure_unit.pressure(*a), other_unit.pressure(*b))
            }
            _ => true,
        };
        let others = numbers(fields, other)?;
        if others.len() != list.len() || !list.iter().zip(&others).all(same) {
            remarks.push(differ(field.key, other.key));
        }
    }
    let holes = holes(list.iter().map(Option::is_some));
    remarks.extend(holes);
    let mut readings = Vec::with_capacity(list.len());
    for (depth, pressure) in depths.iter().zip(list) {
        let Some(pressure) = pressure else {
            continue;
        };
        let depth = values::number(depth_key, depth, fields.numbers)?
            .ok_or_else(|| format!("{depth_key} lacks the depth of a cone index"))?;
        let pressure = pressure_unit.pressure(pressure);
        readings.push(ConeIndex { depth: unit.depth(depth), pressure });
    }
    readings.sort_by(|a, b| a.depth.m().total_cmp(&b.depth.m()));
    Ok(Some(OwnProfile { profile: Profile::new(readings)?, unit, remarks }))
}

/// What to say of depths without a cone index that stand before one with it: an instrument fills
/// what follows the last reading with nothing.
fn holes(has_pressure: impl Iterator<Item = bool>) -> Option<Remark> {
    let (mut holes, mut open) = (0, 0);
    for has in has_pressure {
        match has {
            true => holes += std::mem::take(&mut open),
            false => open += 1,
        }
    }
    (holes > 0).then(|| {
        let problem = format!("{holes} depths without a cone index, in a profile");
        Remark::fault(problem, "left out of the profile")
    })
}

fn numbers(fields: &Fields, field: &Field) -> Result<Vec<Option<f64>>, String> {
    let list = field.value.as_array().map(Vec::as_slice).unwrap_or_default();
    list.iter().map(|value| values::number(field.key, value, fields.numbers)).collect()
}

/// A profile of columns that each hold the cone index at one depth.
fn columns(fields: &Fields) -> Result<Option<OwnProfile>, String> {
    let mut readings: Vec<(&str, ConeIndex)> = Vec::new();
    let mut first_unit = None;
    let mut empty: Vec<(DepthUnit, Depth)> = Vec::new();
    let mut remarks = Vec::new();
    for field in fields.iter() {
        let Role::ConeIndexAt(pressure, unit, depth) = field.meaning.role else {
            continue;
        };
        let Some(number) = fields.number(field)? else {
            empty.push((unit, depth));
            continue;
        };
        first_unit = first_unit.or(Some(unit));
        let reading = ConeIndex { depth, pressure: pressure.pressure(number) };
        match readings.iter().find(|(_, other)| is_same_depth(other.depth, depth)) {
            None => readings.push((field.key, reading)),
            Some((_, other)) if is_same_pressure(other.pressure, reading.pressure) => {}
            Some((key, _)) => remarks.push(differ(key, field.key)),
        }
    }
    let Some(unit) = first_unit else {
        return Ok(None);
    };
    if depth(fields)?.is_some() {
        let problem = "has a profile and a single depth beside it";
        remarks.push(Remark::note(problem, "the profile is used"));
    }
    let mut readings: Vec<ConeIndex> = readings.into_iter().map(|(_, reading)| reading).collect();
    readings.sort_by(|a, b| a.depth.m().total_cmp(&b.depth.m()));
    // Columns in another unit may be another instrument's.
    let empty = empty.into_iter().filter(|(other, _)| *other == unit);
    let mut depths: Vec<(Depth, bool)> = empty.map(|(_, depth)| (depth, false)).collect();
    depths
        .retain(|(depth, _)| readings.iter().all(|reading| !is_same_depth(reading.depth, *depth)));
    depths.extend(readings.iter().map(|reading| (reading.depth, true)));
    depths.sort_by(|(a, _), (b, _)| a.m().total_cmp(&b.m()));
    remarks.extend(holes(depths.into_iter().map(|(_, has_pressure)| has_pressure)));
    Ok(Some(OwnProfile { profile: Profile::new(readings)?, unit, remarks }))
}
