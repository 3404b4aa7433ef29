//! Text in columns, RFC 4180 (IETF, October 2005): fields with or without quotes, a quote inside
//! quotes doubled, line ends inside quotes. Beyond it: any separator, and lines that end in LF, CR LF
//! or CR. A quote that is never closed, or closed only behind whole records, is a fault of its line
//! only.

use std::borrow::Cow;

/// The lines of a text, each with its number and its fields, or what is wrong with it. Blank lines
/// are passed over.
#[derive(Clone)]
pub(crate) struct Lines<'t> {
    rest: &'t str,
    separator: char,
    /// The number of the line that `rest` begins with.
    number: usize,
    /// How many columns a line has, once it is known.
    columns: Option<usize>,
}

/// One line: its number and its fields.
pub(crate) type Line<'t> = (usize, Result<Vec<Cow<'t, str>>, String>);

impl<'t> Lines<'t> {
    pub(crate) fn new(text: &'t str, separator: char) -> Self {
        Lines { rest: text, separator, number: 1, columns: None }
    }

    /// Tells how many columns the lines have, so that a quote around whole lines is found.
    pub(crate) fn expect_columns(&mut self, columns: usize) {
        self.columns = Some(columns);
    }

    /// Whether a line within a quoted text has as many fields as the table, one a number.
    fn holds_records(&self, quoted: &str) -> bool {
        let Some(columns) = self.columns.filter(|&columns| columns > 1) else {
            return false;
        };
        let is_number = |field: &str| {
            let field = field.trim().replacen(',', ".", 1);
            field.parse::<f64>().is_ok()
        };
        quoted.split(['\n', '\r']).skip(1).any(|line| {
            let fields = || line.split(self.separator);
            fields().count() == columns && fields().any(is_number)
        })
    }

    /// The fields up to the line's end, and how many bytes they take.
    fn fields(&self) -> Result<(Vec<Cow<'t, str>>, usize), String> {
        let mut fields = Vec::new();
        let mut at = 0;
        loop {
            let (field, length) = self.field(&self.rest[at..])?;
            fields.push(field);
            at += length;
            match self.rest[at..].chars().next() {
                Some(c) if c == self.separator => at += c.len_utf8(),
                _ => return Ok((fields, at)),
            }
        }
    }

    /// One field and how many bytes it takes.
    fn field(&self, text: &'t str) -> Result<(Cow<'t, str>, usize), String> {
        let ends = |c: char| c == self.separator || c == '\n' || c == '\r';
        let spaces = text.len() - text.trim_start_matches(' ').len();
        let Some(quoted) = text[spaces..].strip_prefix('"') else {
            let end = text.find(ends).unwrap_or(text.len());
            return Ok((Cow::Borrowed(&text[..end]), end));
        };
        let unclosed = || "a quote opens and nothing closes it".to_owned();
        // Behind a quote that nothing closes, quotes stand in pairs only, so that later fields close
        // at once: however many such quotes there are, the text is gone through a few times at most.
        let mut close = 0;
        let mut doubled = false;
        loop {
            close += quoted[close..].find('"').ok_or_else(unclosed)?;
            match quoted[close + 1..].starts_with('"') {
                true => {
                    doubled = true;
                    close += 2;
                }
                false => break,
            }
        }
        let inner = &quoted[..close];
        let after = &quoted[close + 1..];
        let padding = after.find(ends).unwrap_or(after.len());
        if !after[..padding].trim().is_empty() {
            return Err("text follows a closing quote".into());
        }
        if self.holds_records(inner) {
            return Err("a quote opens and closes only lines later, around whole records".into());
        }
        let field = match doubled {
            true => Cow::Owned(inner.replace("\"\"", "\"")),
            false => Cow::Borrowed(inner),
        };
        Ok((field, spaces + 1 + close + 1 + padding))
    }

    /// Steps over the line's end, which `rest` begins with, or the end of the text.
    fn step(&mut self, length: usize) {
        let (line, after) = self.rest.split_at(length);
        self.number += line_ends(line);
        self.rest = match after.strip_prefix("\r\n") {
            Some(rest) => rest,
            None => after.strip_prefix(['\n', '\r']).unwrap_or(after),
        };
        self.number += usize::from(self.rest.len() < after.len());
    }
}

/// How many lines end within a text.
fn line_ends(text: &str) -> usize {
    let bytes = text.as_bytes();
    let lone_cr = |&(k, byte): &(usize, &u8)| *byte == b'\r' && bytes.get(k + 1) != Some(&b'\n');
    bytes.iter().filter(|&&byte| byte == b'\n').count()
        + bytes.iter().enumerate().filter(lone_cr).count()
}

impl<'t> Iterator for Lines<'t> {
    type Item = Line<'t>;

    fn next(&mut self) -> Option<Line<'t>> {
        while !self.rest.is_empty() {
            let number = self.number;
            match self.fields() {
                Ok((fields, length)) => {
                    self.step(length);
                    if fields.iter().any(|field| !field.trim().is_empty()) {
                        return Some((number, Ok(fields)));
                    }
                }
                Err(problem) => {
                    let length = self.rest.find(['\n', '\r']).unwrap_or(self.rest.len());
                    self.step(length);
                    return Some((number, Err(problem)));
                }
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str, separator: char) -> Vec<(usize, Vec<String>)> {
        Lines::new(text, separator)
            .map(|(number, fields)| {
                let fields = fields.unwrap_or_else(|problem| vec![Cow::Owned(problem)]);
                (number, fields.into_iter().map(Cow::into_owned).collect())
            })
            .collect()
    }

    #[test]
    fn quotes_hold_separators_quotes_and_line_ends() {
        let text = "a,\"b,\"\"c\"\"\",d\r\n\r\n1,\"2\n3\",4\n , ,\n5,6,\"7\"\n";
        let expected = vec![
            (1, vec!["a".into(), "b,\"c\"".into(), "d".into()]),
            (3, vec!["1".into(), "2\n3".into(), "4".into()]),
            (6, vec!["5".into(), "6".into(), "7".into()]),
        ];
        assert_eq!(lines(text, ','), expected);
    }

    #[test]
    fn lone_carriage_returns_end_lines_too() {
        let expected = vec![(1, vec!["a".into(), "b".into()]), (3, vec!["1".into(), "2".into()])];
        assert_eq!(lines("a;b\r\r1;2", ';'), expected);
    }

    #[test]
    fn a_quote_does_not_swallow_records() {
        let mut text = String::from("id,depth,note\n");
        for k in 0..20 {
            let note = ["", "\"soft", "hit 12\""][usize::from(k == 3) + 2 * usize::from(k == 9)];
            text += &format!("P{k},{k},{note}\n");
        }
        let mut read = Lines::new(&text, ',');
        read.next();
        read.expect_columns(3);
        let read: Vec<Line> = read.collect();
        assert_eq!(read.len(), 20);
        let faults: Vec<&Line> = read.iter().filter(|(_, fields)| fields.is_err()).collect();
        assert!(matches!(faults[..], [(5, Err(_))]), "{faults:?}");
        // A note of several lines stays one.
        let mut notes = Lines::new("1,2,\"dry,\nwet, cold, 5, soft\na, b\"\n", ',');
        notes.expect_columns(3);
        assert_eq!(notes.count(), 1);
    }

    #[test]
    fn an_open_quote_costs_its_own_line_only() {
        let text = "a,b\n1,\"2\n3,4\n5,\"6\n7,9\"\" rod\n";
        let read = lines(text, ',');
        assert_eq!(read.len(), 5, "{read:?}");
        assert!(read[1].1[0].contains("text follows") || read[1].1[0].contains("a quote opens"));
        assert_eq!(read[2], (3, vec!["3".into(), "4".into()]));
        assert_eq!(read[4], (5, vec!["7".into(), "9\"\" rod".into()]));
    }
}
