//! Values of a settings file that are text with a meaning: lengths, rates, prices, days.

use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

use serde::de::{Deserialize, Deserializer, Error, Visitor};
use survey::Date;

/// A value that is written as text in quotes, with its unit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Typed<T>(pub T);

impl<'de, T: FromStr<Err = String>> Deserialize<'de> for Typed<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_str(TypedVisitor(PhantomData)).map(Typed)
    }
}

struct TypedVisitor<T>(PhantomData<T>);

impl<T: FromStr<Err = String>> Visitor<'_> for TypedVisitor<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("text in quotes, with its unit")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
        text.parse().map_err(E::custom)
    }
}

/// A day, with or without quotes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Day(pub Date);

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = toml::Value::deserialize(deserializer)?;
        let text = match &value {
            toml::Value::String(text) => text.trim().to_owned(),
            toml::Value::Datetime(day) => day.to_string(),
            other => other.to_string(),
        };
        let day = || Error::custom(format!("{text:?} is not a day like \"2025-09-30\""));
        match text.len() == "2025-09-30".len() {
            true => text.parse().map(Day).map_err(|_| day()),
            false => Err(day()),
        }
    }
}
