//! One record of a file, before it is known what its values mean.

use geojson::JsonObject;

/// One record: a feature, a line, a waypoint, a shape.
pub(crate) struct Record {
    /// Its place in the file, the first is 1; of lines, the line's number.
    pub number: usize,
    /// A name it has beside its properties.
    pub id: Option<String>,
    /// East and north as the file states them, or what is wrong with them.
    pub coordinates: Result<(f64, f64), String>,
    /// Its values by name.
    pub properties: JsonObject,
}

/// How a format gives numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Numbers {
    /// As JSON numbers; text where a number belongs is a fault.
    Json,
    /// As text.
    Text {
        /// What a comma in a number is.
        comma: Comma,
    },
}

/// What a comma in a number is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Comma {
    /// No part of a number.
    Separator,
    /// The decimal sign: `3,5` is three and a half.
    Decimal,
    /// The decimal sign where it cannot be a mark of thousands; `1,379` may be either.
    Doubtful,
}

/// Takes a file's records, one at a time.
pub(crate) trait RecordSink {
    /// A record.
    fn record(&mut self, record: Record);
    /// A record that could not be read, and why; the rest of it is left out.
    fn fault(&mut self, number: usize, problem: String);
}
