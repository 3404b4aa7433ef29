//! Several files in one input: a shapefile is three, waypoints with a table of readings are two.

/// The files of one input. They stand one after another behind a line that gives the lengths of all but
/// the last, `100 200` and a line feed for three.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parts<'a, const N: usize>([&'a [u8]; N]);

impl<'a, const N: usize> Parts<'a, N> {
    /// The parts of an input. Lengths that are missing or too long take what is there.
    pub fn of(input: &'a [u8]) -> Self {
        let end = input.iter().position(|byte| *byte == b'\n').unwrap_or(input.len());
        let (line, rest) = input.split_at(end);
        let mut rest = rest.get(1..).unwrap_or_default();
        let line = String::from_utf8_lossy(line);
        let mut lengths = line.split(' ').map(|length| length.parse().unwrap_or(usize::MAX));
        let mut part = |index: usize| {
            let length = lengths.next().filter(|_| index + 1 < N).unwrap_or(usize::MAX);
            let (part, after) = rest.split_at(length.min(rest.len()));
            rest = after;
            part
        };
        Parts(std::array::from_fn(&mut part))
    }

    /// The bytes of each part, none where it is missing.
    pub fn all(self) -> [&'a [u8]; N] {
        self.0
    }

    /// Extension and bytes of each part that is there.
    pub fn named(
        self,
        extensions: [&'static str; N],
    ) -> impl Iterator<Item = (&'static str, &'a [u8])> {
        extensions.into_iter().zip(self.0).filter(|(_, bytes)| !bytes.is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_as_long_as_the_line_says() {
        let files = |input: &'static [u8]| {
            Parts::of(input).named(["shp", "dbf", "prj"]).collect::<Vec<_>>()
        };
        let three: [(&str, &[u8]); 3] = [("shp", b"aa"), ("dbf", b"bbb"), ("prj", b"c")];
        assert_eq!(files(b"2 3\naabbbc"), three);
        assert_eq!(files(b"x\naa"), three[..1]);
        assert_eq!(files(b"2 99\naabbb"), three[..2]);
        assert_eq!(files(b"2 3 0\naabbbc"), three);
        assert_eq!(files(b""), []);
    }
}
