//! Which probe stands in which strip.

use geo::{
    Area, BoundingRect, Contains, Coord, Distance, Euclidean, Intersects, MapCoords, MultiPolygon,
    Point, Rect,
};
use survey::{CheckedSurvey, EastNorth, Field, LonLat};

use crate::error::SeasonError;
use crate::pairs::Pair;
use crate::trial_contrast::Treatment;

/// A piece of a strip, as a file of areas gives it. Pieces of one name make one strip.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialArea {
    /// The strip's name.
    pub strip: String,
    /// What was done to it.
    pub treatment: Treatment,
    /// The block it lies in, where strips lie in blocks.
    pub block: Option<String>,
    /// Rings in degrees, longitude first.
    pub polygons: MultiPolygon,
}

/// Values of the probes' group that say what was done where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrialGroups {
    /// The value of treated probes.
    pub treated: String,
    /// The value of check probes.
    pub check: String,
    /// The strip of each record of the later visit, by the record's number; empty where nothing names it:
    /// all probes of one value are then one strip.
    pub strips: Vec<(usize, String)>,
}

/// How a trial says which ground was treated.
#[derive(Debug, Clone, PartialEq)]
pub enum TrialGround {
    /// By areas.
    Areas(Vec<TrialArea>),
    /// By a plan's check strips and the ground it treats. The plan draws one strip in each of as many blocks
    /// of the field, so treated ground is compared with the check strip it lies nearest to: strip by strip.
    Plan(Vec<TrialArea>),
    /// By what the probes say.
    Groups(TrialGroups),
}

/// A strip, before it has readings.
#[derive(Debug, Clone)]
pub(crate) struct Strip {
    pub name: String,
    pub treatment: Treatment,
    pub block: Option<String>,
    /// Its outline in the plane; empty where it has none of its own.
    pub polygons: MultiPolygon,
}

impl Strip {
    fn new(name: &str, treatment: Treatment, block: Option<&str>) -> Self {
        Strip {
            name: name.to_owned(),
            treatment,
            block: block.map(str::to_owned),
            polygons: MultiPolygon::new(Vec::new()),
        }
    }
}

/// Strips and the strip of each pair of probes.
pub(crate) struct Assigned {
    pub strips: Vec<Strip>,
    /// The strip's place in the list; `None` outside all of them.
    pub of_pair: Vec<Option<usize>>,
    pub notes: Vec<String>,
}

/// Gives each pair its strip.
pub(crate) fn assign(
    ground: &TrialGround,
    surveys: [&CheckedSurvey; 2],
    pairs: &[Pair],
) -> Result<Assigned, SeasonError> {
    match ground {
        TrialGround::Areas(areas) => by_areas(areas, surveys[1].field(), pairs),
        TrialGround::Plan(areas) => by_plan(areas, surveys[1].field(), pairs),
        TrialGround::Groups(groups) => by_groups(groups, surveys, pairs),
    }
}

/// Strips by their areas, in the order of the file.
fn by_areas(areas: &[TrialArea], field: &Field, pairs: &[Pair]) -> Result<Assigned, SeasonError> {
    let (strips, pieces) = pieces_of(areas, field)?;
    let (of_pair, notes) = strips_at(&pieces, &strips, pairs)?;
    Ok(Assigned { strips, of_pair, notes })
}

/// Strips and their pieces in the plane, some of them in the field.
fn pieces_of(areas: &[TrialArea], field: &Field) -> Result<(Vec<Strip>, Vec<Piece>), SeasonError> {
    let mut strips: Vec<Strip> = Vec::new();
    let mut pieces = Vec::new();
    for area in areas {
        let strip = strip_of(area, &mut strips)?;
        let piece = Piece::new(area, strip, field)?;
        strips[strip].polygons.0.extend(piece.polygons.0.iter().cloned());
        pieces.push(piece);
    }
    match pieces.iter().any(|piece| piece.polygons.intersects(field.polygons())) {
        true => Ok((strips, pieces)),
        false => Err(SeasonError::AreasElsewhere),
    }
}

/// Check strips of a plan, each in a block with the treated ground nearest to it.
fn by_plan(areas: &[TrialArea], field: &Field, pairs: &[Pair]) -> Result<Assigned, SeasonError> {
    let (parts, pieces) = pieces_of(areas, field)?;
    let (of_pair, mut notes) = strips_at(&pieces, &parts, pairs)?;
    let is_check = |part: usize| parts[part].treatment == Treatment::Check;
    let checks: Vec<usize> = (0..parts.len()).filter(|&part| is_check(part)).collect();
    let beside = |check: &usize| {
        let name = parts[*check].name.as_str();
        Strip::new(&format!("beside {name}"), Treatment::Treated, Some(name))
    };
    let own =
        |check: &usize| Strip { block: Some(parts[*check].name.clone()), ..parts[*check].clone() };
    let strips: Vec<Strip> = checks.iter().map(beside).chain(checks.iter().map(own)).collect();
    let nearest = |place: EastNorth| {
        let distance_m = |check: &usize| {
            let point = Point::new(place.easting_m, place.northing_m);
            let own = pieces.iter().filter(|piece| piece.strip == *check);
            own.map(|piece| Euclidean.distance(&piece.polygons, &point))
                .fold(f64::INFINITY, f64::min)
        };
        let distances = checks.iter().map(distance_m).enumerate();
        distances.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(check, _)| check)
    };
    let of_pair = pairs.iter().zip(of_pair).map(|(pair, part)| match part? {
        part if is_check(part) => {
            checks.iter().position(|check| *check == part).map(|check| checks.len() + check)
        }
        _ => nearest(pair.later_place),
    });
    notes.push(
        "a plan draws one check strip in each part of the field: treated ground is compared with the check \
         strip it lies nearest to; it is no strip that the lot could have swapped with it, so there is no \
         randomisation test"
            .into(),
    );
    Ok(Assigned { of_pair: of_pair.collect(), strips, notes })
}

/// The strip of each pair, and pairs whose two places lie in different ones.
fn strips_at(
    pieces: &[Piece],
    strips: &[Strip],
    pairs: &[Pair],
) -> Result<(Vec<Option<usize>>, Vec<String>), SeasonError> {
    let mut notes = Vec::new();
    let mut of_pair = Vec::new();
    for pair in pairs {
        let [earlier, later] =
            [pair.earlier_place, pair.later_place].map(|place| strip_at(pieces, place));
        let (earlier, later) = match (earlier, later) {
            (Ok(earlier), Ok(later)) => (earlier, later),
            (Err([one, other]), _) | (_, Err([one, other])) => {
                return Err(SeasonError::ProbeInTwoAreas {
                    probe: pair.id.clone(),
                    one: strips[one].name.clone(),
                    other: strips[other].name.clone(),
                });
            }
        };
        if earlier != later {
            let name = |strip: Option<usize>| {
                strip.map_or("none".into(), |strip| format!("{:?}", strips[strip].name))
            };
            notes.push(format!(
                "probe {} stood in area {} at the earlier visit and in {} at the later: left out",
                pair.id,
                name(earlier),
                name(later)
            ));
        }
        of_pair.push(if earlier == later { later } else { None });
    }
    Ok((of_pair, notes))
}

/// The place of an area's strip in the list, where it is put if it is new.
fn strip_of(area: &TrialArea, strips: &mut Vec<Strip>) -> Result<usize, SeasonError> {
    let is_same = |known: &Strip| known.treatment == area.treatment && known.block == area.block;
    match strips.iter().position(|strip| strip.name == area.strip) {
        Some(known) if is_same(&strips[known]) => Ok(known),
        Some(_) => Err(SeasonError::StripTwice { strip: area.strip.clone() }),
        None => {
            strips.push(Strip::new(&area.strip, area.treatment, area.block.as_deref()));
            Ok(strips.len() - 1)
        }
    }
}

/// A piece of a strip in the field's plane.
struct Piece {
    strip: usize,
    polygons: MultiPolygon,
    frame: Rect,
}

impl Piece {
    fn new(area: &TrialArea, strip: usize, field: &Field) -> Result<Self, SeasonError> {
        let wrong = |problem: String| SeasonError::TrialArea { strip: area.strip.clone(), problem };
        let polygons = area
            .polygons
            .try_map_coords(|Coord { x, y }| {
                field.utm().project(LonLat { lon_deg: x, lat_deg: y }).map(Coord::from)
            })
            .map_err(|error| wrong(error.to_string()))?;
        let frame = polygons.bounding_rect().filter(|_| polygons.unsigned_area() > 0.0);
        let frame = frame.ok_or_else(|| wrong("encloses no ground".into()))?;
        Ok(Piece { strip, polygons, frame })
    }
}

/// The strip a place lies in, its edge left out; `Err` with two strips where it lies in both.
fn strip_at(pieces: &[Piece], place: EastNorth) -> Result<Option<usize>, [usize; 2]> {
    let point = Point::new(place.easting_m, place.northing_m);
    let mut found = None;
    let holds = |piece: &&Piece| piece.frame.intersects(&point) && piece.polygons.contains(&point);
    for piece in pieces.iter().filter(holds) {
        match found {
            Some(other) if other != piece.strip => return Err([other, piece.strip]),
            _ => found = Some(piece.strip),
        }
    }
    Ok(found)
}

/// Strips by what the probes say: at the later visit or, where no probe says anything there, at the earlier.
fn by_groups(
    groups: &TrialGroups,
    surveys: [&CheckedSurvey; 2],
    pairs: &[Pair],
) -> Result<Assigned, SeasonError> {
    let says = |survey: &CheckedSurvey| survey.kept().iter().any(|i| i.group.is_some());
    let visit = if says(surveys[1]) { 1 } else { 0 };
    let value = |pair: &Pair| group_of(surveys[visit], numbers(surveys, pair)[visit]);
    let treatment = |value: &str| match value.trim() {
        value if value == groups.treated => Some(Treatment::Treated),
        value if value == groups.check => Some(Treatment::Check),
        _ => None,
    };
    for wanted in [&groups.treated, &groups.check] {
        if !pairs.iter().any(|pair| value(pair).is_some_and(|value| value.trim() == wanted)) {
            let known = pairs.iter().filter_map(&value).map(|value| value.trim().to_owned());
            return Err(SeasonError::NoProbeOfGroup { wanted: wanted.clone(), known: once(known) });
        }
    }
    let mut strips: Vec<Strip> = Vec::new();
    let mut of_pair = Vec::new();
    for pair in pairs {
        let Some(treatment) = value(pair).and_then(treatment) else {
            of_pair.push(None);
            continue;
        };
        let own = groups.strips.iter().find(|(number, _)| *number == numbers(surveys, pair)[1]);
        let name = match (own, treatment) {
            (Some((_, name)), _) => name.trim(),
            (None, Treatment::Treated) => &groups.treated,
            (None, Treatment::Check) => &groups.check,
        };
        let is_it = |strip: &Strip| strip.name == name && strip.treatment == treatment;
        let known = strips.iter().position(is_it);
        of_pair.push(Some(known.unwrap_or(strips.len())));
        if known.is_none() {
            strips.push(Strip::new(name, treatment, None));
        }
    }
    Ok(Assigned { strips, of_pair, notes: Vec::new() })
}

/// The records of a pair's two spots.
pub(crate) fn numbers(surveys: [&CheckedSurvey; 2], pair: &Pair) -> [usize; 2] {
    let [earlier, later] = surveys.map(CheckedSurvey::spots);
    [earlier[pair.earlier_spot].number, later[pair.later_spot].number]
}

/// What a record of a survey says of its group.
fn group_of(survey: &CheckedSurvey, number: usize) -> Option<&str> {
    survey.kept().iter().find(|insertion| insertion.number == number)?.group.as_deref()
}

/// Each value once, sorted, as a list for people.
fn once(values: impl Iterator<Item = String>) -> String {
    let values: std::collections::BTreeSet<String> = values.collect();
    let shown: Vec<String> = values.iter().take(12).map(|value| format!("{value:?}")).collect();
    match shown.is_empty() {
        true => "none at all".into(),
        false => shown.join(", "),
    }
}
