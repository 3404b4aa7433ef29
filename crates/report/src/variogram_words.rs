//! What a variogram says, in plain words.

use geostat::Variogram;
use survey::units::tidy;
use survey::{Depth, UnitSystem};

use crate::variogram_page::VariogramPage;
use crate::wording::{count_text, share_text, whole};

/// Fewer samples than this are few for a variogram, and fewer than the second number too few: Webster
/// and Oliver (1992, Journal of Soil Science 43:177–192, from memory) want 100 to 150.
const FEW: usize = 100;
const TOO_FEW: usize = 50;

/// From this share of the sill on, the nugget leaves little for neighbours to tell: "weak spatial
/// dependence" of Cambardella et al. (1994, Soil Science Society of America Journal 58:1501–1511, from
/// memory).
const MOSTLY_NUGGET: f64 = 0.75;

/// Reaching this share of the partial sill counts as reaching the sill, where a model only comes near
/// it (common practice: the practical or effective range).
const PRACTICALLY: f64 = 0.95;

/// Distance in metres at which a model's structure reaches its sill, or 95 % of it where it never
/// does, along its longest direction. `None` for a nugget alone.
pub(crate) fn practical_range_m(model: &Variogram) -> Option<f64> {
    if model.partial_sill <= 0.0 {
        return None;
    }
    let is_reached = |distance_m: f64, share: f64| {
        model.structure_covariance(distance_m) <= (1.0 - share) * model.partial_sill
    };
    if is_reached(model.range_m, 1.0) {
        return Some(model.range_m);
    }
    // Structures fall with distance, so halving finds the place; a model that is still not there at
    // a hundred ranges has none.
    let (mut low, mut high) = (0.0, 100.0 * model.range_m);
    if !is_reached(high, PRACTICALLY) {
        return None;
    }
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if is_reached(middle, PRACTICALLY) { high = middle } else { low = middle }
    }
    Some(high)
}

/// Whether the model reaches its sill at the range of its formula.
fn reaches_sill(model: &Variogram) -> bool {
    model.structure_covariance(model.range_m) <= 0.0
}

/// The nugget as a share of the sill.
pub(crate) fn nugget_share(model: &Variogram) -> f64 {
    model.nugget / model.sill()
}

/// A semivariance with its unit: `18.2 in²`.
pub(crate) fn semivariance_text(cm2: f64, units: UnitSystem) -> String {
    let number = match semivariance(cm2, units) {
        many if many >= 99.95 => tidy(many, 0),
        some if some >= 9.995 => tidy(some, 1),
        few => tidy(few, 2),
    };
    format!("{number} {}²", units.depth_unit())
}

/// A semivariance as a number of the reader's unit, squared.
pub(crate) fn semivariance(cm2: f64, units: UnitSystem) -> f64 {
    let per_cm = units.depth(Depth::from_cm(1.0));
    cm2 * per_cm * per_cm
}

/// A distance in whole feet or metres, unless it is only a few.
pub(crate) fn distance_text(distance_m: f64, units: UnitSystem) -> String {
    units.distance_text(whole(distance_m, units))
}

/// The one sentence to take home.
pub(crate) fn verdict(page: &VariogramPage) -> String {
    let Some(range_m) = practical_range_m(page.model) else {
        return "Readings next to each other differ as much as readings across the field: distance \
                tells nothing."
            .into();
    };
    let range = distance_text(range_m, page.units);
    match range_m > page.empirical.cutoff_m {
        true => format!(
            "Readings grow less alike over all distances looked at; the model's range of {range} lies \
             beyond them."
        ),
        false => format!("Readings farther apart than {range} are no longer alike."),
    }
}

/// What nugget and range mean.
pub(crate) fn meaning(page: &VariogramPage) -> Vec<String> {
    let share = share_text(nugget_share(page.model));
    let spacing = distance_text(page.survey.spacing_m(), page.units);
    let mut all = vec![format!(
        "Nugget share {share}: so much of the difference is there at once, from reading errors and from \
         soil that changes within the probes' spacing of {spacing}."
    )];
    if let Some(range_m) = practical_range_m(page.model)
        && range_m < 1.5 * page.survey.spacing_m()
    {
        all.push(
            "Probes stand about as far apart as the range: hardly any has a neighbour that is \
                  like it."
                .into(),
        );
    }
    all
}

/// The model with its numbers.
pub(crate) fn model(page: &VariogramPage) -> String {
    let (model, units) = (page.model, page.units);
    let semivariance = |cm2| semivariance_text(cm2, units);
    let mut words = format!(
        "Model: {}, nugget {}, partial sill {}, sill {}",
        page.model_name.trim(),
        semivariance(model.nugget),
        semivariance(model.partial_sill),
        semivariance(model.sill())
    );
    if model.partial_sill > 0.0 {
        let range = distance_text(model.range_m, units);
        words += &format!(", range {range}");
        if !reaches_sill(model) {
            words += " in its formula";
        }
    }
    words.push('.');
    if let (false, Some(range_m)) = (reaches_sill(model), practical_range_m(model)) {
        let range = distance_text(range_m, units);
        words +=
            &format!(" It comes within 5 % of its sill at {range}, which is drawn as the range.");
    }
    if !model.anisotropy.is_none() && model.partial_sill > 0.0 {
        let (azimuth, ratio) = (model.anisotropy.azimuth_deg(), model.anisotropy.ratio());
        words += &format!(
            " That is along {}; across it the range is {} of that.",
            direction_text(azimuth),
            share_text(ratio)
        );
    }
    words
}

/// What makes the variogram doubtful.
pub(crate) fn cautions(page: &VariogramPage) -> Vec<String> {
    let mut all = Vec::new();
    let probes = count_text(page.samples, "probe");
    let wanted = "100 to 150 are wanted (Webster & Oliver 1992)";
    if page.samples < TOO_FEW {
        all.push(format!("{probes}: too few for a variogram; {wanted}. Do not rely on it."));
    } else if page.samples < FEW {
        all.push(format!("{probes}: few for a variogram; {wanted}."));
    }
    if nugget_share(page.model) > MOSTLY_NUGGET {
        all.push(
            "More than 75 % nugget: neighbours tell little, and a map is hardly better than the mean of \
             the field."
                .into(),
        );
    }
    all
}

/// A direction on the ground: `45° (NE–SW)`.
pub(crate) fn direction_text(azimuth_deg: f64) -> String {
    let half_turn = azimuth_deg.rem_euclid(180.0);
    let names = [(0.0, "N–S"), (45.0, "NE–SW"), (90.0, "E–W"), (135.0, "SE–NW")];
    let degrees = tidy(half_turn, 1);
    match names.into_iter().find(|(deg, _)| (deg - half_turn).abs() < 0.5) {
        Some((_, name)) => format!("{degrees}° ({name})"),
        None => format!("{degrees}°"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geostat::Shape;

    fn model(shape: Shape) -> Variogram {
        Variogram::new(shape, 1.0, 3.0, 100.0).unwrap()
    }

    /// Exponential: 1 − exp(−t) = 0.95 at t = ln 20 = 2.9957; Gaussian: at t = √(ln 20) = 1.7308.
    #[test]
    fn the_practical_range_is_where_the_curve_is_within_a_twentieth_of_its_sill() {
        let range_m = |shape| practical_range_m(&model(shape)).unwrap();
        assert_eq!(range_m(Shape::Spherical), 100.0);
        assert!((range_m(Shape::Exponential) - 299.573_227_355).abs() < 1e-6);
        assert!((range_m(Shape::Gaussian) - 173.081_838_260).abs() < 1e-6);
    }

    #[test]
    fn a_nugget_alone_has_no_range() {
        let nugget = Variogram::new(Shape::Spherical, 4.0, 0.0, 100.0).unwrap();
        assert_eq!(practical_range_m(&nugget), None);
        assert_eq!(nugget_share(&nugget), 1.0);
    }

    #[test]
    fn semivariances_are_squares_of_the_reader_s_unit() {
        assert_eq!(semivariance_text(6.4516, UnitSystem::Us), "1 in²");
        assert_eq!(semivariance_text(123.4, UnitSystem::Si), "123 cm²");
    }

    #[test]
    fn directions_have_two_ends() {
        let texts = [0.0, 225.0, 90.0, 30.0].map(direction_text);
        assert_eq!(texts, ["0° (N–S)", "45° (NE–SW)", "90° (E–W)", "30°"]);
    }
}
