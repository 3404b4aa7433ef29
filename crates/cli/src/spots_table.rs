//! Planned spots as text for the terminal, and how many a precision takes.

use formats::{SpotsValue, SpotsValues};
use sampling::{PlannedSpot, Spread, distance_m, precision_of, spots_needed};
use survey::units::tidy;
use survey::{CheckedSurvey, Depth, Field, UnitSystem};

use crate::plan_table::table;
use crate::spots_plan::{SpotsPlan, visit_words};
use crate::words::{listed, percent};

/// Precisions that are told beside the one asked for.
const PRECISIONS: [f64; 4] = [0.05, 0.1, 0.15, 0.2];

/// How many spots a precision takes.
#[derive(Debug, Clone)]
pub struct SampleSize {
    spread: Spread,
    off_by: f64,
    confidence: f64,
    /// What mean and spread come from.
    source: String,
    /// Spots of the earlier visit, and how many of them did not reach the threshold.
    spots: Option<(usize, usize)>,
}

impl SampleSize {
    /// From a mean and a spread that the user gives.
    pub fn given(mean: Depth, spread: Depth, off_by: f64, confidence: f64) -> Self {
        let spread = Spread { mean: mean.cm(), standard_deviation: spread.cm() };
        SampleSize { spread, off_by, confidence, source: "as given".into(), spots: None }
    }

    /// From the readings of a visit, "not reached" as the depth probed.
    ///
    /// # Errors
    /// When all readings are 0.
    pub fn of_visit(survey: &CheckedSurvey, off_by: f64, confidence: f64) -> Result<Self, String> {
        let depths: Vec<f64> =
            survey.spots().iter().map(|spot| spot.reading.at_least().cm()).collect();
        let spread = Spread::of(&depths).filter(|spread| spread.mean > 0.0);
        let source = visit_words(survey);
        Ok(SampleSize {
            spread: spread.ok_or("all readings are 0, so no part of their mean can be reckoned")?,
            off_by,
            confidence,
            source,
            spots: Some((depths.len(), survey.not_reached())),
        })
    }

    fn needed(&self, off_by: f64) -> Option<usize> {
        spots_needed(self.spread, off_by, self.confidence)
    }

    /// For the record.
    pub fn figures(&self) -> SpotsValues {
        let mut all = vec![
            ("mean_cm", SpotsValue::Number(self.spread.mean)),
            ("standard_deviation_cm", SpotsValue::Number(self.spread.standard_deviation)),
            ("from", SpotsValue::Text(self.source.clone())),
            ("precision_pct", SpotsValue::Number(self.off_by * 100.0)),
            ("confidence_pct", SpotsValue::Number(self.confidence * 100.0)),
        ];
        all.extend(
            self.needed(self.off_by).map(|spots| ("spots_needed", SpotsValue::Count(spots))),
        );
        if let Some((spots, not_reached)) = self.spots {
            all.push(("spots_read", SpotsValue::Count(spots)));
            all.push(("not_reached", SpotsValue::Count(not_reached)));
        }
        all
    }

    /// The figures, and on what they rest.
    fn text(&self, units: UnitSystem, planned: Option<usize>) -> String {
        let depth = |cm: f64| units.depth_text(Depth::from_cm(cm));
        let Spread { mean, standard_deviation } = self.spread;
        let sure = tidy(self.confidence * 100.0, 1);
        let head = format!(
            "how many spots: mean {}, standard deviation {} ({} of it), {}",
            depth(mean),
            depth(standard_deviation),
            percent(self.spread.coefficient_of_variation()),
            self.source
        );
        let mut precisions: Vec<f64> = PRECISIONS.to_vec();
        if !precisions.iter().any(|known| (known - self.off_by).abs() < 1e-9) {
            precisions.push(self.off_by);
            precisions.sort_by(f64::total_cmp);
        }
        let row = |&off_by: &f64| {
            let spots = self.needed(off_by).map_or("too many".into(), |spots| spots.to_string());
            let asked = (off_by - self.off_by).abs() < 1e-9;
            let remark = if asked { "asked for" } else { "" };
            vec![format!("within {} %", tidy(off_by * 100.0, 2)), spots, remark.into()]
        };
        let header =
            vec![format!("the field's mean, {sure} % sure"), "spots".into(), String::new()];
        let rows: Vec<Vec<String>> =
            [header].into_iter().chain(precisions.iter().map(row)).collect();
        let mut blocks = vec![head, table(&rows)];
        blocks.extend(planned.filter(|count| *count > 1).map(|count| {
            let off_by = precision_of(self.spread, count, self.confidence);
            format!("  the {count} spots of this plan: within {} %", tidy(off_by * 100.0, 1))
        }));
        let mut rests = vec![
            "n = t² s² / (r m)², t for n − 1 degrees of freedom (Cochran): for spots drawn at random over the \
             whole field; spots on a grid do as well or better where neighbours are alike"
                .to_owned(),
            "it is of the mean; a map needs 100 spots or more for a variogram, and as many as its zones ask for"
                .to_owned(),
        ];
        if let Some((spots, not_reached @ 1..)) = self.spots {
            rests.insert(
                0,
                format!(
                    "{not_reached} of {spots} spots did not reach the threshold and count with the depth probed, a \
                     lower bound: the true mean is deeper and the spread wider than these, so more spots may \
                     be needed"
                ),
            );
        }
        blocks.extend(rests.iter().map(|line| format!("  - {line}")));
        blocks.join("\n")
    }
}

/// What the text is made from.
pub struct SpotsTable<'a> {
    pub field_name: &'a str,
    pub units: UnitSystem,
    pub field: &'a Field,
    pub from_edge_m: f64,
    pub plan: &'a SpotsPlan,
    pub insertions: usize,
    pub size: Option<&'a SampleSize>,
    /// Whether each spot has a line.
    pub with_spots: bool,
}

impl SpotsTable<'_> {
    /// The text where no spot was placed, only reckoned.
    pub fn without_spots(field_name: &str, units: UnitSystem, size: Option<&SampleSize>) -> String {
        let size = size.map_or_else(String::new, |size| size.text(units, None));
        format!("{field_name}\n\n{size}\n")
    }
}

/// The text, block by block.
pub fn spots(of: &SpotsTable) -> String {
    let blocks = [
        Some(head(of)),
        listed("placed", &of.plan.placed),
        strata(of),
        Some(walk(of)),
        of.size.map(|size| size.text(of.units, Some(of.plan.spots.len()))),
        of.with_spots.then(|| lines(of)),
    ];
    blocks.into_iter().flatten().collect::<Vec<_>>().join("\n\n") + "\n"
}

fn head(of: &SpotsTable) -> String {
    let count = of.plan.spots.len();
    let area = of.units.area(of.field.ground_area_m2());
    let edge = match of.from_edge_m > 0.0 {
        true => {
            format!(", new spots {} or more from the edge", of.units.distance_text(of.from_edge_m))
        }
        false => String::new(),
    };
    format!(
        "{}: {count} {}, {} {} each, {} in all\nfield {area:.1} {}{edge}",
        of.field_name,
        if count == 1 { "spot" } else { "spots" },
        of.insertions,
        if of.insertions == 1 { "insertion" } else { "insertions" },
        count * of.insertions,
        of.units.area_unit(),
    )
}

fn strata(of: &SpotsTable) -> Option<String> {
    let row = |(name, share, spots): &(String, f64, usize)| {
        vec![name.clone(), percent(*share), spots.to_string(), String::new()]
    };
    let header = ["stratum", "ground", "spots", ""].map(str::to_owned).to_vec();
    let rows: Vec<Vec<String>> =
        [header].into_iter().chain(of.plan.strata.iter().map(row)).collect();
    (!of.plan.strata.is_empty()).then(|| table(&rows))
}

fn walk(of: &SpotsTable) -> String {
    let walk = &of.plan.walk;
    let far = |m: f64| of.units.way_text(m);
    let saved = match walk.plain_m > 0.0 {
        true => percent(1.0 - walk.length_m / walk.plain_m),
        false => "0 %".into(),
    };
    format!(
        "walk: {} from the start past all spots, {} straight back; in the order they were placed {} ({saved} \
         saved)",
        far(walk.length_m),
        far(walk.back_m),
        far(walk.plain_m)
    )
}

/// A line for each spot.
fn lines(of: &SpotsTable) -> String {
    let utm = of.field.utm();
    let mut here = of.plan.walk.start;
    let mut row = |(index, spot): (usize, &PlannedSpot)| {
        let place = utm.unproject(spot.place);
        let on = of.units.way_text(distance_m(here, spot.place));
        here = spot.place;
        let mut why = spot.why.words();
        if let Some(stratum) = &spot.stratum {
            why = format!("{why}, {stratum}");
        }
        vec![
            spot.id.clone(),
            (index + 1).to_string(),
            format!("{:.6}", place.lat_deg),
            format!("{:.6}", place.lon_deg),
            on,
            why,
        ]
    };
    let header =
        ["spot", "walk", "latitude", "longitude", "from the last", "placed by"].map(str::to_owned);
    let mut rows = vec![header.to_vec()];
    for spot in of.plan.spots.iter().enumerate() {
        rows.push(row(spot));
    }
    table(&rows)
}
