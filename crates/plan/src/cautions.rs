//! What every reader of a plan is told, and when to stop.

use survey::units::{M_PER_FT, tidy};
use survey::{Date, UnitSystem};

use crate::plan::CheckStrips;
use crate::rates_file::{MoistureWindow, RatesFile};

/// What a plan does, as far as the sentences depend on it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Kinds {
    pub tillage: bool,
    pub product: bool,
}

/// What every reader of a report is told, which sets nothing and rates nothing: all that a plan of tillage and
/// of a product would say.
pub fn report_cautions(units: UnitSystem) -> Vec<String> {
    cautions_of("report", Kinds { tillage: true, product: true }, units)
}

/// Cautions of a plan.
pub(crate) fn cautions(kinds: Kinds, units: UnitSystem) -> Vec<String> {
    cautions_of("plan", kinds, units)
}

/// Cautions in a fixed order. Distances: 811 centres in the US mark public lines three business days
/// after the call; drain tile commonly lies at 3 to 4 ft; 10 ft from overhead lines (OSHA 29 CFR 1926.1408,
/// from memory).
fn cautions_of(paper: &str, kinds: Kinds, units: UnitSystem) -> Vec<String> {
    let ft = |feet: f64| match units {
        UnitSystem::Us => format!("{} ft", tidy(feet, 0)),
        UnitSystem::Si => format!("{} m", tidy(feet * M_PER_FT, 1)),
    };
    let mut all = vec![
        format!(
            "Call before you dig: in the US 811, three business days ahead. The marks show public lines, not \
             private ones; drain tile often lies only {} to {} deep.",
            ft(3.0),
            ft(4.0)
        ),
        format!("Keep machines, also with folded or raised tools, {} from overhead lines.", ft(10.0)),
        "Dig a pit in each zone before you treat it: see the layer, its bottom, its moisture and the roots."
            .into(),
    ];
    if kinds.tillage {
        all.push(
            "Loosen in the moisture window only: wet soil smears and is tighter afterwards.".into(),
        );
        all.push("Ask for the erosion and wetland rules of the place before you till deep.".into());
        all.push(
            "In ground long in no-till a cone may read above 300 psi (2.1 MPa) where roots still pass \
             through old channels: look before you loosen (Penn State Extension)."
                .into(),
        );
    }
    if kinds.product {
        all.push(format!(
            "A rate needs a soil test and the word of a licensed or certified adviser; this {paper} is \
             neither."
        ));
        all.push(format!("The product's label and the law of the place stand above this {paper}."));
    }
    all.push("Edges of zones are no more exact than the receiver that steers by them.".into());
    all
}

/// When to stop, for the operator.
pub(crate) fn stop_rules(
    rates: &RatesFile,
    kinds: Kinds,
    strips: Option<CheckStrips>,
) -> Vec<String> {
    let mut all = Vec::new();
    if kinds.tillage {
        all.push(match &rates.moisture {
            Some(window) => format!("Stop when the soil at tool depth is {}.", window.outside()),
            None => "Stop when soil from tool depth smears or rolls into a wire: no moisture limit is on \
                     record."
                .into(),
        });
        all.push(match &rates.buried_lines {
            Some(lines) => format!(
                "Stop after {}: ticket {} for buried lines ends that day.",
                lines.valid_until,
                lines.ticket.trim()
            ),
            None => "Do not start before buried lines are marked: no ticket is on record.".into(),
        });
        all.push("Stop and lift when the tool hits rock, roots or a pipe; note the place.".into());
    }
    if kinds.product {
        all.push("Stop when product or rate on the terminal is not that of this sheet.".into());
    }
    all.push(
        "Stop when the receiver loses its position, or the terminal shows another zone than the one you \
         stand in."
            .into(),
    );
    if strips.is_some() {
        all.push(
            "Leave check strips untreated over their whole length: tool lifted, spreader shut."
                .into(),
        );
    }
    all
}

/// What is missing for a safe pass of a tillage machine.
pub(crate) fn tillage_warnings(rates: &RatesFile, visit: Option<Date>) -> Vec<String> {
    let mut all = Vec::new();
    if rates.moisture.is_none() {
        all.push(
            "no moisture limit for loosening: state copies of NRCS Code 324 differ (below 30 % of field \
             capacity in some, 30 to 50 % in others); ask and set [field] moisture"
                .into(),
        );
    }
    match &rates.buried_lines {
        None => all.push(
            "no ticket for buried lines: have them marked and set [field] buried_lines".into(),
        ),
        Some(lines) if visit.is_some_and(|visit| lines.valid_until < visit) => all.push(format!(
            "ticket {} for buried lines ended on {}, before the visit of the field: get a new one",
            lines.ticket.trim(),
            lines.valid_until
        )),
        Some(_) => {}
    }
    if rates.long_term_no_till {
        all.push(
            "the field is in long-term no-till: tight readings there may harm no root; dig, and loosen only \
             where roots turn aside (Penn State Extension)"
                .into(),
        );
    }
    all
}

impl MoistureWindow {
    fn outside(&self) -> String {
        let below = tidy(self.below_pct, 1);
        let source = self.source.trim();
        match self.above_pct > 0.0 {
            true => format!(
                "outside {} to {below} % of field capacity ({source})",
                tidy(self.above_pct, 1)
            ),
            false => format!("at {below} % of field capacity or wetter ({source})"),
        }
    }
}
