//! A FeatureCollection, one feature at a time: no more than one is held beside the file's text.

use std::fmt;
use std::path::Path;

use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::Value;
use survey::CoordinateSystem;

use super::bounded_value::Bounded;
use super::feature::{Geometries, take};
use super::{not_json, stated_crs};
use crate::error::FormatError;
use crate::record::RecordSink;
use crate::values::kind;

/// What a collection says of itself.
pub(crate) struct Collection {
    pub name: Option<String>,
    pub crs: Option<CoordinateSystem>,
}

/// Reads a FeatureCollection of points.
pub(crate) fn read_collection(
    path: &Path,
    text: &str,
    sink: &mut dyn RecordSink,
) -> Result<Collection, FormatError> {
    let mut geometries = Geometries::default();
    let collection = read_features(path, text, Bounded::RECORD, &mut |feature| {
        take(feature, &mut geometries, sink);
    })?;
    match geometries.first_other {
        Some(kind) if geometries.points == 0 => {
            Err(FormatError::NoPoints { file: path.to_path_buf(), record: "feature", kind })
        }
        _ => Ok(collection),
    }
}

/// Reads a FeatureCollection, at least one feature, each given away as soon as it is read; `None` is a
/// feature too large to be kept.
pub(super) fn read_features(
    path: &Path,
    text: &str,
    bounded: Bounded,
    take: &mut dyn FnMut(Option<Value>),
) -> Result<Collection, FormatError> {
    let mut root = Root { take, bounded, features: 0, members: Members::default() };
    let mut deserializer = serde_json::Deserializer::from_str(text);
    deserializer
        .deserialize_any(&mut root)
        .and_then(|()| deserializer.end())
        .map_err(|error| not_json(path, &error))?;
    let Root { features, members, .. } = root;
    let file = || path.to_path_buf();
    if let Some(found) = members.fault() {
        return Err(FormatError::NotACollection { file: file(), found });
    }
    if features == 0 {
        return Err(FormatError::NoFeatures { file: file() });
    }
    let crs = stated_crs(path, members.crs.as_ref())?;
    let name = members.name.as_ref().and_then(Value::as_str).map(str::to_owned);
    Ok(Collection { name, crs })
}

/// The members of the file's object, but the features.
#[derive(Default)]
struct Members {
    /// What the file is, where it is no object.
    no_object: Option<String>,
    kind: Option<Value>,
    name: Option<Value>,
    crs: Option<Value>,
    has_features: bool,
}

impl Members {
    /// What the file is, where it is not a FeatureCollection with features.
    fn fault(&self) -> Option<String> {
        if let Some(found) = &self.no_object {
            return Some(format!("it is {found}"));
        }
        match &self.kind {
            Some(Value::String(name)) if name == "FeatureCollection" => (!self.has_features)
                .then(|| "a FeatureCollection without a list of features".into()),
            Some(Value::String(name)) => Some(format!("it is a {name}")),
            Some(other) => Some(format!("its type is {}", kind(other))),
            None => Some("it has no \"type\"".into()),
        }
    }
}

/// The file's object.
struct Root<'s> {
    take: &'s mut dyn FnMut(Option<Value>),
    bounded: Bounded,
    features: usize,
    members: Members,
}

impl Root<'_> {
    fn is_no_object<E>(&mut self, value: &Value) -> Result<(), E> {
        self.members.no_object = Some(kind(value));
        Ok(())
    }
}

impl<'de> Visitor<'de> for &mut Root<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a FeatureCollection")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key::<String>()? {
            match key.as_str() {
                "features" if self.members.has_features => {
                    return Err(A::Error::custom("`features` stands twice"));
                }
                "features" => map.next_value_seed(Features { root: self })?,
                "type" => self.members.kind = map.next_value_seed(Bounded::RECORD)?,
                "name" => self.members.name = map.next_value_seed(Bounded::RECORD)?,
                "crs" => self.members.crs = map.next_value_seed(Bounded::RECORD)?,
                _ => {
                    map.next_value::<IgnoredAny>()?;
                }
            }
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        while list.next_element::<IgnoredAny>()?.is_some() {}
        self.is_no_object(&Value::Array(Vec::new()))
    }

    fn visit_str<E>(self, text: &str) -> Result<(), E> {
        self.is_no_object(&Value::String(text.into()))
    }

    fn visit_bool<E>(self, value: bool) -> Result<(), E> {
        self.is_no_object(&value.into())
    }

    fn visit_u64<E>(self, number: u64) -> Result<(), E> {
        self.is_no_object(&number.into())
    }

    fn visit_i64<E>(self, number: i64) -> Result<(), E> {
        self.is_no_object(&number.into())
    }

    fn visit_f64<E>(self, number: f64) -> Result<(), E> {
        self.is_no_object(&number.into())
    }

    fn visit_unit<E>(self) -> Result<(), E> {
        self.is_no_object(&Value::Null)
    }
}

/// The list of features.
struct Features<'r, 's> {
    root: &'r mut Root<'s>,
}

impl<'de> DeserializeSeed<'de> for Features<'_, '_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Features<'_, '_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a list of features")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        let Root { take, bounded, features, members } = self.root;
        members.has_features = true;
        while let Some(feature) = list.next_element_seed(*bounded)? {
            *features += 1;
            take(feature);
        }
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(())
    }

    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }
}
