//! The operations of a plan: which there are, and their dose in each zone.

use survey::UnitSystem;

use crate::action::{Action, Amend, What};
use crate::assign::same_product;
use crate::error::PlanError;
use crate::operation::Basis;
use crate::plan::Dose;
use crate::rates_file::RatesFile;
use crate::set_depth::{margin_warning, refuse_unmeasured, set_depth};
use crate::slug::slug;
use crate::words::capitalised;
use crate::words::listed;
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
        return Err(rates.at(action, problem));
    }
    Ok(match (given.first(), &actions[0].what) {
        (Some((_, name)), _) => (*name).clone(),
        (None, What::Amend(amend)) => capitalised(&amend.product),
        (None, _) => "Loosen".into(),
    })
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
            found.workings.extend(lines.map(|(text, zones)| format!("{}: {text}", listed(&zones))));
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

    pub fn amends(&self) -> impl Iterator<Item = (&Action, &Amend)> {
        self.actions.iter().filter_map(|action| match &action.what {
            What::Amend(amend) => Some((*action, amend.as_ref())),
            _ => None,
        })
    }

    /// Whether each rate has its complete basis.
    pub fn is_backed(&self) -> bool {
        self.amends().all(|(_, amend)| amend.basis.is_ok())
    }

    /// The product, as its first action names it; `None` of tillage.
    pub fn product(&self) -> Option<&str> {
        self.amends().next().map(|(_, amend)| amend.product.as_str())
    }
}
