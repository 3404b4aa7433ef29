//! Words that mean something to a reader, and numbers at the edge of what it can hold.

use crate::random::Random;

/// What is put in anywhere, whatever the format.
pub(crate) struct Dictionary {
    /// Words, signs and bytes: the lines of `words.txt`, and some that are no text.
    words: Vec<&'static [u8]>,
    /// Numbers as text: the lines of `numbers.txt`.
    numbers: Vec<&'static [u8]>,
}

impl Dictionary {
    pub(crate) fn new() -> Self {
        let words = include_str!("words.txt").lines().map(str::as_bytes);
        let numbers = include_str!("numbers.txt").lines().map(str::as_bytes);
        Dictionary { words: words.chain(SIGNS).collect(), numbers: numbers.collect() }
    }

    pub(crate) fn word(&self, random: &mut Random) -> &'static [u8] {
        self.words[random.below(self.words.len())]
    }

    pub(crate) fn number(&self, random: &mut Random) -> &'static [u8] {
        self.numbers[random.below(self.numbers.len())]
    }
}

/// Line ends, a separator, marks of the byte order, half a character and a whole one.
const SIGNS: [&[u8]; 10] = [
    b"\t",
    b"\n",
    b"\r\n",
    b"\r",
    b"\0",
    b"\x1e",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\xc3",
    b"\xf0\x9f\x92\xa9",
];

/// Numbers as two and four bytes, put over what is there.
pub(crate) const WHOLE: [u32; 12] = [
    0,
    1,
    2,
    0x7F,
    0x80,
    0xFF,
    0xFFFF,
    0x7FFF_FFFF,
    0x8000_0000,
    0xFFFF_FFFE,
    0xFFFF_FFFF,
    0x0001_0000,
];

/// Numbers as eight bytes, put over what is there.
pub(crate) const REAL: [f64; 9] = [
    0.0,
    -0.0,
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MAX,
    f64::MIN_POSITIVE,
    -1e39,
    181.0,
];
