//! The depth raster as a Cloud-Optimised GeoTIFF.
//!
//! | what | where it is laid down |
//! |---|---|
//! | header, image file directories, tags 254 to 339 | TIFF 6.0 (Adobe 1992), sections 2, 8, 15 and 19 |
//! | compression 8, a zlib stream for each tile | Adobe Photoshop TIFF Technical Notes (2002), "Deflate" |
//! | predictor 3, byte planes and differences | Adobe Photoshop TIFF Technical Note 3 (2005), "Floating-point predictor" |
//! | tags 33550, 33922, 34735, 34737 and the geokeys | OGC GeoTIFF 1.1 (19-008r4), clauses 7.1 to 7.4 |
//! | directories before data, order of the tiles, overviews | OGC Cloud Optimized GeoTIFF (21-026), clause 7, recommendation `ifd-order` |
//! | ghost area, size before and last bytes after each tile | GDAL, COG driver, "Header ghost area" |
//! | tags 42112 and 42113: unit, description, no data | GDAL, `GTiff` driver, private tags |
//!
//! A reader on the network gets all directories with the first few kilobytes, then only the tiles
//! it needs.

use std::io::Write;

use flate2::{Compression, write::ZlibEncoder};
use geostat::{Grid, Raster};
use rayon::prelude::*;
use survey::Utm;

/// Side of a tile, cells; a multiple of 16 (TIFF 6.0, section 15).
const TILE: usize = 256;

/// The value of cells without depth: no depth is below zero, and readers that ignore the tag still
/// show it as something impossible.
const NO_DATA: f32 = -9999.0;

/// Level of zlib. A smooth raster of 2000 × 2000 cells takes 6.9 MB at level 1, 5.7 at 3, 5.5 at 6
/// and 5.5 at 9.
const LEVEL: u32 = 6;

/// The line before [`LAYOUT`], which says how long that is.
const LAYOUT_SIZE: &str = "GDAL_STRUCTURAL_METADATA_SIZE=000140 bytes\n";

/// How the file is laid out, for readers that can use it. The blank at the end leaves room to
/// overwrite `NO` by `YES`.
const LAYOUT: &str = "LAYOUT=IFDS_BEFORE_DATA\nBLOCK_ORDER=ROW_MAJOR\nBLOCK_LEADER=SIZE_AS_UINT4\n\
                      BLOCK_TRAILER=LAST_4_BYTES_REPEATED\nKNOWN_INCOMPATIBLE_EDITION=NO\n ";

/// What the values are, for readers that show it.
const METADATA: &str = concat!(
    "<GDALMetadata>",
    r#"<Item name="DESCRIPTION" sample="0" role="description">loose-layer depth</Item>"#,
    r#"<Item name="UNITTYPE" sample="0" role="unittype">cm</Item>"#,
    "</GDALMetadata>",
);

/// The raster of depths in centimetres as the bytes of a Cloud-Optimised GeoTIFF: 32-bit floats, NaN
/// as −9999, with overviews, each half the size of the one before, down to a single tile.
///
/// A cell of an overview is the mean of those of its four cells that have a value. The bytes are
/// the same for any number of threads.
///
/// # Panics
/// When the file would pass 4 GiB, where classic TIFF ends: above 700 million cells, 14 times what
/// a map may have.
pub fn depth_geotiff(raster: &Raster, utm: Utm) -> Vec<u8> {
    let images = images(raster);
    let tiles: Vec<Vec<Vec<u8>>> = images.iter().map(Image::compressed_tiles).collect();
    let nowhere: Vec<_> = tiles.iter().map(|tiles| vec![0; tiles.len()]).collect();
    let placed = |offsets: &[Vec<u32>]| head(&raster.grid, utm, &images, &tiles, offsets);
    // The head is as long with offsets that are still unknown.
    let offsets = tile_offsets(placed(&nowhere).len(), &tiles);
    let mut file = placed(&offsets);
    for tile in tiles.iter().rev().flatten() {
        push_tile(&mut file, tile);
    }
    file
}

/// Where each tile's data will start. The smallest overview comes first in the file, the full
/// resolution last; the result is in the order of `tiles`, full resolution first.
fn tile_offsets(start: usize, tiles: &[Vec<Vec<u8>>]) -> Vec<Vec<u32>> {
    let mut next = start;
    let mut place = |tile: &Vec<u8>| {
        let offset = file_u32(next + 4);
        next += tile.len() + 8;
        offset
    };
    let mut offsets: Vec<Vec<u32>> =
        tiles.iter().rev().map(|tiles| tiles.iter().map(&mut place).collect()).collect();
    offsets.reverse();
    offsets
}

/// A tile as the ghost area announces it: size, data, the last four bytes again.
fn push_tile(file: &mut Vec<u8>, tile: &[u8]) {
    file.extend(file_u32(tile.len()).to_le_bytes());
    file.extend(tile);
    file.extend(&tile[tile.len() - 4..]);
}

/// A size or a place in the file.
fn file_u32(number: usize) -> u32 {
    u32::try_from(number)
        .expect("a map has at most 50 million cells, so its file stays below 4 GiB")
}

/// Everything before the tiles: header, ghost area, directories with their values.
fn head(
    grid: &Grid,
    utm: Utm,
    images: &[Image],
    tiles: &[Vec<Vec<u8>>],
    offsets: &[Vec<u32>],
) -> Vec<u8> {
    let first = (8 + LAYOUT_SIZE.len() + LAYOUT.len()).next_multiple_of(2);
    let mut head = b"II*\0".to_vec();
    head.extend(file_u32(first).to_le_bytes());
    head.extend(LAYOUT_SIZE.as_bytes());
    head.extend(LAYOUT.as_bytes());
    head.resize(first, 0);
    for (number, image) in images.iter().enumerate() {
        let sizes = tiles[number].iter().map(|tile| file_u32(tile.len())).collect();
        let mut tags = image_tags(image, number > 0, offsets[number].clone(), sizes);
        if number == 0 {
            tags.extend(place_tags(grid, utm));
            tags.push((42112, Value::Text(METADATA.into())));
        }
        tags.push((42113, Value::Text(format!("{NO_DATA}"))));
        push_directory(&mut head, &tags, number + 1 == images.len());
    }
    head
}

/// The tags that say how an image is stored, ascending.
fn image_tags(image: &Image, overview: bool, offsets: Vec<u32>, sizes: Vec<u32>) -> Vec<Tag> {
    let long = |value: usize| Value::Long(vec![file_u32(value)]);
    let short = |value: u16| Value::Short(vec![value]);
    vec![
        (254, long(usize::from(overview))), // NewSubfileType: 1 is a smaller copy
        (256, long(image.columns)),         // ImageWidth
        (257, long(image.rows)),            // ImageLength
        (258, short(32)),                   // BitsPerSample
        (259, short(8)),                    // Compression: deflate
        (262, short(1)),                    // PhotometricInterpretation: 0 is black
        (277, short(1)),                    // SamplesPerPixel
        (284, short(1)),                    // PlanarConfiguration: chunky
        (317, short(3)),                    // Predictor: floating point
        (322, long(TILE)),                  // TileWidth
        (323, long(TILE)),                  // TileLength
        (324, Value::Long(offsets)),        // TileOffsets
        (325, Value::Long(sizes)),          // TileByteCounts
        (339, short(3)),                    // SampleFormat: IEEE floating point
    ]
}

/// The tags that say where on the Earth the image lies, ascending. The tie point is the outer
/// corner of the north-western cell, since cells are areas.
fn place_tags(grid: &Grid, utm: Utm) -> [Tag; 4] {
    let cell_m = grid.cell_m();
    let corner = vec![0.0, 0.0, 0.0, grid.west_m(), grid.north_m(), 0.0];
    let citation = format!("{}|", utm.name());
    let length = u16::try_from(citation.len()).expect("the name of a UTM zone is short");
    #[rustfmt::skip]
    let keys = vec![
        1, 1, 1, 5, // version 1, revision 1.1, five keys
        1024, 0, 1, 1, // GTModelType: projected
        1025, 0, 1, 1, // GTRasterType: pixel is area
        1026, 34737, length, 0, // GTCitation, in the text
        3072, 0, 1, utm.epsg(), // ProjectedCRS
        3076, 0, 1, 9001, // ProjLinearUnits: metre
    ];
    [
        (33550, Value::Double(vec![cell_m, cell_m, 0.0])), // ModelPixelScale
        (33922, Value::Double(corner)),                    // ModelTiepoint
        (34735, Value::Short(keys)),                       // GeoKeyDirectory
        (34737, Value::Text(citation)),                    // GeoAsciiParams
    ]
}

/// A tag's number and value.
type Tag = (u16, Value);

/// The value of a tag.
enum Value {
    Text(String),
    Short(Vec<u16>),
    Long(Vec<u32>),
    Double(Vec<f64>),
}

impl Value {
    /// The field type: TIFF 6.0, section 2.
    fn kind(&self) -> u16 {
        match self {
            Value::Text(_) => 2,
            Value::Short(_) => 3,
            Value::Long(_) => 4,
            Value::Double(_) => 12,
        }
    }

    /// How many values; a text's closing zero counts.
    fn count(&self) -> usize {
        match self {
            Value::Text(text) => text.len() + 1,
            Value::Short(values) => values.len(),
            Value::Long(values) => values.len(),
            Value::Double(values) => values.len(),
        }
    }

    /// The bytes, little-endian.
    fn bytes(&self) -> Vec<u8> {
        match self {
            Value::Text(text) => [text.as_bytes(), &[0]].concat(),
            Value::Short(values) => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
            Value::Long(values) => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
            Value::Double(values) => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
        }
    }
}

/// A directory and, after it, those of its values that are longer than four bytes; then the next
/// directory follows, or none. Every part starts at an even place (TIFF 6.0, section 2).
fn push_directory(head: &mut Vec<u8>, tags: &[Tag], last: bool) {
    let values_start = head.len() + 2 + 12 * tags.len() + 4;
    let mut values = Vec::new();
    head.extend((tags.len() as u16).to_le_bytes());
    for (tag, value) in tags {
        head.extend(tag.to_le_bytes());
        head.extend(value.kind().to_le_bytes());
        head.extend(file_u32(value.count()).to_le_bytes());
        let mut bytes = value.bytes();
        if bytes.len() > 4 {
            head.extend(file_u32(values_start + values.len()).to_le_bytes());
            values.extend(&bytes);
            values.resize(values.len().next_multiple_of(2), 0);
        } else {
            bytes.resize(4, 0);
            head.extend(bytes);
        }
    }
    let next = if last { 0 } else { values_start + values.len() };
    head.extend(file_u32(next).to_le_bytes());
    head.extend(values);
}

/// The raster or an overview of it, row by row from the north-west; NaN is no data.
struct Image {
    columns: usize,
    rows: usize,
    values: Vec<f32>,
}

/// The raster at full resolution and its overviews in falling size, the last one tile at most.
fn images(raster: &Raster) -> Vec<Image> {
    let full = Image {
        columns: raster.grid.columns(),
        rows: raster.grid.rows(),
        values: raster.values.iter().map(|&value| value as f32).collect(),
    };
    let smaller = |image: &Image| (image.columns.max(image.rows) > TILE).then(|| image.halved());
    let mut images = vec![full];
    while let Some(next) = images.last().and_then(smaller) {
        images.push(next);
    }
    images
}

impl Image {
    /// The next overview: each cell the mean of two by two, as far as they have values.
    fn halved(&self) -> Image {
        let (columns, rows) = (self.columns.div_ceil(2), self.rows.div_ceil(2));
        let values = (0..rows)
            .into_par_iter()
            .flat_map_iter(|row| (0..columns).map(move |column| self.mean_of_four(row, column)))
            .collect();
        Image { columns, rows, values }
    }

    /// Mean of the up to four cells under a cell of the next overview; NaN where none has a value.
    fn mean_of_four(&self, row: usize, column: usize) -> f32 {
        let (mut sum, mut count) = (0.0, 0.0);
        for row in 2 * row..self.rows.min(2 * row + 2) {
            for column in 2 * column..self.columns.min(2 * column + 2) {
                let value = self.values[row * self.columns + column];
                if !value.is_nan() {
                    sum += f64::from(value);
                    count += 1.0;
                }
            }
        }
        (sum / count) as f32
    }

    /// The compressed tiles, row by row from the north-west.
    fn compressed_tiles(&self) -> Vec<Vec<u8>> {
        let across = self.columns.div_ceil(TILE);
        (0..across * self.rows.div_ceil(TILE))
            .into_par_iter()
            .map(|number| deflated(&self.predicted_tile(number / across, number % across)))
            .collect()
    }

    /// A tile after the predictor; cells without value and those beyond the image are no data.
    fn predicted_tile(&self, tile_row: usize, tile_column: usize) -> Vec<u8> {
        let (west, north) = (tile_column * TILE, tile_row * TILE);
        let width = TILE.min(self.columns - west);
        let mut bytes = vec![0; TILE * TILE * 4];
        for (row, bytes) in bytes.chunks_exact_mut(TILE * 4).enumerate() {
            let mut values = [NO_DATA; TILE];
            if north + row < self.rows {
                let start = (north + row) * self.columns + west;
                let valued = &self.values[start..start + width];
                for (value, &depth_cm) in values.iter_mut().zip(valued) {
                    *value = if depth_cm.is_nan() { NO_DATA } else { depth_cm };
                }
            }
            predict(&values, bytes);
        }
        bytes
    }
}

/// Predictor 3 for one row of a tile: the most significant bytes of all values, then the next ones,
/// and so on; then each byte less the one before it.
fn predict(values: &[f32], bytes: &mut [u8]) {
    let count = values.len();
    for (column, value) in values.iter().enumerate() {
        for (plane, byte) in value.to_be_bytes().into_iter().enumerate() {
            bytes[plane * count + column] = byte;
        }
    }
    for place in (1..bytes.len()).rev() {
        bytes[place] = bytes[place].wrapping_sub(bytes[place - 1]);
    }
}

/// The bytes as a zlib stream.
fn deflated(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(LEVEL));
    let written = encoder.write_all(bytes).and_then(|()| encoder.finish());
    written.expect("writing to memory does not fail")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    const NAN: f64 = f64::NAN;

    fn utm_15_north() -> Utm {
        let place = survey::LonLat { lon_deg: -93.6, lat_deg: 42.0 };
        Utm::for_place(place).unwrap()
    }

    fn file_of(columns: usize, rows: usize, values: Vec<f64>) -> Vec<u8> {
        let grid = Grid::new(448_000.0, 4_650_000.0, 2.5, columns, rows).unwrap();
        depth_geotiff(&Raster { grid, values }, utm_15_north())
    }

    /// A directory as a reader sees it: tag, type, count, and where its value stands.
    struct Directory(Vec<(u16, u16, usize, usize)>);

    fn number(file: &[u8], at: usize, bytes: usize) -> usize {
        (0..bytes).map(|i| usize::from(file[at + i]) << (8 * i)).sum()
    }

    /// Follows the chain of directories; gives each with the place where it and its values end.
    fn directories(file: &[u8]) -> Vec<(Directory, usize)> {
        let (mut found, mut at) = (Vec::new(), number(file, 4, 4));
        while at != 0 {
            let count = number(file, at, 2);
            let mut end = at + 2 + 12 * count + 4;
            let mut entries = Vec::new();
            for entry in (0..count).map(|i| at + 2 + 12 * i) {
                let kind = number(file, entry + 2, 2);
                let values = number(file, entry + 4, 4);
                let size = values * [0, 1, 1, 2, 4, 0, 0, 0, 0, 0, 0, 0, 8][kind];
                let place = match size {
                    0..=4 => entry + 8,
                    _ => number(file, entry + 8, 4),
                };
                end = end.max(place + size);
                entries.push((number(file, entry, 2) as u16, kind as u16, values, place));
            }
            at = number(file, at + 2 + 12 * count, 4);
            found.push((Directory(entries), end));
        }
        found
    }

    impl Directory {
        fn entry(&self, tag: u16) -> (u16, u16, usize, usize) {
            *self.0.iter().find(|entry| entry.0 == tag).unwrap()
        }

        fn whole(&self, file: &[u8], tag: u16) -> Vec<usize> {
            let (_, kind, count, place) = self.entry(tag);
            let size = if kind == 3 { 2 } else { 4 };
            (0..count).map(|i| number(file, place + size * i, size)).collect()
        }

        fn doubles(&self, file: &[u8], tag: u16) -> Vec<f64> {
            let (_, _, count, place) = self.entry(tag);
            let eight = |i: usize| file[place + 8 * i..][..8].try_into().unwrap();
            (0..count).map(|i| f64::from_le_bytes(eight(i))).collect()
        }

        fn text<'a>(&self, file: &'a [u8], tag: u16) -> &'a str {
            let (_, _, count, place) = self.entry(tag);
            str::from_utf8(&file[place..place + count]).unwrap()
        }

        /// Cell of one of the tiles: inflated and the predictor undone, from its description.
        fn cell(&self, file: &[u8], tile: usize, row: usize, column: usize) -> f32 {
            let start = self.whole(file, 324)[tile];
            let packed = &file[start..start + self.whole(file, 325)[tile]];
            let mut bytes = Vec::new();
            flate2::read::ZlibDecoder::new(packed).read_to_end(&mut bytes).unwrap();
            assert_eq!(bytes.len(), 256 * 256 * 4);
            let row = &mut bytes[row * 1024..(row + 1) * 1024];
            for i in 1..1024 {
                row[i] = row[i].wrapping_add(row[i - 1]);
            }
            let byte = |plane: usize| u32::from(row[256 * plane + column]);
            f32::from_bits(byte(0) << 24 | byte(1) << 16 | byte(2) << 8 | byte(3))
        }
    }

    #[test]
    fn predictor_splits_bytes_into_planes_and_takes_differences() {
        // 1.0 is 3F 80 00 00, 2.0 is 40 00 00 00: planes 3F 40 | 80 00 | 00 00 | 00 00.
        let mut bytes = [0; 8];
        predict(&[1.0, 2.0], &mut bytes);
        assert_eq!(bytes, [0x3F, 0x01, 0x40, 0x80, 0, 0, 0, 0]);
    }

    #[test]
    fn small_raster_is_one_tile_with_its_place() {
        let file = file_of(3, 2, vec![1.0, NAN, 3.0, 4.25, 5.0, 6.0]);
        let found = directories(&file);
        assert_eq!(found.len(), 1);
        let full = &found[0].0;
        assert_eq!(full.whole(&file, 256), [3]);
        assert_eq!(full.whole(&file, 257), [2]);
        assert_eq!(full.doubles(&file, 33550), [2.5, 2.5, 0.0]);
        let corner = [0.0, 0.0, 0.0, 448_000.0, 4_650_005.0, 0.0];
        assert_eq!(full.doubles(&file, 33922), corner);
        let keys = full.whole(&file, 34735);
        assert_eq!(keys[..4], [1, 1, 1, 5]);
        assert_eq!(keys[12..20], [1026, 34737, 22, 0, 3072, 0, 1, 32615]);
        assert_eq!(full.text(&file, 34737), "WGS 84 / UTM zone 15N|\0");
        assert_eq!(full.text(&file, 42113), "-9999\0");
        assert!(full.text(&file, 42112).contains(r#"role="unittype">cm<"#));
        let cell = |row, column| full.cell(&file, 0, row, column);
        assert_eq!([cell(0, 0), cell(0, 1), cell(0, 2)], [1.0, -9999.0, 3.0]);
        assert_eq!([cell(1, 0), cell(1, 1), cell(1, 2)], [4.25, 5.0, 6.0]);
        assert_eq!([cell(0, 3), cell(2, 0), cell(255, 255)], [-9999.0; 3]);
    }

    #[test]
    fn overview_is_the_mean_of_the_cells_with_a_value() {
        // 257 columns, 3 rows: the overview has 129 columns and 2 rows, its last column and row
        // lie over one column and one row.
        let mut values = vec![NAN; 257 * 3];
        let first_four = [(0, 0, 1.0), (0, 1, 2.0), (1, 0, 3.0), (1, 1, 6.0)];
        let others = [(0, 2, 10.0), (1, 3, 20.0), (1, 256, 7.0), (2, 256, 9.0)];
        for (row, column, value) in first_four.into_iter().chain(others) {
            values[row * 257 + column] = value;
        }
        let file = file_of(257, 3, values);
        let found = directories(&file);
        assert_eq!(found.len(), 2);
        let (full, half) = (&found[0].0, &found[1].0);
        assert_eq!((full.whole(&file, 324).len(), half.whole(&file, 324).len()), (2, 1));
        assert_eq!((full.whole(&file, 254), half.whole(&file, 254)), (vec![0], vec![1]));
        assert_eq!((half.whole(&file, 256), half.whole(&file, 257)), (vec![129], vec![2]));
        assert_eq!(full.cell(&file, 1, 1, 0), 7.0);
        let cell = |row, column| half.cell(&file, 0, row, column);
        assert_eq!([cell(0, 0), cell(0, 1), cell(0, 2)], [3.0, 15.0, -9999.0]);
        assert_eq!([cell(0, 128), cell(1, 128), cell(1, 0)], [7.0, 9.0, -9999.0]);
        assert!(half.0.iter().all(|entry| !(33550..=34737).contains(&entry.0)));
        assert_eq!(half.text(&file, 42113), "-9999\0");
    }

    #[test]
    fn directories_come_before_tiles_and_tags_ascend() {
        let file = file_of(600, 300, (0..600 * 300).map(f64::from).collect());
        let found = directories(&file);
        assert_eq!(found.len(), 3);
        for (directory, _) in &found {
            assert!(directory.0.windows(2).all(|pair| pair[0].0 < pair[1].0));
            assert!(directory.0.iter().all(|&(_, _, _, place)| place % 2 == 0));
        }
        let head = found.iter().map(|(_, end)| *end).max().unwrap();
        // Smallest overview first: the places of all tiles, from the last directory to the first.
        let mut end = head.next_multiple_of(2);
        for (directory, _) in found.iter().rev() {
            let sizes = directory.whole(&file, 325);
            for (start, size) in directory.whole(&file, 324).into_iter().zip(sizes) {
                assert_eq!(start, end + 4);
                assert_eq!(number(&file, end, 4), size);
                end = start + size + 4;
                assert_eq!(file[end - 4..end], file[end - 8..end - 4]);
            }
        }
        assert_eq!(end, file.len());
    }

    #[test]
    fn ghost_area_has_the_length_it_says() {
        assert_eq!(LAYOUT.len(), 140);
        let file = file_of(1, 1, vec![2.0]);
        assert_eq!(&file[..4], b"II*\0");
        assert!(file[8..].starts_with(b"GDAL_STRUCTURAL_METADATA_SIZE=000140 bytes\nLAYOUT="));
        assert_eq!(number(&file, 4, 4), 192);
    }

    #[test]
    fn number_of_threads_does_not_change_the_bytes() {
        let write = || file_of(700, 520, (0..700 * 520).map(|i| f64::from(i % 97)).collect());
        let with = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
            pool.build().unwrap().install(write)
        };
        assert!(with(1) == with(3));
    }
}
