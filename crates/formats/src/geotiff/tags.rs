//! Tags and directories, in classic TIFF and in big TIFF.

/// The two forms of TIFF: in big TIFF places and counts take eight bytes, so files may pass 4 GiB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    Classic,
    Big,
}

impl Form {
    /// The header, with the place of the first directory.
    pub fn header(self, first: u64) -> Vec<u8> {
        let mut header = match self {
            Form::Classic => b"II*\0".to_vec(),
            // Version 43, places of eight bytes, then nothing.
            Form::Big => b"II+\0\x08\0\0\0".to_vec(),
        };
        self.push_place(&mut header, first);
        header
    }

    /// Length of the header.
    pub fn header_length(self) -> usize {
        match self {
            Form::Classic => 8,
            Form::Big => 16,
        }
    }

    /// Bytes of a place in the file, of a count, and of the values that stand in the entry itself.
    fn place_length(self) -> usize {
        match self {
            Form::Classic => 4,
            Form::Big => 8,
        }
    }

    /// Adds a place in the file, or a count.
    fn push_place(self, bytes: &mut Vec<u8>, place: u64) {
        match self {
            Form::Classic => bytes.extend(small(place).to_le_bytes()),
            Form::Big => bytes.extend(place.to_le_bytes()),
        }
    }

    /// Adds a directory and, after it, those of its values that are too long for their entry; then the
    /// next directory follows, or none. Every part starts at an even place (TIFF 6.0, section 2).
    pub fn push_directory(self, head: &mut Vec<u8>, tags: &[Tag], last: bool) {
        let place_length = self.place_length();
        let count_length = if self == Form::Classic { 2 } else { 8 };
        let entry_length = 4 + 2 * place_length;
        let values_start = head.len() + count_length + entry_length * tags.len() + place_length;
        let mut values = Vec::new();
        head.extend(&(tags.len() as u64).to_le_bytes()[..count_length]);
        for (tag, value) in tags {
            head.extend(tag.to_le_bytes());
            head.extend(value.kind(self).to_le_bytes());
            self.push_place(head, value.count() as u64);
            let mut bytes = value.bytes(self);
            if bytes.len() > place_length {
                self.push_place(head, (values_start + values.len()) as u64);
                values.extend(&bytes);
                values.resize(values.len().next_multiple_of(2), 0);
            } else {
                bytes.resize(place_length, 0);
                head.extend(bytes);
            }
        }
        let next = if last { 0 } else { values_start + values.len() };
        self.push_place(head, next as u64);
        head.extend(values);
    }
}

/// A place in a classic file.
fn small(place: u64) -> u32 {
    u32::try_from(place).expect("a file that passes 4 GiB is a big TIFF")
}

/// A tag's number and value.
pub(super) type Tag = (u16, Value);

/// The value of a tag.
pub(super) enum Value {
    Text(String),
    Short(Vec<u16>),
    Long(Vec<u32>),
    Double(Vec<f64>),
    /// Places in the file.
    Places(Vec<u64>),
}

impl Value {
    /// The field type: TIFF 6.0, section 2; 16 is that of big TIFF for eight bytes.
    fn kind(&self, form: Form) -> u16 {
        match (self, form) {
            (Value::Text(_), _) => 2,
            (Value::Short(_), _) => 3,
            (Value::Long(_), _) | (Value::Places(_), Form::Classic) => 4,
            (Value::Double(_), _) => 12,
            (Value::Places(_), Form::Big) => 16,
        }
    }

    /// How many values; a text's closing zero counts.
    fn count(&self) -> usize {
        match self {
            Value::Text(text) => text.len() + 1,
            Value::Short(values) => values.len(),
            Value::Long(values) => values.len(),
            Value::Double(values) => values.len(),
            Value::Places(values) => values.len(),
        }
    }

    /// The bytes, little-endian.
    fn bytes(&self, form: Form) -> Vec<u8> {
        match self {
            Value::Text(text) => [text.as_bytes(), &[0]].concat(),
            Value::Short(values) => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
            Value::Long(values) => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
            Value::Double(values) => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
            Value::Places(values) => {
                let mut bytes = Vec::with_capacity(values.len() * form.place_length());
                values.iter().for_each(|&place| form.push_place(&mut bytes, place));
                bytes
            }
        }
    }
}
