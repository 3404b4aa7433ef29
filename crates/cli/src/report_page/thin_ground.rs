//! Where the loose layer is thin: which zones, where they lie in the field, how much ground.

use mapping::{DepthClasses, DepthMap, Zone};
use report::where_in_field;
use survey::{Depth, UnitSystem};

/// Zones told by name; the table has all.
const TOLD: usize = 3;

/// The ground of the shallowest classes.
pub struct ThinGround<'a> {
    map: &'a DepthMap,
    /// Ground is thin where the loose layer is thinner than this.
    pub limit: Depth,
    /// Its zones, the largest first.
    pub zones: Vec<&'a Zone>,
    /// Their ground, square metres.
    pub area_m2: f64,
}

impl<'a> ThinGround<'a> {
    /// That of a map: of the classes that end at the limit nearest to the depth asked for, or to 6 in or 15 cm
    /// (common practice).
    pub fn of(map: &'a DepthMap) -> Self {
        let limit = limit(&map.classes, map.settings.thinner_than);
        let is_thin = |zone: &&Zone| {
            map.classes.below(zone.class).is_some_and(|below| below.cm() <= limit.cm())
        };
        let zones = largest_first(map.zones.iter().filter(is_thin).collect());
        let area_m2 = zones.iter().map(|zone| zone.ground_area_m2).fold(0.0, |sum, m2| sum + m2);
        ThinGround { map, limit, zones, area_m2 }
    }

    /// The map's mean depth on them.
    pub fn mean(&self) -> Depth {
        let weighed = self.zones.iter().map(|zone| zone.depth.mean.m() * zone.ground_area_m2);
        Depth::from_m(weighed.fold(0.0, |sum, part| sum + part) / self.area_m2)
    }

    /// Spots on them that were not reached: with any the mean depth is a lower bound.
    pub fn not_reached(&self) -> usize {
        self.zones.iter().map(|zone| zone.not_reached).sum()
    }

    /// The zones of the shallowest class that has any, and its name: what is thinnest where nothing is thin.
    pub fn thinnest(&self) -> Option<(String, Vec<&'a Zone>)> {
        let class = self.map.zones.iter().map(|zone| zone.class).min()?;
        let zones = self.map.zones.iter().filter(|zone| zone.class == class).collect();
        Some((self.map.classes.name(class), largest_first(zones)))
    }

    /// Zones with where they lie and how large they are: `Z1 along the west side (5.1 ac), Z3 in the middle (0.9 ac)
    /// and 3 smaller ones (0.7 ac)`.
    pub fn told(&self, zones: &[&Zone], area: impl Fn(f64) -> String) -> String {
        let field = self.map.field().polygons();
        let one = |zone: &&Zone| {
            let place = where_in_field(&zone.polygons, field);
            format!("{} {place} ({})", zone.id, area(zone.ground_area_m2))
        };
        // One more takes no more room than saying that there is one.
        let told = if zones.len() <= TOLD + 1 { zones.len() } else { TOLD };
        let mut names: Vec<String> = zones[..told].iter().map(one).collect();
        let rest = &zones[told..];
        if !rest.is_empty() {
            let rest_m2 = rest.iter().fold(0.0, |sum, zone| sum + zone.ground_area_m2);
            names.push(format!("{} smaller ones ({} together)", rest.len(), area(rest_m2)));
        }
        listed(&names)
    }
}

/// `a`, `a and b`, `a, b and c`.
pub fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn largest_first(mut zones: Vec<&Zone>) -> Vec<&Zone> {
    zones.sort_by(|a, b| b.ground_area_m2.total_cmp(&a.ground_area_m2));
    zones
}

/// The limit between classes nearest to a depth; of two as near the deeper one.
fn limit(classes: &DepthClasses, asked: Option<Depth>) -> Depth {
    let wanted = asked.unwrap_or(match classes.units() {
        UnitSystem::Us => Depth::from_in(6.0),
        UnitSystem::Si => Depth::from_cm(15.0),
    });
    let limits = (0..classes.len()).rev().filter_map(|class| classes.below(class));
    let off = |limit: &Depth| (limit.cm() - wanted.cm()).abs();
    let nearest = limits.min_by(|a, b| off(a).total_cmp(&off(b)));
    nearest.expect("there are always at least two classes")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thin_ends_at_a_limit_of_the_classes() {
        let of = |units, asked| limit(&DepthClasses::rod_marks(units), asked);
        assert_eq!(of(UnitSystem::Us, None).inches().round(), 6.0);
        assert_eq!(of(UnitSystem::Si, None).cm().round(), 20.0);
        assert_eq!(of(UnitSystem::Us, Some(Depth::from_in(12.5))).inches().round(), 12.0);
        let own = DepthClasses::new(&[8.0, 14.0], UnitSystem::Us).unwrap();
        assert_eq!(limit(&own, None).inches().round(), 8.0);
    }

    #[test]
    fn names_are_listed_as_in_speech() {
        let names = ["a", "b", "c"].map(String::from);
        assert_eq!([1, 2, 3].map(|n| listed(&names[..n])), ["a", "a and b", "a, b and c"]);
    }
}
