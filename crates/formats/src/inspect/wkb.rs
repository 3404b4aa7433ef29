//! Polygons and points of well-known binary (OGC 06-103r4, clause 8) within the blob of a GeoPackage (OGC
//! 12-128r19, clause 2.1.3).

use geo::{Coord, LineString, MultiPolygon, Polygon};

use super::sheet::Shape;

/// The shape of a blob.
pub(super) fn shape(blob: &[u8]) -> Shape {
    let damaged = || Shape::Bad("has a damaged geometry".into());
    let [b'G', b'P', _, flags, ..] = *blob else {
        return damaged();
    };
    if flags & 0x10 != 0 {
        return Shape::None;
    }
    let envelope_bytes = match flags >> 1 & 7 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        _ => return damaged(),
    };
    let mut reader =
        Reader { rest: blob.get(8 + envelope_bytes..).unwrap_or_default(), little: true };
    reader.shape().unwrap_or_else(damaged)
}

/// Reads numbers one after another.
struct Reader<'b> {
    rest: &'b [u8],
    little: bool,
}

impl Reader<'_> {
    fn bytes<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (bytes, rest) = self.rest.split_first_chunk()?;
        self.rest = rest;
        Some(*bytes)
    }

    fn count(&mut self) -> Option<usize> {
        let bytes = self.bytes()?;
        let count = if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) };
        usize::try_from(count).ok()
    }

    fn number(&mut self) -> Option<f64> {
        let bytes = self.bytes()?;
        let number =
            if self.little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) };
        number.is_finite().then_some(number)
    }

    /// Byte order and type of a geometry; its type and how many numbers a place has.
    fn begin(&mut self) -> Option<(u32, usize)> {
        let [order] = self.bytes()?;
        self.little = order == 1;
        let kind = u32::try_from(self.count()?).ok()?;
        // Heights and measures: thousands (ISO), or high bits (older programs).
        let extra = usize::from(kind & 0x8000_0000 != 0) + usize::from(kind & 0x4000_0000 != 0);
        let kind = kind & 0x0fff_ffff;
        let extra = extra + [0, 1, 1, 2].get(kind as usize / 1000).copied()?;
        Some((kind % 1000, 2 + extra))
    }

    fn shape(&mut self) -> Option<Shape> {
        match self.begin()? {
            (1, size) => self.place(size).map(Shape::Point),
            (3, size) => Some(Shape::Polygons(MultiPolygon::new(vec![self.polygon(size)?]))),
            (6, _) => {
                let mut polygons = Vec::new();
                for _ in 0..self.count()? {
                    match self.begin()? {
                        (3, size) => polygons.push(self.polygon(size)?),
                        _ => return None,
                    }
                }
                Some(Shape::Polygons(MultiPolygon::new(polygons)))
            }
            (2 | 5, _) => Some(Shape::Other("line".into())),
            (4, _) => Some(Shape::Other("group of points".into())),
            _ => Some(Shape::Other("geometry of a rare kind".into())),
        }
    }

    fn place(&mut self, size: usize) -> Option<Coord> {
        let place = Coord { x: self.number()?, y: self.number()? };
        for _ in 2..size {
            let _: [u8; 8] = self.bytes()?;
        }
        Some(place)
    }

    /// Counts are believed only as far as there are bytes.
    fn polygon(&mut self, size: usize) -> Option<Polygon> {
        let mut rings = Vec::new();
        for _ in 0..self.count()? {
            let mut places = Vec::new();
            for _ in 0..self.count()? {
                places.push(self.place(size)?);
            }
            rings.push(LineString::new(places));
        }
        let mut rings = rings.into_iter();
        Some(Polygon::new(rings.next()?, rings.collect()))
    }
}
