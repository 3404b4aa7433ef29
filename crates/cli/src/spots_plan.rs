//! From the arguments of `spots` to spots in walking order.

use std::error::Error;

use formats::{SpotsDesign, SpotsValue, SpotsValues};
use geo::{Coord, MapCoords, MultiPolygon};
use geostat::{Anisotropy, Sample, Samples};
use mapping::{FittedVariogram, LEAST_SPOTS_OF_KRIGING, StratumPart};
use plan::ZoneMap;
use sampling::{
    APART_M, DividedGround, GOLDEN, Ground, LeastSure, MOST_SPOTS, PlacedSpot, PlannedSpot,
    Transects, Walk, Why, in_walking_order, least_sure, nearest_m, random_places, square_grid,
    stratified_places, widest_gaps, widest_phase_gap,
};
use survey::units::tidy;
use survey::{CheckedSurvey, EastNorth, Field, LonLat, SurveyError, UnitSystem, Utm};

use crate::args::{SpotsArgs, SureBy};
use crate::exit::WrongArguments;
use crate::words::percent;

/// Name of ground in no stratum.
const MAIN: &str = "main ground";
/// The same where zones divide the field.
const NO_VALUE: &str = "no value on the earlier map";

/// A pass must not have more than this part of it left out by the spots of a line.
const WIDEST_PHASE_GAP: f64 = 0.25;
/// The most spots of a line that count towards that: on a longer one a pattern shows all the same.
const SPOTS_OF_PHASES: usize = 40;

/// What spots are placed on and by.
pub struct Basis<'a> {
    pub args: &'a SpotsArgs,
    pub units: UnitSystem,
    pub field: &'a Field,
    pub from_edge_m: f64,
    pub strata: &'a [StratumPart],
    pub zones: Option<&'a ZoneMap>,
    pub earlier: Option<&'a CheckedSurvey>,
}

/// Spots with all that is to be said of them.
#[derive(Debug)]
pub struct SpotsPlan {
    pub spots: Vec<PlannedSpot>,
    pub walk: Walk,
    /// How they were placed, for the record.
    pub designs: Vec<SpotsDesign>,
    /// The same in sentences.
    pub placed: Vec<String>,
    /// What is odd about that.
    pub notes: Vec<String>,
    /// Strata with their shares of the ground, and how many spots each has.
    pub strata: Vec<(String, f64, usize)>,
}

/// Places spots as asked.
///
/// # Errors
/// When nothing is asked for, settings do not go together, or there is no room.
pub fn plan(basis: &Basis) -> Result<SpotsPlan, Box<dyn Error>> {
    let args = basis.args;
    let ground = Ground::inside(basis.field.polygons(), basis.from_edge_m)
        .map_err(|error| format!("{}: {error}", args.field.display()))?;
    let divided = divided(basis)?;
    let mut placing = Placing {
        basis,
        ground: &ground,
        divided: divided.as_ref(),
        placed: Vec::new(),
        designs: Vec::new(),
        sentences: Vec::new(),
        notes: Vec::new(),
    };
    placing.again();
    placing.grid()?;
    placing.transects()?;
    placing.random()?;
    placing.stratified()?;
    placing.least_sure()?;
    let Placing { placed, designs, sentences, notes, .. } = placing;
    if placed.len() > MOST_SPOTS {
        return Err(sampling::SamplingError::TooManyAsked { count: placed.len() }.into());
    }
    let start = match args.start {
        Some(gate) => basis.field.utm().project(gate.0).map_err(|error| {
            WrongArguments(format!("--start: {error}; longitude comes first, then latitude"))
        })?,
        None => ground.south_west_corner(),
    };
    let (spots, walk) = in_walking_order(start, &placed);
    let strata = divided.as_ref().map_or_else(Vec::new, |divided| strata(divided, &ground, &spots));
    let mut plan = SpotsPlan { spots, walk, designs, placed: sentences, notes, strata };
    plan.notes.extend(odd(basis, &plan));
    Ok(plan)
}

/// What is odd about the spots as a whole.
fn odd(basis: &Basis, plan: &SpotsPlan) -> Vec<String> {
    let mut notes = Vec::new();
    let far_m = basis.field.distance_m(plan.walk.start);
    if far_m > FAR_GATE_M {
        notes.push(format!(
            "--start is {} from the field; longitude comes first, then latitude",
            basis.units.way_text(far_m)
        ));
    }
    if basis.args.insertions < ADVISED_INSERTIONS {
        notes.push(format!(
            "fewer than {ADVISED_INSERTIONS} insertions at each spot: at least four keep a map's error under \
             10 % (a study of subsamples in Acta Scientiarum. Agronomy)"
        ));
    }
    let places: Vec<EastNorth> = plan.spots.iter().map(|spot| spot.place).collect();
    let apart_m = survey::spacing::typical_spacing_m(&places);
    if places.len() > 1 && apart_m < 2.0 * PHONE_OFF_M {
        notes.push(format!(
            "spots stand about {} apart: a phone, 7 to 13 m off in poor reception (Merry and Bettinger 2019), \
             leads to the wrong one. Use a better receiver, or pace or tape from a sure point",
            basis.units.distance_text(apart_m.round().max(1.0))
        ));
    }
    notes
}

/// A start farther from the field than this is likely a mistake, metres.
const FAR_GATE_M: f64 = 2_000.0;
/// Acta Scientiarum. Agronomy, a study of subsamples: at least four keep a map's deviation under 10 %.
const ADVISED_INSERTIONS: u8 = 4;
/// How far off a phone may be in poor reception, metres: Merry and Bettinger (2019), PLOS ONE 14(7): e0219890.
const PHONE_OFF_M: f64 = 13.0;

/// The strata of the field: those of the file, then the classes of the zones.
fn divided(basis: &Basis) -> Result<Option<DividedGround>, Box<dyn Error>> {
    let utm = basis.field.utm();
    let mut pieces: Vec<(String, MultiPolygon)> = Vec::new();
    for part in basis.strata {
        let projected: Result<MultiPolygon, SurveyError> = part.polygons.try_map_coords(|coord| {
            let place = LonLat { lon_deg: coord.x, lat_deg: coord.y };
            utm.project(place).map(Coord::from)
        });
        let projected = projected.map_err(|error| format!("stratum {:?}: {error}", part.name))?;
        pieces.push((part.name.clone(), projected));
    }
    for zone in basis.zones.iter().flat_map(|map| &map.zones) {
        let name = zone.stratum.as_ref().unwrap_or(&zone.class_name).clone();
        let from = basis.zones.map_or(utm, |map| map.utm);
        pieces.push((name, in_zone(&zone.polygons, from, utm)?));
    }
    let rest = if basis.zones.is_some() { NO_VALUE } else { MAIN };
    Ok((!pieces.is_empty()).then(|| DividedGround::new(&pieces, rest)))
}

/// Polygons of one zone of UTM in another.
fn in_zone(polygons: &MultiPolygon, from: Utm, to: Utm) -> Result<MultiPolygon, SurveyError> {
    match from == to {
        true => Ok(polygons.clone()),
        false => polygons.try_map_coords(|coord| {
            to.project(from.unproject(EastNorth::from(coord))).map(Coord::from)
        }),
    }
}

/// The strata with ground, each with its spots.
fn strata(
    divided: &DividedGround,
    ground: &Ground,
    spots: &[PlannedSpot],
) -> Vec<(String, f64, usize)> {
    let in_stratum =
        |name: &str| spots.iter().filter(|spot| divided.name_at(spot.place) == name).count();
    let of = divided.strata(ground).into_iter();
    of.map(|stratum| (stratum.name.clone(), stratum.share, in_stratum(&stratum.name))).collect()
}

/// Spots in the making.
struct Placing<'a> {
    basis: &'a Basis<'a>,
    ground: &'a Ground,
    divided: Option<&'a DividedGround>,
    placed: Vec<PlacedSpot>,
    designs: Vec<SpotsDesign>,
    sentences: Vec<String>,
    notes: Vec<String>,
}

impl Placing<'_> {
    fn places(&self) -> Vec<EastNorth> {
        self.placed.iter().map(|spot| spot.place).collect()
    }

    /// Takes spots that are off those there are, and says how many were not.
    fn take(
        &mut self,
        spots: Vec<(EastNorth, Why)>,
        kind: &'static str,
        settings: SpotsValues,
    ) -> usize {
        let there = self.places();
        let asked = spots.len();
        let free = spots.into_iter().filter(|(place, _)| nearest_m(*place, &there) >= APART_M);
        let free: Vec<(EastNorth, Why)> = free.collect();
        let count = free.len();
        for (place, why) in free {
            let spot = PlacedSpot { place, why, stratum: self.stratum_at(place), kept_name: None };
            self.placed.push(spot);
        }
        if count < asked {
            let apart = self.basis.units.distance_text(APART_M);
            self.notes.push(format!(
                "{} of the {kind} stand within {apart} of a spot that is there already, and were left out",
                asked - count
            ));
        }
        self.designs.push(SpotsDesign { kind, spots: count, settings });
        count
    }

    /// The stratum of a place, but for the rest of the field.
    fn stratum_at(&self, place: EastNorth) -> Option<String> {
        let name = self.divided?.name_at(place);
        (name != MAIN).then(|| name.to_owned())
    }

    fn again(&mut self) {
        let Some(earlier) = self.basis.earlier.filter(|_| self.basis.args.earlier.again) else {
            return;
        };
        for spot in earlier.spots() {
            self.placed.push(PlacedSpot {
                place: spot.position,
                why: Why::Again,
                stratum: self.stratum_at(spot.position),
                kept_name: Some(spot.id.clone()),
            });
        }
        let count = earlier.spots().len();
        let of = visit_words(earlier);
        self.designs.push(SpotsDesign {
            kind: "again",
            spots: count,
            settings: vec![("visit", SpotsValue::Text(of.clone()))],
        });
        self.sentences.push(format!("{count} spots {of} again, under their names"));
    }

    fn grid(&mut self) -> Result<(), Box<dyn Error>> {
        let Some(spacing) = self.basis.args.design.grid else { return Ok(()) };
        let grid = |heading_deg: f64| {
            square_grid(self.ground, spacing.m(), heading_deg).map(|spots| (heading_deg, spots))
        };
        let (heading_deg, found) = match self.basis.args.design.heading {
            Some(heading_deg) => grid(heading_deg)?,
            None => {
                let (north, side) = (grid(0.0)?, grid(self.ground.longest_side_deg())?);
                if side.1.len() > north.1.len() { side } else { north }
            }
        };
        let settings = vec![
            ("spacing_m", SpotsValue::Number(spacing.m())),
            ("heading_deg", SpotsValue::Number(heading_deg)),
        ];
        let spots = found.into_iter().map(|place| (place, Why::Grid)).collect();
        let count = self.take(spots, "grid", settings);
        self.sentences.push(format!(
            "{count} spots on a square grid of {}, rows along {}° from north",
            self.basis.units.distance_text(spacing.m()),
            tidy(heading_deg, 1)
        ));
        Ok(())
    }

    fn transects(&mut self) -> Result<(), Box<dyn Error>> {
        let design = &self.basis.args.design;
        let Some(between) = design.transects else { return Ok(()) };
        let heading_deg = design.heading.unwrap_or(0.0);
        let swath_m = design.swath.map(survey::Length::m);
        let along_m = match (design.along, swath_m) {
            (Some(along), _) => along.m(),
            (None, Some(swath_m)) => GOLDEN * swath_m,
            (None, None) => {
                let problem =
                    "--transects needs --along LENGTH, from spot to spot, or --swath WIDTH";
                return Err(WrongArguments(problem.into()).into());
            }
        };
        let transects = Transects { heading_deg, between_m: between.m(), along_m };
        let found = transects.spots(self.ground)?;
        let lines = found.last().map_or(0, |(_, line)| *line);
        let longest = (1..=lines)
            .map(|line| found.iter().filter(|(_, of)| *of == line).count())
            .max()
            .unwrap_or(0);
        let mut settings = vec![
            ("lines", SpotsValue::Count(lines)),
            ("between_m", SpotsValue::Number(between.m())),
            ("along_m", SpotsValue::Number(along_m)),
            ("heading_deg", SpotsValue::Number(heading_deg)),
        ];
        settings.extend(swath_m.map(|swath_m| ("swath_m", SpotsValue::Number(swath_m))));
        self.notes.extend(swath_m.and_then(|swath_m| {
            let gap = widest_phase_gap(along_m, swath_m, longest.min(SPOTS_OF_PHASES));
            self.meets_too_little(gap, swath_m)
        }));
        let spots = found.into_iter().map(|(place, line)| (place, Why::Transect(line))).collect();
        let count = self.take(spots, "transects", settings);
        let units = self.basis.units;
        self.sentences.push(format!(
            "{count} spots on {lines} transects at right angles to passes along {}°, {} apart, a spot every {}",
            tidy(heading_deg, 1),
            units.distance_text(between.m()),
            units.distance_text(along_m)
        ));
        Ok(())
    }

    /// What to say where the spots of a line leave out too much of a pass.
    fn meets_too_little(&self, gap: f64, swath_m: f64) -> Option<String> {
        (gap > WIDEST_PHASE_GAP).then(|| {
            format!(
                "spots along a transect leave out {} of the width of a pass, which may be every wheel lane; \
                 --along {} meets all of it",
                percent(gap),
                self.basis.units.distance_text(GOLDEN * swath_m).replace(' ', "")
            )
        })
    }

    fn random(&mut self) -> Result<(), Box<dyn Error>> {
        let Some(count) = self.basis.args.design.random else { return Ok(()) };
        let seed = self.basis.args.seed;
        let found = random_places(self.ground, count, seed, &self.places())?;
        let spots = found.into_iter().map(|place| (place, Why::Random)).collect();
        let settings = vec![("seed", SpotsValue::Text(seed.to_string()))];
        self.take(spots, "random", settings);
        self.sentences.push(format!("{count} spots at random, seed {seed}"));
        Ok(())
    }

    fn stratified(&mut self) -> Result<(), Box<dyn Error>> {
        let design = &self.basis.args.design;
        let Some(count) = design.stratified else { return Ok(()) };
        let Some(divided) = self.divided else {
            let problem =
                "--stratified needs strata: give --strata FILE.geojson or --zones ZONES.geojson";
            return Err(WrongArguments(problem.into()).into());
        };
        let (least, seed) = (design.at_least, self.basis.args.seed);
        let found = stratified_places(self.ground, divided, count, least, seed, &self.places())?;
        let spots = found.into_iter().map(|(place, _)| (place, Why::Stratum)).collect();
        let settings = vec![
            ("at_least", SpotsValue::Count(least)),
            ("seed", SpotsValue::Text(seed.to_string())),
        ];
        self.take(spots, "strata", settings);
        self.sentences.push(format!(
            "{count} spots at random, divided among strata by area, {least} or more in each, seed {seed}"
        ));
        Ok(())
    }

    fn least_sure(&mut self) -> Result<(), Box<dyn Error>> {
        let (args, units) = (self.basis.args, self.basis.units);
        let Some(count) = args.earlier.least_sure else { return Ok(()) };
        let mut known: Vec<EastNorth> = self.basis.earlier.map_or_else(Vec::new, |earlier| {
            earlier.spots().iter().map(|spot| spot.position).collect()
        });
        let before: Vec<EastNorth> =
            self.places().into_iter().filter(|&place| nearest_m(place, &known) > 0.0).collect();
        known.extend(before);
        if known.is_empty() {
            let problem =
                "--least-sure needs the spots of an earlier visit, or others of this plan";
            return Err(WrongArguments(problem.into()).into());
        }
        if let Some(found) = self.by_variance(&known, count)? {
            let error = |variance: f64| {
                let depth = units.depth(survey::Depth::from_cm(variance.sqrt()));
                format!("{} {}", tidy(depth, 2), units.depth_unit())
            };
            let (first, last) = (found.mean_variances[0], found.mean_variances[found.places.len()]);
            let settings = vec![
                ("by", SpotsValue::Text("kriging variance".into())),
                ("mean_error_before_cm", SpotsValue::Number(first.sqrt())),
                ("mean_error_after_cm", SpotsValue::Number(last.sqrt())),
            ];
            let spots = found.places.into_iter().map(|place| (place, Why::LeastSure)).collect();
            self.take(spots, "least sure", settings);
            self.sentences.push(format!(
                "{count} spots where the kriged map is least sure: its typical error of {}, what differs from push to \
                 push left out, falls by {} %",
                error(first),
                tidy(100.0 * (1.0 - (last / first).sqrt()), 1)
            ));
            return Ok(());
        }
        let gaps = widest_gaps(self.ground, &known, count)?;
        let settings = vec![
            ("by", SpotsValue::Text("distance".into())),
            ("farthest_before_m", SpotsValue::Number(gaps.before_m)),
            ("farthest_after_m", SpotsValue::Number(gaps.after_m)),
        ];
        let spots = gaps.places.into_iter().map(|place| (place, Why::LeastSure)).collect();
        self.take(spots, "least sure", settings);
        let far = |m: f64| units.distance_text(m.round());
        self.sentences.push(format!(
            "{count} spots in the widest gaps: no ground is farther than {} from a spot, before {}",
            far(gaps.after_m),
            far(gaps.before_m)
        ));
        Ok(())
    }

    /// By kriging variance, where that is wanted and there is one.
    fn by_variance(
        &mut self,
        known: &[EastNorth],
        count: usize,
    ) -> Result<Option<LeastSure>, Box<dyn Error>> {
        let by = self.basis.args.earlier.sure_by;
        if by == SureBy::Distance {
            return Ok(None);
        }
        let found = match self.basis.earlier {
            None => Err("there is no earlier visit".to_owned()),
            Some(earlier) => match variogram(earlier) {
                Err(problem) => Err(problem),
                Ok(fitted) => least_sure(self.ground, known, &fitted.model, count)?
                    .ok_or_else(|| "the readings tell nothing of their neighbours".to_owned()),
            },
        };
        match found {
            Ok(found) => Ok(Some(found)),
            Err(problem) if by == SureBy::Variance => {
                Err(format!("no kriging variance for --least-sure: {problem}").into())
            }
            Err(problem) => {
                self.notes.push(format!("the least sure spots go by distance: {problem}"));
                Ok(None)
            }
        }
    }
}

/// The variogram of a visit's readings, in square centimetres.
fn variogram(survey: &CheckedSurvey) -> Result<FittedVariogram, String> {
    let spots = survey.spots();
    if spots.len() < LEAST_SPOTS_OF_KRIGING {
        return Err(format!(
            "{} readings, and a variogram needs {LEAST_SPOTS_OF_KRIGING}",
            spots.len()
        ));
    }
    let samples = spots.iter().map(|spot| Sample {
        easting_m: spot.position.easting_m,
        northing_m: spot.position.northing_m,
        value: spot.reading.at_least().cm(),
    });
    let samples = Samples::new(samples.collect()).map_err(|error| error.to_string())?;
    FittedVariogram::new(&samples, Anisotropy::NONE).map_err(|error| error.to_string())
}

/// The visit of some readings: `of 2025-04-14`.
pub fn visit_words(survey: &CheckedSurvey) -> String {
    match survey.dates() {
        Some((first, _)) => format!("of {first}"),
        None => "of the earlier visit".into(),
    }
}
