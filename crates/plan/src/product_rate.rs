//! The rate of a product as it is spread, from what the user gives.
//!
//! Product = pure / (purity / 100) / (1 − moisture / 100), with the moisture in percent of the mass as it
//! is delivered (from the meaning of the percentages).

use survey::units::tidy;

use crate::quantity::{Rate, refuse_unbelievable};
use crate::rates_tables::{ActionTable, RateWord};

/// The rate as spread, and how it came about.
pub(crate) struct Spread {
    pub rate: Rate,
    pub workings: Vec<String>,
    pub warnings: Vec<String>,
}

/// Refuses keys of an amendment that contradict each other or would be lost.
pub(crate) fn refuse_unused(table: &ActionTable) -> Result<(), String> {
    let content = table.purity_pct.is_some() || table.moisture_pct.is_some();
    match (table.rate.is_some(), table.gypsum.is_some()) {
        (false, false) => Err("do = \"amend\" without `rate`; write for example \
                               rate = \"1.5 ton/ac\", or gypsum = { … } to work it out"
            .into()),
        (true, true) => Err("it has a `rate` and works one out by `gypsum`; leave one out".into()),
        (false, true) if table.rate_is.is_some() => {
            Err("key `rate_is` means nothing with `gypsum`, which works out the product".into())
        }
        (false, true) if table.purity_pct.is_some() => {
            Err("with `gypsum` the purity stands inside it: gypsum = { …, purity_pct = 90 }".into())
        }
        (true, false) if content && table.rate_is.is_none() => {
            Err("purity_pct or moisture_pct is given, but not what the rate is of; write \
                 rate_is = \"pure\" for pure dry material, \"product\" for what is spread"
                .into())
        }
        (true, false) if !content && table.rate_is == Some(RateWord::Pure) => {
            Err("rate_is = \"pure\" needs purity_pct or moisture_pct of the product".into())
        }
        _ => Ok(()),
    }
}

/// The rate of the product as it is spread.
pub(crate) fn as_spread(table: &ActionTable) -> Result<Spread, String> {
    let purity_pct = share("purity_pct", table.purity_pct, 1.0, 100.0, 100.0)?;
    let moisture_pct = share("moisture_pct", table.moisture_pct, 0.0, 95.0, 0.0)?;
    if let Some(gypsum) = &table.gypsum {
        let (dry, working) = gypsum.requirement()?;
        let wet = adjusted(&dry, 100.0, moisture_pct)?;
        let mut workings = vec![working];
        if moisture_pct > 0.0 {
            workings.push(formula(&dry, 100.0, moisture_pct, &wet));
        }
        return Ok(Spread {
            rate: wet,
            workings,
            warnings: gypsum.caution().into_iter().collect(),
        });
    }
    let rate = table.rate.as_ref().expect("without gypsum a rate was asked for").0.clone();
    let is_pure = table.rate_is == Some(RateWord::Pure);
    let spread = if is_pure { adjusted(&rate, purity_pct, moisture_pct)? } else { rate.clone() };
    let working = match (is_pure, table.purity_pct, table.moisture_pct) {
        (true, _, _) => formula(&rate, purity_pct, moisture_pct, &spread),
        (false, None, None) => format!("rate as given: {} of the product", rate.text()),
        (false, _, _) => format!(
            "rate as given: {} of the product as spread, {} % pure, {} % moisture: not adjusted",
            rate.text(),
            tidy(purity_pct, 2),
            tidy(moisture_pct, 2)
        ),
    };
    Ok(Spread { rate: spread, workings: vec![working], warnings: Vec::new() })
}

fn share(key: &str, given: Option<f64>, least: f64, most: f64, usual: f64) -> Result<f64, String> {
    match given {
        None => Ok(usual),
        Some(share) if (least..=most).contains(&share) => Ok(share),
        Some(share) => Err(format!("{key} = {share} must be from {least} to {most} %")),
    }
}

/// A rate of pure dry material as one of the product.
fn adjusted(pure: &Rate, purity_pct: f64, moisture_pct: f64) -> Result<Rate, String> {
    let product = pure.times(1.0 / (purity_pct / 100.0) / (1.0 - moisture_pct / 100.0));
    refuse_unbelievable(product.dose)?;
    Ok(product)
}

fn formula(pure: &Rate, purity_pct: f64, moisture_pct: f64, product: &Rate) -> String {
    format!(
        "product = pure / (purity / 100) / (1 − moisture / 100) = {} / ({} / 100) / (1 − {} / 100) = {}",
        pure.text(),
        tidy(purity_pct, 2),
        tidy(moisture_pct, 2),
        product.text(),
    )
}
