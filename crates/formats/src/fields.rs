//! A record's values by what they mean.

use std::collections::HashMap;
use std::rc::Rc;

use geojson::JsonObject;
use serde_json::Value;

use crate::columns::Columns;
use crate::names::{Meaning, Role};
use crate::record::Numbers;
use crate::values::{self, is_missing};

/// How many names are remembered; a file with more has them looked at anew each time.
const MOST_NAMES: usize = 4096;

/// The meaning of names, each worked out once.
pub(crate) struct Meanings<'c> {
    columns: &'c Columns,
    known: HashMap<String, Rc<[Meaning]>>,
    /// Names that the user gives and no record had so far.
    unseen: Vec<String>,
}

impl<'c> Meanings<'c> {
    pub(crate) fn new(columns: &'c Columns) -> Self {
        let unseen = columns.named().into_iter().map(|(name, _)| name.to_owned()).collect();
        Meanings { columns, known: HashMap::new(), unseen }
    }

    /// Names that the user gives and no record had.
    pub(crate) fn unseen(&self) -> &[String] {
        &self.unseen
    }

    /// What a name means.
    pub(crate) fn of(&mut self, key: &str) -> Rc<[Meaning]> {
        if let Some(meanings) = self.known.get(key) {
            return meanings.clone();
        }
        let meanings: Rc<[Meaning]> = self.columns.meanings(key).into();
        self.unseen.retain(|name| name != key);
        if self.known.len() < MOST_NAMES {
            self.known.insert(key.to_owned(), meanings.clone());
        }
        meanings
    }
}

/// One value that has a meaning.
#[derive(Clone, Copy)]
pub(crate) struct Field<'a> {
    pub meaning: Meaning,
    pub key: &'a str,
    pub value: &'a Value,
}

/// A record's values that have a meaning, in file order.
pub(crate) struct Fields<'a> {
    fields: Vec<Field<'a>>,
    pub numbers: Numbers,
}

impl<'a> Fields<'a> {
    pub(crate) fn new(
        properties: &'a JsonObject,
        meanings: &mut Meanings,
        numbers: Numbers,
    ) -> Self {
        let mut fields = Vec::with_capacity(properties.len());
        for (key, value) in properties {
            let meanings = meanings.of(key);
            fields.extend(meanings.iter().map(|&meaning| Field { meaning, key, value }));
        }
        Fields { fields, numbers }
    }

    /// All values, in file order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &Field<'a>> {
        self.fields.iter()
    }

    /// The value of a role, where there is one: of several the one whose name comes first in the
    /// list of names.
    pub(crate) fn first(&self, role: Role) -> Option<Field<'a>> {
        self.fields
            .iter()
            .filter(|field| field.meaning.role == role && !self.lacks(field))
            .min_by_key(|field| field.meaning.rank)
            .copied()
    }

    /// Whether a field says nothing. A text says what it says: `NA` or `-` may be a name.
    fn lacks(&self, field: &Field) -> bool {
        match field.meaning.role {
            Role::Id
            | Role::Note
            | Role::Instrument
            | Role::Operator
            | Role::Group
            | Role::Visit
            | Role::Push => text_of(field.value).is_none(),
            _ => is_missing(field.value, self.numbers),
        }
    }

    /// The text or number of a role, as text.
    pub(crate) fn text(&self, role: Role) -> Option<String> {
        self.first(role).and_then(|field| text_of(field.value))
    }

    /// A field's number, or nothing where it is missing.
    pub(crate) fn number(&self, field: &Field) -> Result<Option<f64>, String> {
        values::number(field.key, field.value, self.numbers)
    }

    /// The number of a role.
    pub(crate) fn number_of(&self, role: Role) -> Result<Option<(&'a str, f64)>, String> {
        match self.first(role) {
            Some(field) => Ok(self.number(&field)?.map(|number| (field.key, number))),
            None => Ok(None),
        }
    }

    /// Whether a role is yes.
    pub(crate) fn flag(&self, role: Role) -> Result<Option<bool>, String> {
        match self.first(role) {
            Some(field) => values::flag(field.key, field.value, self.numbers),
            None => Ok(None),
        }
    }
}

/// A text without spaces around it, or a number as text.
pub(crate) fn text_of(value: &Value) -> Option<String> {
    match value {
        Value::String(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    }
}
