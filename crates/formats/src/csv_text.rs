//! Texts in a table of comma-separated values: RFC 4180 (IETF, October 2005), section 2.
//!
//! A text that a spreadsheet would take for a formula, because it begins with `=`, `+`, `-` or `@`, has an
//! apostrophe before it.

use crate::plain_text::plain;

/// A text of a user as a field: one plain line, in quotes where it must be.
pub(crate) fn csv_text(text: &str) -> String {
    let text = plain(text);
    let guarded = match text.starts_with(['=', '+', '-', '@']) {
        true => format!("'{text}"),
        false => text,
    };
    match guarded.contains([',', ';', '"']) {
        true => format!("\"{}\"", guarded.replace('"', "\"\"")),
        false => guarded,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_is_a_formula_or_two_fields() {
        assert_eq!(csv_text("=1+1"), "'=1+1");
        assert_eq!(csv_text("\t-2, \"b\""), "\"'-2, \"\"b\"\"\"");
        assert_eq!(csv_text("loosen to 14 in\r\n"), "loosen to 14 in");
    }
}
