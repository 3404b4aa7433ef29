//! A JSON value that cannot grow beyond a number of parts: what is more is read over.

use std::cell::Cell;
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

/// Reads one value; `None` where it has too many parts.
#[derive(Clone, Copy)]
pub(super) struct Bounded {
    /// Numbers, texts, lists and objects that it may have together.
    pub most_parts: usize,
}

impl Bounded {
    /// For a record: a profile of a reading each millimetre has some thousand.
    pub(super) const RECORD: Bounded = Bounded { most_parts: 50_000 };
    /// For a polygon: three or four parts for each of [`super::polygon::MOST_POSITIONS`] positions.
    pub(super) const POLYGON: Bounded =
        Bounded { most_parts: 4 * super::polygon::MOST_POSITIONS + 10_000 };
}

impl<'de> DeserializeSeed<'de> for Bounded {
    type Value = Option<Value>;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Option<Value>, D::Error> {
        let left = Cell::new(self.most_parts);
        let value = Part { left: &left }.deserialize(deserializer)?;
        Ok((left.get() > 0).then_some(value))
    }
}

/// One part, with how many more there may be.
#[derive(Clone, Copy)]
struct Part<'c> {
    left: &'c Cell<usize>,
}

impl Part<'_> {
    fn take(self) -> bool {
        let left = self.left.get().saturating_sub(1);
        self.left.set(left);
        left > 0
    }
}

impl<'de> DeserializeSeed<'de> for Part<'_> {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        match self.take() {
            true => deserializer.deserialize_any(self),
            false => deserializer.deserialize_ignored_any(IgnoredAny).map(|_| Value::Null),
        }
    }
}

impl<'de> Visitor<'de> for Part<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(Number::from_f64(value).map_or(Value::Null, Value::Number))
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Value, E> {
        Ok(Value::String(value.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut values = Vec::new();
        while let Some(value) = list.next_element_seed(self)? {
            if self.left.get() > 0 {
                values.push(value);
            }
        }
        Ok(Value::Array(values))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut values = Map::new();
        while let Some(key) = map.next_key::<String>()? {
            let value = map.next_value_seed(self)?;
            if self.left.get() > 0 {
                values.insert(key, value);
            }
        }
        Ok(Value::Object(values))
    }
}
