//! One action: what is to be done in some zones.

use survey::{Date, Depth};

use crate::operation::Basis;
use crate::product_rate::{as_spread, refuse_unused};
use crate::quantity::{Amount, Price, PricedUnit, Rate};
use crate::rates_file::said;
use crate::rates_tables::{ActionTable, BasisTable, BottomValue, WhatWord};

/// How far below the bottom of the tight layer the tool runs unless another margin is given: one inch
/// (NRCS Code 324; USDA Forest Service 0834-2828-MTDC).
const MARGIN_IN: f64 = 1.0;

/// One `[[action]]` of a rates file.
#[derive(Debug, Clone, PartialEq)]
pub struct Action {
    /// Its number in the file, from 1.
    pub number: usize,
    /// Where.
    pub target: Target,
    /// Name of its operation for people, where one is given.
    pub name: Option<String>,
    /// What.
    pub what: What,
}

/// The zones of an action. Never empty, nothing twice.
#[derive(Debug, Clone, PartialEq)]
pub enum Target {
    /// All zones of these classes, by number.
    Classes(Vec<usize>),
    /// These zones, by id.
    Zones(Vec<String>),
}

/// What an action does.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// Nothing.
    Leave,
    /// Loosens the tight layer.
    Loosen(Loosen),
    /// Spreads a product.
    Amend(Box<Amend>),
    /// Something no file for a machine can say, in the user's words.
    Other(String),
}

/// Loosening.
#[derive(Debug, Clone, PartialEq)]
pub struct Loosen {
    /// Where the bottom of the tight layer is known from.
    pub bottom: Bottom,
    /// How far below it the tool runs.
    pub margin: Depth,
    /// Cost of the pass on an area.
    pub cost_per_area: Option<Price>,
}

/// How the bottom of the tight layer is known.
#[derive(Debug, Clone, PartialEq)]
pub enum Bottom {
    /// From the profiles of each zone.
    Profiles,
    /// As the user measured it.
    Given {
        /// The bottom.
        depth: Depth,
        /// How it was measured: `3 pits`.
        how: String,
        /// Day it was measured.
        date: Date,
    },
}

/// Spreading a product.
#[derive(Debug, Clone, PartialEq)]
pub struct Amend {
    /// The product.
    pub product: String,
    /// Rate of the product as it is spread.
    pub rate: Rate,
    /// How the rate was worked out.
    pub workings: Vec<String>,
    /// What should be known of it.
    pub warnings: Vec<String>,
    /// Price of the product.
    pub price: Option<Price>,
    /// Cost of spreading on an area.
    pub cost_per_area: Option<Price>,
    /// What the hopper or tank holds.
    pub hopper: Option<Amount>,
    /// What the rate rests on, or which parts of that are missing.
    pub basis: Result<Basis, Vec<&'static str>>,
}

impl Action {
    /// Where it stands in its file: `[[action]] 2`.
    pub fn place(&self) -> String {
        format!("[[action]] {}", self.number)
    }

    /// Whether it moves the tool of a tillage machine.
    pub fn is_tillage(&self) -> bool {
        matches!(self.what, What::Loosen(_))
    }

    pub(crate) fn from_table(number: usize, table: ActionTable) -> Result<Action, String> {
        refuse_foreign_keys(&table)?;
        let target = target(&table)?;
        let name = said(table.name.clone());
        let what = match table.what {
            WhatWord::Leave => What::Leave,
            WhatWord::Loosen => What::Loosen(loosen(table)?),
            WhatWord::Amend => What::Amend(Box::new(amend(table)?)),
            WhatWord::Other => What::Other(
                said(table.text)
                    .ok_or("do = \"other\" without text; say in `text` what is to be done")?,
            ),
        };
        Ok(Action { number, target, name, what })
    }
}

/// Keys that the action's verb has no use for would be lost silently.
fn refuse_foreign_keys(table: &ActionTable) -> Result<(), String> {
    use WhatWord::{Amend, Loosen, Other};
    let keys: [(&str, bool, &[WhatWord]); 13] = [
        ("name", table.name.is_some(), &[Loosen, Amend]),
        ("text", table.text.is_some(), &[Other]),
        ("bottom", table.bottom.is_some(), &[Loosen]),
        ("margin", table.margin.is_some(), &[Loosen]),
        ("cost_per_area", table.cost_per_area.is_some(), &[Loosen, Amend]),
        ("product", table.product.is_some(), &[Amend]),
        ("rate", table.rate.is_some(), &[Amend]),
        ("rate_is", table.rate_is.is_some(), &[Amend]),
        ("purity_pct", table.purity_pct.is_some(), &[Amend]),
        ("moisture_pct", table.moisture_pct.is_some(), &[Amend]),
        ("price", table.price.is_some(), &[Amend]),
        ("hopper", table.hopper.is_some(), &[Amend]),
        ("basis", table.basis.is_some() || table.gypsum.is_some(), &[Amend]),
    ];
    match keys.iter().find(|(_, is_given, verbs)| *is_given && !verbs.contains(&table.what)) {
        None => Ok(()),
        Some((key, _, verbs)) => {
            let verbs: Vec<String> =
                verbs.iter().map(|verb| format!("do = {:?}", verb.name())).collect();
            Err(format!(
                "key `{key}` means nothing with do = {:?}; it belongs to {}",
                table.what.name(),
                verbs.join(" or ")
            ))
        }
    }
}

fn target(table: &ActionTable) -> Result<Target, String> {
    let example = "write classes = [1, 2] or zones = [\"Z3\"]";
    match (&table.classes, &table.zones) {
        (None, None) => Err(format!("it does not say where; {example}")),
        (Some(_), Some(_)) => {
            Err(format!("it names classes and zones; {example}, and two actions for both"))
        }
        (Some(classes), None) => {
            refuse_repeated(classes, example)?;
            if classes.contains(&0) {
                return Err(format!("there is no class 0, classes are counted from 1; {example}"));
            }
            Ok(Target::Classes(classes.clone()))
        }
        (None, Some(zones)) => {
            refuse_repeated(zones, example)?;
            Ok(Target::Zones(zones.clone()))
        }
    }
}

fn refuse_repeated<T: PartialEq + std::fmt::Debug>(all: &[T], example: &str) -> Result<(), String> {
    if all.is_empty() {
        return Err(format!("its list of classes or zones is empty; {example}"));
    }
    let again = all.iter().enumerate().find(|(index, one)| all[..*index].contains(one));
    again.map_or(Ok(()), |(_, one)| Err(format!("{one:?} stands twice in its list; take one out")))
}

fn loosen(table: ActionTable) -> Result<Loosen, String> {
    let bottom = match table.bottom {
        None => {
            return Err(
                "do = \"loosen\" without `bottom`; give bottom = \"profiles\", or bottom = \
                        { depth = \"13in\", how = \"3 pits\", date = \"2025-09-30\" }"
                    .into(),
            );
        }
        Some(BottomValue::Profiles) => Bottom::Profiles,
        Some(BottomValue::Given(given)) => Bottom::Given {
            depth: given.depth.0,
            how: said(Some(given.how)).ok_or(
                "the bottom does not say how it was measured; write how = \"3 pits\", for instance",
            )?,
            date: given.date.0,
        },
    };
    Ok(Loosen {
        bottom,
        margin: table.margin.map_or(Depth::from_in(MARGIN_IN), |margin| margin.0),
        cost_per_area: cost_per_area(table.cost_per_area.map(|price| price.0))?,
    })
}

fn amend(table: ActionTable) -> Result<Amend, String> {
    let default = table.gypsum.as_ref().map(|_| "gypsum".to_owned());
    let product = said(table.product.clone())
        .or(default)
        .ok_or("do = \"amend\" without `product`; name it, for example product = \"gypsum\"")?;
    refuse_unused(&table)?;
    let spread = as_spread(&table)?;
    let amend = Amend {
        product,
        rate: spread.rate,
        workings: spread.workings,
        warnings: spread.warnings,
        price: table.price.map(|price| price.0),
        cost_per_area: cost_per_area(table.cost_per_area.map(|price| price.0))?,
        hopper: table.hopper.map(|hopper| hopper.0),
        basis: basis(table.basis.unwrap_or_default()),
    };
    amend.refuse_other_kinds()?;
    Ok(amend)
}

impl Amend {
    /// A product by mass has no price by the gallon.
    fn refuse_other_kinds(&self) -> Result<(), String> {
        let by_mass = matches!(self.rate.dose, crate::Dose::Mass(_));
        let fits = |amount: Amount| matches!(amount, Amount::Mass(_)) == by_mass;
        let kind = if by_mass { "mass" } else { "volume" };
        if self.hopper.is_some_and(|hopper| !fits(hopper)) {
            return Err(format!("the rate is a {kind}, key `hopper` is not; give both alike"));
        }
        match self.price.as_ref().map(|price| price.per) {
            Some(PricedUnit::Area(_)) => Err(
                "key `price` is for an area; give it for the product, and the cost of the pass as \
                     cost_per_area"
                    .into(),
            ),
            Some(PricedUnit::Amount(amount)) if !fits(amount) => {
                Err(format!("the rate is a {kind}, key `price` is not for one; give both alike"))
            }
            _ => Ok(()),
        }
    }
}

fn cost_per_area(price: Option<Price>) -> Result<Option<Price>, String> {
    match price.as_ref().map(|price| price.per) {
        Some(PricedUnit::Amount(_)) => {
            Err("key `cost_per_area` is not for an area; write for example \"28 USD/ac\"".into())
        }
        _ => Ok(price),
    }
}

/// A complete basis, or what is missing of it.
fn basis(table: BasisTable) -> Result<Basis, Vec<&'static str>> {
    match (said(table.lab), table.date, said(table.method), said(table.recommended_by)) {
        (Some(lab), Some(date), Some(method), Some(recommended_by)) => {
            Ok(Basis { lab, date: date.0, method, recommended_by })
        }
        (lab, date, method, recommended_by) => {
            let parts = [
                ("lab", lab.is_none()),
                ("date", date.is_none()),
                ("method", method.is_none()),
                ("recommended_by", recommended_by.is_none()),
            ];
            Err(parts.iter().filter(|(_, missing)| *missing).map(|(part, _)| *part).collect())
        }
    }
}
