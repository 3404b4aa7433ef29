//! The tables and keys of a rates file, as they stand in it. Unknown keys are refused: a typing error
//! must not be lost.

use std::fmt;

use serde::de::value::MapAccessDeserializer;
use serde::de::{Error, MapAccess, Unexpected, Visitor};
use serde::{Deserialize, Deserializer};
use survey::{Depth, Length};

use crate::gypsum::GypsumTable;
use crate::quantity::{Amount, Currency, Price, Rate};
use crate::typed::{Day, Typed};

/// The whole file.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct RatesTables {
    pub plan: PlanTable,
    pub field: FieldTable,
    pub tillage: TillageTable,
    pub action: Vec<ActionTable>,
}

/// `[plan]`.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct PlanTable {
    pub name: Option<String>,
    pub farm: Option<String>,
    pub grower: Option<String>,
    pub units: Option<UnitsWord>,
    pub swath: Option<Typed<Length>>,
    pub heading: Option<f64>,
    pub currency: Option<Typed<Currency>>,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum UnitsWord {
    Us,
    Si,
}

/// `[field]`.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct FieldTable {
    pub hazards: Vec<String>,
    pub buried_lines: Option<BuriedLinesTable>,
    pub moisture: Option<MoistureTable>,
    pub long_term_no_till: bool,
}

/// The ticket of the one-call centre.
#[derive(Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { ticket = \"...\", valid_until = \"2025-09-30\" }"
)]
pub(crate) struct BuriedLinesTable {
    pub ticket: String,
    pub valid_until: Day,
}

/// When soil is dry enough to be loosened, in percent of field capacity.
#[derive(Debug, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a table such as { below_pct = 30, source = \"state copy of NRCS Code 324\" }"
)]
pub(crate) struct MoistureTable {
    #[serde(default)]
    pub above_pct: f64,
    pub below_pct: f64,
    pub source: String,
}

/// `[tillage]`: what the machine does where the plan says nothing.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(crate) struct TillageTable {
    pub signal_lost: Option<Typed<Depth>>,
    pub out_of_field: Option<Typed<Depth>>,
}

/// `[[action]]`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ActionTable {
    pub classes: Option<Vec<usize>>,
    pub zones: Option<Vec<String>>,
    #[serde(rename = "do")]
    pub what: WhatWord,
    pub name: Option<String>,
    pub text: Option<String>,
    pub bottom: Option<BottomValue>,
    pub margin: Option<Typed<Depth>>,
    pub cost_per_area: Option<Typed<Price>>,
    pub product: Option<String>,
    pub rate: Option<Typed<Rate>>,
    pub rate_is: Option<RateWord>,
    pub purity_pct: Option<f64>,
    pub moisture_pct: Option<f64>,
    pub price: Option<Typed<Price>>,
    pub hopper: Option<Typed<Amount>>,
    pub basis: Option<BasisTable>,
    pub gypsum: Option<GypsumTable>,
}

#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum WhatWord {
    Leave,
    Loosen,
    Amend,
    Other,
}

impl WhatWord {
    pub fn name(self) -> &'static str {
        match self {
            WhatWord::Leave => "leave",
            WhatWord::Loosen => "loosen",
            WhatWord::Amend => "amend",
            WhatWord::Other => "other",
        }
    }
}

/// What a rate is of.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum RateWord {
    /// Of pure, dry material.
    Pure,
    /// Of the product as it is spread.
    Product,
}

/// Where the bottom of the tight layer is known from.
#[derive(Debug)]
pub(crate) enum BottomValue {
    /// The one word for it.
    Profiles,
    Given(GivenBottomTable),
}

impl<'de> Deserialize<'de> for BottomValue {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(BottomVisitor)
    }
}

/// By hand, so that an error names the key of the table that is wrong.
struct BottomVisitor;

impl<'de> Visitor<'de> for BottomVisitor {
    type Value = BottomValue;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(
            "\"profiles\" or a table such as { depth = \"13in\", how = \"3 pits\", date = \"2025-09-30\" }",
        )
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<BottomValue, E> {
        match text {
            "profiles" => Ok(BottomValue::Profiles),
            _ => Err(E::invalid_value(Unexpected::Str(text), &self)),
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, table: A) -> Result<BottomValue, A::Error> {
        GivenBottomTable::deserialize(MapAccessDeserializer::new(table)).map(BottomValue::Given)
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct GivenBottomTable {
    pub depth: Typed<Depth>,
    pub how: String,
    pub date: Day,
}

/// What a rate rests on; each part may be missing, and then the plan says so.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(
    deny_unknown_fields,
    default,
    expecting = "a table such as { lab = \"...\", date = \"2025-09-30\", method = \"...\", recommended_by = \"...\" }"
)]
pub(crate) struct BasisTable {
    pub lab: Option<String>,
    pub date: Option<Day>,
    pub method: Option<String>,
    pub recommended_by: Option<String>,
}
