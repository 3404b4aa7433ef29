//! What actions cost, all in one currency.

use crate::action::{Action, What};
use crate::error::PlanError;
use crate::quantity::{Amount, Price, PricedUnit};
use crate::rates_file::RatesFile;

impl Action {
    /// Its prices, each with how many of their units are paid for.
    pub(crate) fn prices(&self, ground_m2: f64, amount: f64) -> Vec<(&Price, f64)> {
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
                rates.at(action, problem)
            })?;
            let plans = currency.get_or_insert_with(|| mine.clone());
            if plans != mine {
                let problem =
                    format!("{:?} is not in {plans}, as the plan is; give one", price.text);
                return Err(rates.at(action, problem));
            }
        }
    }
    Ok(currency.unwrap_or_default())
}
