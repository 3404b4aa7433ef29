//! Writes the table of a shapefile, dBASE III: 32 bytes of header, 32 for each column, 0x0D, then records
//! of one size. A number that does not fit its column is refused, never cut.

use survey::Date;

use crate::plain_text::cut;

/// A column: its name, at most 10 capital letters, digits and `_`, and its width in bytes.
pub(crate) struct Column {
    name: &'static str,
    kind: u8,
    width: u8,
    decimals: u8,
}

impl Column {
    /// Numbers with so many decimals.
    pub fn number(name: &'static str, width: u8, decimals: u8) -> Column {
        Column { name, kind: b'N', width, decimals }
    }

    /// Texts.
    pub fn text(name: &'static str, width: u8) -> Column {
        Column { name, kind: b'C', width, decimals: 0 }
    }
}

/// A value of a record.
pub(crate) enum Value {
    Number(f64),
    /// ASCII.
    Text(String),
}

/// The table's bytes.
///
/// # Errors
/// When a number is not finite or too wide for its column.
pub(crate) fn dbf(
    columns: &[Column],
    records: &[Vec<Value>],
    last_update: Date,
) -> Result<Vec<u8>, String> {
    let header_bytes = 32 + 32 * columns.len() as u16 + 1;
    let record_bytes = 1 + columns.iter().map(|column| u16::from(column.width)).sum::<u16>();
    let years = u8::try_from(i32::from(last_update.year()) - 1900).unwrap_or(80);
    let mut file = vec![3, years, last_update.month() as u8, last_update.day() as u8];
    let count = u32::try_from(records.len()).map_err(|_| "it has too many records")?;
    file.extend(count.to_le_bytes());
    file.extend(header_bytes.to_le_bytes());
    file.extend(record_bytes.to_le_bytes());
    file.extend([0; 20]);
    for column in columns {
        let mut described = [0; 32];
        described[..column.name.len()].copy_from_slice(column.name.as_bytes());
        described[11] = column.kind;
        described[16] = column.width;
        described[17] = column.decimals;
        file.extend(described);
    }
    file.push(0x0d);
    for (number, record) in records.iter().enumerate() {
        file.push(b' ');
        for (column, value) in columns.iter().zip(record) {
            let field = field(column, value)
                .map_err(|problem| format!("record {}, {}: {problem}", number + 1, column.name))?;
            file.extend(field.as_bytes());
        }
    }
    file.push(0x1a);
    Ok(file)
}

fn field(column: &Column, value: &Value) -> Result<String, String> {
    let width = usize::from(column.width);
    match value {
        Value::Text(text) => Ok(format!("{:<width$}", cut(text, width))),
        Value::Number(number) => {
            let written = format!("{number:>width$.0$}", usize::from(column.decimals));
            match number.is_finite() && written.len() <= width {
                true => Ok(written),
                false => Err(format!("{number} does not fit a column of {width} characters")),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dbf::Dbf;

    fn written(values: Vec<Value>) -> Result<Vec<u8>, String> {
        let columns = [Column::number("N", 8, 2), Column::text("C", 5)];
        dbf(&columns, &[values], jiff::civil::date(2025, 4, 14))
    }

    #[test]
    fn values_stand_in_their_columns() {
        let file = written(vec![Value::Number(-12.345), Value::Text("abc defg".into())]).unwrap();
        assert_eq!(file[..8], [3, 125, 4, 14, 1, 0, 0, 0]);
        let table = Dbf::new(&file).unwrap();
        let record = table.record(0).unwrap().unwrap();
        assert_eq!((&record["N"], &record["C"]), (&"-12.35".into(), &"abc d".into()));
        assert_eq!(file.len(), 32 + 2 * 32 + 1 + 14 + 1);
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        for number in [123_456.0, -12_345.0, f64::NAN, f64::INFINITY, 1e300] {
            let problem = written(vec![Value::Number(number), Value::Text(String::new())]);
            assert!(problem.unwrap_err().starts_with("record 1, N: "), "{number}");
        }
        assert!(written(vec![Value::Number(99_999.99), Value::Text(String::new())]).is_ok());
    }
}
