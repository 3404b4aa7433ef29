//! What an operation takes: ground, product, fills of the hopper, money.
//!
//! Product is rate × ground, summed over the parts; fills are the product over what the hopper holds,
//! rounded up; cost is price × product + cost of the pass × ground. Nothing is added for overlaps, turns
//! or spillage.

use survey::{Depth, UnitSystem};

use crate::action::Action;
use crate::drafts::Draft;
use crate::error::PlanError;
use crate::operation::{Basis, Operation, OperationKind};
use crate::plan::{Dose, Part};
use crate::quantity::Amount;
use crate::rates_file::RatesFile;

/// What all operations share while they are counted.
pub(crate) struct Totals {
    pub units: UnitSystem,
    pub currency: String,
    pub warnings: Vec<String>,
    pub workings: Vec<String>,
}

impl Draft<'_> {
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
                return Err(rates.at(action, problem));
            }
            match (hopper, amend.hopper) {
                (Some((other, one)), Some(size)) if one != size => {
                    let problem = format!(
                        "its hopper is not that of {}; one product has one machine",
                        other.place()
                    );
                    return Err(rates.at(action, problem));
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
        self.set_depths().min_by(|one, other| one.m().total_cmp(&other.m()))
    }

    /// The deepest depth it is set to anywhere.
    pub fn deepest(&self) -> Option<Depth> {
        self.set_depths().max_by(|one, other| one.m().total_cmp(&other.m()))
    }

    fn set_depths(&self) -> impl Iterator<Item = Depth> {
        self.doses.iter().flatten().filter_map(|(dose, _)| match dose {
            Dose::Depth(depth) => Some(*depth),
            _ => None,
        })
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
        let text = |amount| self.kind().amount_text(amount, units);
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

/// Times a hopper is filled; one that just holds it all is filled once in spite of rounding.
fn fills(total: f64, hopper: f64) -> u32 {
    (total / hopper - 1e-9).ceil().max(0.0) as u32
}
