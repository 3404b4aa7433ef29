//! How alike the changes of near probes are, and what that leaves of the number of probes.
//!
//! A change is the strip's mean and a residual. Moran's I says whether residuals of near probes are alike, a
//! variogram fitted to them how far that reaches. Residuals of one strip add up to 0, so any two of its m are
//! correlated at −1/(m − 1) without any likeness, and the usual moments of Moran's I do not hold: it is told
//! against the residuals mixed within their strips, which is what they are where places play no part. From the variogram come the number of independent probes
//! that would tell a strip's mean as well, and, where a side has a single strip, the standard error of the
//! difference of the two sides' means: √(C̄tt + C̄cc − 2 C̄tc), with C̄ the mean covariance over pairs of probes
//! (Journel and Huijbregts 1978, Mining Geostatistics, chapter II, from memory). That tells ground from
//! ground and never treatment from ground.

use geostat::{Bins, EmpiricalVariogram, Estimator, Sample, Samples, Shape, Variogram, Weighting};
use statistics::{Random, SpatialWeights, effective_size_of_mean, morans_i, student};

use crate::trial_contrast::Treatment;
use crate::trial_strips::{TrialProbe, TrialStrip};

/// From fewer probes no variogram is fitted: common practice.
pub const LEAST_FOR_VARIOGRAM: usize = 30;

/// So often the residuals are mixed within their strips.
const SHUFFLES: usize = 999;

/// What the places of the probes say.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialSpatial {
    /// Moran's I of the residuals; `None` of fewer than four probes, or where all are alike.
    pub morans_i: Option<TrialMoran>,
    /// The model fitted to the residuals, in squares of centimetres; `None` where there is none.
    pub variogram: Option<Variogram>,
    /// Why there is no model.
    pub why_none: Option<&'static str>,
    /// The difference over single probes, where a side has one strip.
    pub over_probes: Option<OverProbes>,
}

/// Moran's I of the residuals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialMoran {
    /// The statistic.
    pub value: f64,
    /// What it is on average over all orders of each strip's residuals.
    pub expected: f64,
    /// Share of orders that are at least as far from that, of 999 drawn and the one found (Phipson and Smyth
    /// 2010, Statistical Applications in Genetics and Molecular Biology 9:39, from memory).
    pub p: f64,
}

/// Treated less check over single probes: tells ground from ground, not treatment from ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OverProbes {
    /// Mean change of the treated less that of the check probes, centimetres.
    pub difference_cm: f64,
    /// Its standard error under the variogram, centimetres.
    pub standard_error_cm: f64,
    /// Independent probes that would do as well: treated, check.
    pub effective_probes: [f64; 2],
    /// Interval, centimetres, with Student's t at so many degrees of freedom as these probes have.
    pub interval_cm: [f64; 2],
}

/// Looks at the places; the seed mixes the residuals.
pub(crate) fn spatial(
    probes: &[TrialProbe],
    strips: &[TrialStrip],
    confidence: f64,
    seed: u64,
) -> TrialSpatial {
    let residuals: Vec<f64> =
        probes.iter().map(|probe| probe.change_cm() - strips[probe.strip].change_cm).collect();
    let fitted = variogram(probes, &residuals);
    let model = fitted.as_ref().ok();
    TrialSpatial {
        morans_i: moran(probes, &residuals, seed),
        variogram: model.copied(),
        why_none: fitted.err(),
        over_probes: model.and_then(|model| over_probes(probes, strips, model, confidence)),
    }
}

/// Gives each strip the number of its effective probes.
pub(crate) fn give_effective_probes(
    probes: &[TrialProbe],
    strips: &mut [TrialStrip],
    model: &Variogram,
) {
    for (k, strip) in strips.iter_mut().enumerate() {
        let places = places(probes, |probe| probe.strip == k);
        strip.effective_probes = Some(effective_size_of_mean(&places, covariance(model)));
    }
}

fn places(probes: &[TrialProbe], which: impl Fn(&TrialProbe) -> bool) -> Vec<[f64; 2]> {
    probes.iter().filter(|probe| which(probe)).map(|probe| probe.place).collect()
}

fn covariance(model: &Variogram) -> impl Fn(f64) -> f64 + '_ {
    |distance_m| model.sill() - model.semivariance(distance_m)
}

fn variogram(probes: &[TrialProbe], residuals: &[f64]) -> Result<Variogram, &'static str> {
    if probes.len() < LEAST_FOR_VARIOGRAM {
        return Err("there are fewer than 30 probes");
    }
    let sample = |(probe, &value): (&TrialProbe, &f64)| Sample {
        easting_m: probe.place[0],
        northing_m: probe.place[1],
        value,
    };
    let fit = || {
        let samples = Samples::new(probes.iter().zip(residuals).map(sample).collect())?;
        let empirical =
            EmpiricalVariogram::new(&samples, Estimator::Matheron, &Bins::Default, None)?;
        let shapes = [Shape::Spherical, Shape::Exponential];
        empirical.fit_best(&shapes, Weighting::PairsPerSquaredDistance)
    };
    match fit() {
        Ok(fit) if fit.range_at_bound => Err("the residuals do not tell how far likeness reaches"),
        Ok(fit) => Ok(fit.model),
        Err(_) => Err("the residuals are all alike, or too near each other"),
    }
}

/// Neighbours are probes within the distance that leaves none alone.
fn moran(probes: &[TrialProbe], residuals: &[f64], seed: u64) -> Option<TrialMoran> {
    let places = places(probes, |_| true);
    if places.len() < 4 {
        return None;
    }
    let weights = SpatialWeights::within(&places, least_common_distance_m(&places) * (1.0 + 1e-9));
    let found = morans_i(residuals, &weights)?;
    let scale = scale(residuals, &weights);
    let expected = scale * expected_products(probes, residuals, &weights);
    let off = |values: &[f64]| (scale * products(values, &weights) - expected).abs();
    let least = off(residuals) - 1e-12;
    let mut random = Random::new(seed);
    let mut mixed = residuals.to_vec();
    let mut is_as_far = || {
        mix_within_strips(&mut mixed, probes, &mut random);
        off(&mixed) >= least
    };
    let count = (0..SHUFFLES).filter(|_| is_as_far()).count();
    let p = (count + 1) as f64 / (SHUFFLES + 1) as f64;
    Some(TrialMoran { value: found.statistic, expected, p })
}

/// n / (S₀ Σ z²), which no order of the residuals changes.
fn scale(residuals: &[f64], weights: &SpatialWeights) -> f64 {
    let links: f64 = links(weights).map(|(_, _, weight)| weight).sum();
    let squares: f64 = residuals.iter().map(|z| z * z).sum();
    residuals.len() as f64 / (links * squares)
}

/// From, to and weight of all neighbours.
fn links(weights: &SpatialWeights) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
    let of = |from| weights.neighbours(from).iter().map(move |&(to, weight)| (from, to, weight));
    (0..weights.places()).flat_map(of)
}

/// ΣΣ wᵢⱼ zᵢ zⱼ.
fn products(z: &[f64], weights: &SpatialWeights) -> f64 {
    links(weights).map(|(from, to, weight)| weight * z[from] * z[to]).sum()
}

/// The mean of that over all orders within strips: −Σ z² / (m (m − 1)) for two of one strip of m probes, whose
/// residuals add up to 0, and 0 for two of different strips.
fn expected_products(probes: &[TrialProbe], z: &[f64], weights: &SpatialWeights) -> f64 {
    let strips = probes.iter().map(|probe| probe.strip + 1).max().unwrap_or(0);
    let mut of_strip = vec![(0.0, 0.0); strips];
    for (probe, z) in probes.iter().zip(z) {
        let (squares, count) = of_strip[probe.strip];
        of_strip[probe.strip] = (squares + z * z, count + 1.0);
    }
    let expected = |(from, to, weight): (usize, usize, f64)| {
        let (squares, count) = of_strip[probes[from].strip];
        match probes[from].strip == probes[to].strip {
            true => -weight * squares / (count * (count - 1.0)),
            false => 0.0,
        }
    };
    links(weights).map(expected).sum()
}

/// Mixes the residuals of each strip; probes stand strip by strip.
fn mix_within_strips(residuals: &mut [f64], probes: &[TrialProbe], random: &mut Random) {
    let mut rest = residuals;
    for own in probes.chunk_by(|a, b| a.strip == b.strip) {
        let (strip, others) = rest.split_at_mut(own.len());
        random.shuffle(strip);
        rest = others;
    }
}

/// The greatest distance from a place to its nearest neighbour.
fn least_common_distance_m(places: &[[f64; 2]]) -> f64 {
    let nearest = |(k, place): (usize, &[f64; 2])| {
        let others = places.iter().enumerate().filter(|(other, _)| *other != k);
        others.map(|(_, other)| distance_m(*place, *other)).fold(f64::INFINITY, f64::min)
    };
    places.iter().enumerate().map(nearest).fold(0.0, f64::max)
}

fn distance_m([east, north]: [f64; 2], [other_east, other_north]: [f64; 2]) -> f64 {
    let (east_m, north_m) = (east - other_east, north - other_north);
    (east_m * east_m + north_m * north_m).sqrt()
}

fn over_probes(
    probes: &[TrialProbe],
    strips: &[TrialStrip],
    model: &Variogram,
    confidence: f64,
) -> Option<OverProbes> {
    let sides = [Treatment::Treated, Treatment::Check];
    let own = |side| move |strip: &&TrialStrip| strip.treatment == side;
    if sides.iter().all(|side| strips.iter().filter(own(*side)).count() > 1) {
        return None;
    }
    let of = |side| probes.iter().filter(move |probe| strips[probe.strip].treatment == side);
    let [treated, check] =
        sides.map(|side| of(side).map(|probe| probe.place).collect::<Vec<[f64; 2]>>());
    let mean = |side| {
        let changes = || of(side).map(TrialProbe::change_cm);
        changes().sum::<f64>() / changes().count() as f64
    };
    let difference_cm = mean(sides[0]) - mean(sides[1]);
    let between = |a, b| mean_covariance(a, b, model);
    let variance =
        between(&treated, &treated) + between(&check, &check) - 2.0 * between(&treated, &check);
    let effective_probes =
        [&treated, &check].map(|places| effective_size_of_mean(places, covariance(model)));
    let degrees = (effective_probes[0] + effective_probes[1] - 2.0).max(1.0);
    let standard_error_cm = variance.max(0.0).sqrt();
    let reach = student::quantile(f64::midpoint(1.0, confidence), degrees) * standard_error_cm;
    Some(OverProbes {
        difference_cm,
        standard_error_cm,
        effective_probes,
        interval_cm: [difference_cm - reach, difference_cm + reach],
    })
}

/// The mean covariance between a place of one list and a place of another.
fn mean_covariance(one: &[[f64; 2]], other: &[[f64; 2]], model: &Variogram) -> f64 {
    let covariance = covariance(model);
    let sum: f64 =
        one.iter().map(|&a| other.iter().map(|&b| covariance(distance_m(a, b))).sum::<f64>()).sum();
    sum / (one.len() * other.len()) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial_contrast::mean;
    use survey::{Depth, Reading};

    /// A probe of a strip with its place and its change from 50 cm.
    fn probe(strip: usize, place: [f64; 2], change_cm: f64) -> TrialProbe {
        let reached = |cm| Reading::Reached(Depth::from_cm(cm));
        let (earlier, later) = (reached(50.0), reached(50.0 + change_cm));
        TrialProbe { id: String::new(), strip, place, earlier, later }
    }

    /// Strips of the probes; the even ones are treated.
    fn strips(probes: &[TrialProbe]) -> Vec<TrialStrip> {
        let strip = |own: &[TrialProbe]| TrialStrip {
            name: String::new(),
            treatment: if own[0].strip.is_multiple_of(2) {
                Treatment::Treated
            } else {
                Treatment::Check
            },
            block: None,
            polygons: geo::MultiPolygon::new(Vec::new()),
            probes: own.len(),
            not_reached: [0, 0],
            earlier_cm: 50.0,
            later_cm: 50.0,
            change_cm: mean(&own.iter().map(TrialProbe::change_cm).collect::<Vec<_>>()),
            change_sd_cm: None,
            effective_probes: None,
        };
        probes.chunk_by(|a, b| a.strip == b.strip).map(strip).collect()
    }

    /// Spherical with a sill of 4 and a range of 20 m: at 10 m the covariance is 4 (1 − 1.5/2 + 0.5/8) = 1.25,
    /// from 20 m on 0.
    fn model() -> Variogram {
        Variogram::new(Shape::Spherical, 0.0, 4.0, 20.0).unwrap()
    }

    /// Two treated and two check probes on a line, 10 m apart: changes of −1, −3 and −5, −7 cm.
    fn on_a_line() -> Vec<TrialProbe> {
        let changes = [-1.0, -3.0, -5.0, -7.0];
        (0..4).map(|k| probe(k / 2, [10.0 * k as f64, 0.0], changes[k])).collect()
    }

    /// C̄tt = C̄cc = (4 + 4 + 2 · 1.25) / 4 and C̄tc = 1.25 / 4, so the variance is 5.25 − 0.625; two probes
    /// with a covariance of 1.25 are worth 16 / 10.5.
    #[test]
    fn likeness_across_the_edge_makes_the_difference_surer() {
        let probes = on_a_line();
        let found = over_probes(&probes, &strips(&probes), &model(), 0.95).unwrap();
        assert!((found.difference_cm - 4.0).abs() < 1e-12);
        assert!((found.standard_error_cm - 4.625_f64.sqrt()).abs() < 1e-12, "{found:?}");
        assert!(found.effective_probes.iter().all(|count| (count - 16.0 / 10.5).abs() < 1e-12));
        let reach = student::quantile(0.975, 32.0 / 10.5 - 2.0) * found.standard_error_cm;
        assert!((found.interval_cm[0] - (4.0 - reach)).abs() < 1e-12);
        assert!((found.interval_cm[1] - (4.0 + reach)).abs() < 1e-12);
    }

    #[test]
    fn single_probes_play_no_part_where_both_sides_have_strips() {
        let mut probes = on_a_line();
        probes.extend([probe(2, [40.0, 0.0], 0.0), probe(3, [50.0, 0.0], 0.0)]);
        assert_eq!(over_probes(&probes, &strips(&probes), &model(), 0.95), None);
        probes.pop();
        assert!(over_probes(&probes, &strips(&probes), &model(), 0.95).is_some());
    }

    #[test]
    fn each_strip_gets_its_own_effective_probes() {
        let mut probes = on_a_line();
        probes.extend([probe(2, [0.0, 100.0], 0.0), probe(2, [0.0, 120.0], 0.0)]);
        let mut strips = strips(&probes);
        give_effective_probes(&probes, &mut strips, &model());
        let found: Vec<f64> = strips.iter().map(|strip| strip.effective_probes.unwrap()).collect();
        for (found, expected) in found.iter().zip([16.0 / 10.5, 16.0 / 10.5, 2.0]) {
            assert!((found - expected).abs() < 1e-12, "{found} {expected}");
        }
    }

    /// Two strips of three probes in a row with residuals of −1, 0 and 1 cm. The sum of neighbours' products
    /// is 0 in the third of orders with 0 in the middle and −1 in the others: so over both strips 0 in 1/9 and
    /// −4/3 on average, from which 0 is farther than −1 and −2. I on average is −1/(3 − 1).
    #[test]
    fn residuals_are_told_against_their_orders_within_strips() {
        let probes: Vec<TrialProbe> = (0..6)
            .map(|k| probe(k / 3, [10.0 * (k % 3) as f64, 100.0 * (k / 3) as f64], (k % 3) as f64))
            .collect();
        let of = |seed| spatial(&probes, &strips(&probes), 0.95, seed).morans_i.unwrap();
        let found = of(1);
        assert!(found.value.abs() < 1e-12 && (found.expected + 0.5).abs() < 1e-12, "{found:?}");
        // Four standard errors of a share of 999 draws.
        let four = 4.0 * (8.0 / 81.0 / 999.0_f64).sqrt();
        assert!((found.p - 1.0 / 9.0).abs() < four, "{found:?}");
        assert_eq!(found, of(1));
        assert_ne!(found.p, of(2).p);
    }

    /// Eight strips of five probes whose changes know nothing of their places: 5 % of 300 such trials are 15,
    /// with a standard deviation of 3.8.
    #[test]
    fn changes_without_likeness_seldom_look_alike() {
        let mut random = Random::new(4);
        let mut change = || random.below(1_000) as f64 / 100.0;
        let mut is_alike = |seed| {
            let place = |k: usize| [40.0 * (k % 5) as f64, 33.0 * (k / 5) as f64];
            let probes: Vec<TrialProbe> =
                (0..40).map(|k| probe(k / 5, place(k), change())).collect();
            spatial(&probes, &strips(&probes), 0.95, seed).morans_i.unwrap().p <= 0.05
        };
        let count = (0..300).filter(|&seed| is_alike(seed)).count();
        assert!((3..=29).contains(&count), "{count}");
    }

    /// A change that rises along each strip is alike from probe to probe.
    #[test]
    fn likeness_along_strips_is_seen() {
        let place = |k: usize| [40.0 * (k % 5) as f64, 33.0 * (k / 5) as f64];
        let probes: Vec<TrialProbe> =
            (0..40).map(|k| probe(k / 5, place(k), (k % 5) as f64)).collect();
        let found = spatial(&probes, &strips(&probes), 0.95, 1).morans_i.unwrap();
        assert!(found.value > 0.3 && found.p == 0.001, "{found:?}");
    }
}
