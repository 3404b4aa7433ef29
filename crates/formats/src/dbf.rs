//! The table of a shapefile, dBASE III: Esri Shapefile Technical Description (July 1998), page 25,
//! and the header's layout as dBASE III PLUS has it: 32 bytes of header, 32 for each field, 0x0D,
//! then records of one size, each with a first byte that is `*` where the record is deleted.

use geojson::JsonObject;
use serde_json::Value;

/// A table's bytes and where its fields are.
pub(crate) struct Dbf<'b> {
    records: &'b [u8],
    record_bytes: usize,
    fields: Vec<DbfField>,
}

struct DbfField {
    name: String,
    /// `N` and `F` are numbers.
    kind: u8,
    from: usize,
    to: usize,
}

impl<'b> Dbf<'b> {
    /// Reads the header.
    ///
    /// # Errors
    /// When the sizes it states do not fit each other.
    pub(crate) fn new(bytes: &'b [u8]) -> Result<Self, String> {
        let short = || "its .dbf is cut short".to_owned();
        let header = bytes.get(..32).ok_or_else(short)?;
        let size = |at: usize| usize::from(u16::from_le_bytes([header[at], header[at + 1]]));
        let (header_bytes, record_bytes) = (size(8), size(10));
        if header_bytes < 33 || record_bytes < 2 {
            return Err("the header of its .dbf is damaged".into());
        }
        let described = bytes.get(32..header_bytes).ok_or_else(short)?;
        let mut fields = Vec::new();
        let mut from = 1;
        for field in described.chunks_exact(32).take_while(|field| field[0] != 0x0d) {
            let name = text(field[..11].split(|&byte| byte == 0).next().unwrap_or_default());
            let to = from + usize::from(field[16]);
            fields.push(DbfField { name: name.trim().to_owned(), kind: field[11], from, to });
            from = to;
        }
        if fields.is_empty() || from > record_bytes {
            return Err("the fields of its .dbf do not fit its records".into());
        }
        Ok(Dbf { records: &bytes[header_bytes..], record_bytes, fields })
    }

    /// The fields' names.
    pub(crate) fn names(&self) -> Vec<String> {
        self.fields.iter().map(|field| field.name.clone()).collect()
    }

    /// Whether a column holds numbers.
    pub(crate) fn is_number(&self, name: &str) -> bool {
        self.fields.iter().any(|field| field.name == name && matches!(field.kind, b'N' | b'F'))
    }

    /// How many records there are.
    pub(crate) fn count(&self) -> usize {
        self.records.len() / self.record_bytes
    }

    /// The values of a record, counted from 0; `None` where the table has none. A deleted record is
    /// an `Err`.
    pub(crate) fn record(&self, index: usize) -> Option<Result<JsonObject, String>> {
        let start = index.checked_mul(self.record_bytes)?;
        let record = self.records.get(start..start.checked_add(self.record_bytes)?)?;
        if record[0] == b'*' {
            return Some(Err("is marked as deleted in the .dbf".into()));
        }
        let value = |field: &DbfField| {
            let text = text(&record[field.from..field.to]);
            // An empty number may be stars, an unknown yes or no a question mark.
            let text = text.trim_matches(['\0', ' ']).to_owned();
            let empty = text.chars().all(|c| c == '*') || text == "?";
            (field.name.clone(), if empty { Value::Null } else { Value::String(text) })
        };
        Some(Ok(self.fields.iter().map(value).collect()))
    }
}

/// Bytes as text: UTF-8, or else Latin-1, in which every byte is a character.
fn text(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|&byte| char::from(byte)).collect(),
    }
}
