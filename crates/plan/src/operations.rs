//! The operations of a plan: which there are, their dose in each zone, and what they take.

use survey::{Depth, UnitSystem};

use crate::action::{Action, Amend, What};
use crate::assign::same_product;
use crate::error::PlanError;
use crate::operation::{Basis, Operation, OperationKind};
use crate::plan::{Dose, Part};
use crate::quantity::{Amount, Price, PricedUnit};
use crate::rates_file::RatesFile;
use crate::set_depth::{margin_warning, refuse_unmeasured, set_depth};
use crate::slug::slug;
use crate::words::{mass_text, volume_text};
use crate::zone_map::ZoneMap;

/// The operations with their doses, before the ground is cut and counted.
pub(crate) struct Drafts<'a> {
    pub drafts: Vec<Draft<'a>>,
    pub warnings: Vec<String>,
    pub workings: Vec<String>,
}

/// One operation and the dose of each zone, in the map's order, with the action it comes from.
pub(crate) struct Draft<'a> {
    pub name: String,
    pub slug: String,
    pub actions: Vec<&'a Action>,
    pub doses: Vec<Option<(Dose, &'a Action)>>,
}

/// The operations of a rates file with their doses in the zones of a map.
pub(crate) fn drafts<'a>(
    map: &ZoneMap,
    rates: &'a RatesFile,
    units: UnitSystem,
) -> Result<Drafts<'a>, PlanError> {
    let mut all = Drafts { drafts: Vec::new(), warnings: Vec::new(), workings: Vec::new() };
    let mut slugs = Vec::new();
    for actions in grouped(rates) {
        let name = name(rates, &actions)?;
        let slug = slug(&name, &slugs);
        slugs.push(slug.clone());
        let mut doses = vec![None; map.zones.len()];
        for &action in &actions {
            let found = doses_of(map, rates, action, units)?;
            for (mine, dose) in doses.iter_mut().zip(found.doses) {
                *mine = dose.map(|dose| (dose, action)).or(*mine);
            }
            all.warnings.extend(found.warnings);
            all.workings.extend(found.workings);
        }
        all.drafts.push(Draft { name, slug, actions, doses });
    }
    Ok(all)
}

/// The actions of each operation: all that loosen are one, and all of one product.
fn grouped(rates: &RatesFile) -> Vec<Vec<&Action>> {
    let mut groups: Vec<Vec<&Action>> = Vec::new();
    let alike = |one: &Action, other: &Action| match (&one.what, &other.what) {
        (What::Loosen(_), What::Loosen(_)) => true,
        (What::Amend(one), What::Amend(other)) => same_product(&one.product, &other.product),
        _ => false,
    };
    let of_machine = |action: &&Action| matches!(action.what, What::Loosen(_) | What::Amend(_));
    for action in rates.actions.iter().filter(of_machine) {
        match groups.iter_mut().find(|group| alike(group[0], action)) {
            Some(group) => group.push(action),
            None => groups.push(vec![action]),
        }
    }
    groups
}

/// The name that an action gives the operation, or else what it does.
fn name(rates: &RatesFile, actions: &[&Action]) -> Result<String, PlanError> {
    let given: Vec<(&Action, &String)> =
        actions.iter().filter_map(|action| Some((*action, action.name.as_ref()?))).collect();
    if let Some((action, name)) = given.iter().find(|(_, name)| *name != given[0].1) {
        let problem = format!(
            "it calls the operation {name:?}, {} calls it {:?}; give it one name",
            given[0].0.place(),
            given[0].1
        );
        return Err(at(rates, action, problem));
    }
    Ok(match (given.first(), &actions[0].what) {
        (Some((_, name)), _) => (*name).clone(),
        (None, What::Amend(amend)) => capitalised(&amend.product),
        (None, _) => "Loosen".into(),
    })
}

fn capitalised(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn at(rates: &RatesFile, action: &Action, problem: String) -> PlanError {
    PlanError::Place { file: rates.file.clone(), place: action.place(), problem }
}

struct Doses {
    doses: Vec<Option<Dose>>,
    warnings: Vec<String>,
    workings: Vec<String>,
}

fn doses_of(
    map: &ZoneMap,
    rates: &RatesFile,
    action: &Action,
    units: UnitSystem,
) -> Result<Doses, PlanError> {
    let mut found = Doses { doses: Vec::new(), warnings: Vec::new(), workings: Vec::new() };
    match &action.what {
        What::Loosen(loosen) => {
            refuse_unmeasured(map, rates, action, loosen)?;
            found.warnings.extend(margin_warning(action, loosen, units));
            let mut set_like: Vec<(String, Vec<&str>)> = Vec::new();
            for zone in &map.zones {
                if !action.is_for(zone) {
                    found.doses.push(None);
                    continue;
                }
                let set = set_depth(rates, action, loosen, zone, units)?;
                found.doses.push(Some(Dose::Depth(set.depth)));
                found.warnings.extend(set.warnings);
                match set_like.iter_mut().find(|(working, _)| *working == set.working) {
                    Some((_, zones)) => zones.push(&zone.id),
                    None => set_like.push((set.working, vec![&zone.id])),
                }
            }
            let lines = set_like.into_iter();
            found
                .workings
                .extend(lines.map(|(text, zones)| format!("{}: {text}", zones.join(", "))));
        }
        What::Amend(amend) => {
            let dose = |zone| action.is_for(zone).then_some(amend.rate.dose);
            found.doses = map.zones.iter().map(dose).collect();
            found
                .workings
                .extend(amend.workings.iter().map(|text| format!("{}: {text}", amend.product)));
            found
                .workings
                .extend(amend.basis.as_ref().ok().map(|basis| basis.text(&amend.product)));
            found.warnings.extend(amend.warnings.clone());
            found.warnings.extend(amend.missing_basis(action));
        }
        What::Leave | What::Other(_) => found.doses = vec![None; map.zones.len()],
    }
    Ok(found)
}

impl Basis {
    fn text(&self, product: &str) -> String {
        format!(
            "{product}: rate recommended by {}, on the soil test of {} by {} ({})",
            self.recommended_by, self.date, self.lab, self.method
        )
    }
}

impl Amend {
    fn missing_basis(&self, action: &Action) -> Option<String> {
        let missing = self.basis.as_ref().err()?;
        Some(format!(
            "{}: the rate of {} has no complete basis; missing in `basis`: {}",
            action.place(),
            self.product,
            missing.join(", ")
        ))
    }
}

impl Draft<'_> {
    pub fn is_tillage(&self) -> bool {
        self.actions[0].is_tillage()
    }

    fn amends(&self) -> impl Iterator<Item = (&Action, &Amend)> {
        self.actions.iter().filter_map(|action| match &action.what {
            What::Amend(amend) => Some((*action, amend.as_ref())),
            _ => None,
        })
    }

    /// Whether each rate has its complete basis.
    pub fn is_backed(&self) -> bool {
        self.amends().all(|(_, amend)| amend.basis.is_ok())
    }

    /// Masses and volumes of one product cannot be added, nor two sizes of one hopper be filled.
    fn hopper(&self, rates: &RatesFile) -> Result<Option<f64>, PlanError> {
        let first = self.amends().next().map(|(_, amend)| amend.rate.dose);
        let mut hopper: Option<(&Action, Amount)> = None;
        for (action, amend) in self.amends() {
            let is_mass = |dose| matches!(dose, Dose::Mass(_));
            if first.map(is_mass) != Some(is_mass(amend.rate.dose)) {
                let problem = format!(
                    "{} goes by mass in one action and by volume in another; give all alike",
                    amend.product
                );
                return Err(at(rates, action, problem));
            }
            match (hopper, amend.hopper) {
                (Some((other, one)), Some(size)) if one != size => {
                    let problem = format!(
                        "its hopper is not that of {}; one product has one machine",
                        other.place()
                    );
                    return Err(at(rates, action, problem));
                }
                (None, Some(size)) => hopper = Some((action, size)),
                _ => {}
            }
        }
        Ok(hopper.map(|(_, size)| match size {
            Amount::Mass(kg) => kg,
            Amount::Volume(litres) => litres,
        }))
    }

    /// The product, as its first action names it; `None` of tillage.
    pub fn product(&self) -> Option<&str> {
        self.amends().next().map(|(_, amend)| amend.product.as_str())
    }

    /// The operation with what it takes on the parts, in whose doses it stands at `index`; `zone_of` has
    /// the zone of each part.
    pub fn counted(
        &self,
        rates: &RatesFile,
        parts: &[Part],
        zone_of: &[usize],
        index: usize,
        totals: &mut Totals,
    ) -> Result<Operation, PlanError> {
        let hopper = self.hopper(rates)?;
        let is_treated = |(part, _): &(&Part, &usize)| part.doses[index].is_some();
        let treated: Vec<(&Part, Dose, &Action)> = parts
            .iter()
            .zip(zone_of)
            .filter(is_treated)
            .filter_map(|(part, &zone)| {
                let (dose, action) = self.doses[zone]?;
                Some((part, dose, action))
            })
            .collect();
        let treated_m2 = treated.iter().fold(0.0, |sum, (part, ..)| sum + part.ground_area_m2);
        let amount = |part: &Part, dose: Dose| match dose {
            Dose::Mass(rate) => rate.kg_per_ha() * part.ground_area_m2 / survey::units::M2_PER_HA,
            Dose::Volume(rate) => rate.l_per_ha() * part.ground_area_m2 / survey::units::M2_PER_HA,
            Dose::Depth(_) => 0.0,
        };
        let total = (!self.is_tillage())
            .then(|| treated.iter().fold(0.0, |sum, (part, dose, _)| sum + amount(part, *dose)));
        let fills = total.zip(hopper).map(|(total, hopper)| fills(total, hopper));
        let mut cost = None;
        for (part, dose, action) in &treated {
            for (price, units) in action.prices(part.ground_area_m2, amount(part, *dose)) {
                cost = Some(cost.unwrap_or(0.0) + price.amount * units);
            }
        }
        if let (Some(_), Some(unpriced)) =
            (cost, self.actions.iter().find(|action| action.prices(1.0, 1.0).is_empty()))
        {
            totals.warnings.push(format!(
                "the cost of {} leaves out {}, which gives no price",
                self.name,
                unpriced.place()
            ));
        }
        totals.workings.extend(self.working(total, hopper, fills, treated_m2, totals.units));
        Ok(Operation {
            slug: self.slug.clone(),
            name: self.name.clone(),
            kind: self.kind(),
            basis: self.basis(),
            treated_m2,
            total,
            hopper,
            fills,
            cost: cost.map(|cost| (cost, totals.currency.clone())),
            out_of_field: self.elsewhere(rates.out_of_field, Some(Depth::from_m(0.0))),
            signal_lost: self.elsewhere(rates.signal_lost, self.shallowest()),
        })
    }

    fn kind(&self) -> OperationKind {
        match self.amends().next() {
            None => OperationKind::Loosen,
            Some((_, amend)) => match amend.rate.dose {
                Dose::Volume(_) => OperationKind::AmendVolume { product: amend.product.clone() },
                _ => OperationKind::AmendMass { product: amend.product.clone() },
            },
        }
    }

    /// The first of its bases, where each rate has one.
    fn basis(&self) -> Option<Basis> {
        let first = self.amends().next().and_then(|(_, amend)| amend.basis.clone().ok());
        first.filter(|_| self.is_backed())
    }

    /// The shallowest depth it is set to anywhere.
    pub fn shallowest(&self) -> Option<Depth> {
        let depths = self.doses.iter().flatten().filter_map(|(dose, _)| match dose {
            Dose::Depth(depth) => Some(*depth),
            _ => None,
        });
        depths.min_by(|one, other| one.m().total_cmp(&other.m()))
    }

    /// The dose where the plan says nothing: a depth as given or usual, none of a product.
    fn elsewhere(&self, given: Option<Depth>, usual: Option<Depth>) -> Dose {
        let usual = usual.unwrap_or(Depth::from_m(0.0));
        match self.amends().next() {
            None => Dose::Depth(given.unwrap_or(usual)),
            Some((_, amend)) => amend.rate.dose.none(),
        }
    }

    fn working(
        &self,
        total: Option<f64>,
        hopper: Option<f64>,
        fills: Option<u32>,
        treated_m2: f64,
        units: UnitSystem,
    ) -> Option<String> {
        let total = total?;
        let text = |amount| match self.kind() {
            OperationKind::AmendVolume { .. } => volume_text(amount, units),
            _ => mass_text(amount, units),
        };
        let refills = hopper.zip(fills).map_or_else(String::new, |(hopper, fills)| {
            format!("; {fills} fills = {} / {}, rounded up", text(total), text(hopper))
        });
        Some(format!(
            "{}: {} = sum over its parts of rate × ground, {:.2} {} in all, with no allowance for overlaps \
             or spillage{refills}",
            self.name,
            text(total),
            units.area(treated_m2),
            units.area_unit(),
        ))
    }
}

/// What all operations share while they are counted.
pub(crate) struct Totals {
    pub units: UnitSystem,
    pub currency: String,
    pub warnings: Vec<String>,
    pub workings: Vec<String>,
}

/// Times a hopper is filled; one that just holds it all is filled once in spite of rounding.
fn fills(total: f64, hopper: f64) -> u32 {
    (total / hopper - 1e-9).ceil().max(0.0) as u32
}

impl Action {
    /// Its prices, each with how many of their units are paid for.
    fn prices(&self, ground_m2: f64, amount: f64) -> Vec<(&Price, f64)> {
        let (price, cost_per_area) = match &self.what {
            What::Loosen(loosen) => (None, loosen.cost_per_area.as_ref()),
            What::Amend(amend) => (amend.price.as_ref(), amend.cost_per_area.as_ref()),
            What::Leave | What::Other(_) => (None, None),
        };
        let units = |price: &Price| match price.per {
            PricedUnit::Area(m2) => ground_m2 / m2,
            PricedUnit::Amount(Amount::Mass(one) | Amount::Volume(one)) => amount / one,
        };
        price.into_iter().chain(cost_per_area).map(|price| (price, units(price))).collect()
    }
}

/// The one currency of all prices; empty where there is no price.
pub(crate) fn currency(rates: &RatesFile) -> Result<String, PlanError> {
    let mut currency = rates.currency.clone();
    for action in &rates.actions {
        for (price, _) in action.prices(1.0, 1.0) {
            let mine = price.currency.as_ref().or(rates.currency.as_ref()).ok_or_else(|| {
                let problem = format!(
                    "{:?} has no currency; write for example \"38 USD/ton\", or set currency in [plan]",
                    price.text
                );
                at(rates, action, problem)
            })?;
            let plans = currency.get_or_insert_with(|| mine.clone());
            if plans != mine {
                let problem =
                    format!("{:?} is not in {plans}, as the plan is; give one", price.text);
                return Err(at(rates, action, problem));
            }
        }
    }
    Ok(currency.unwrap_or_default())
}
