//! The depth raster as a Cloud-Optimised GeoTIFF.
//!
//! | what | where it is laid down |
//! |---|---|
//! | header, image file directories, tags 254 to 339 | TIFF 6.0 (Adobe 1992), sections 2, 8, 15 and 19 |
//! | compression 8, a zlib stream for each tile | Adobe Photoshop TIFF Technical Notes (2002), "Deflate" |
//! | predictor 3, byte planes and differences | Adobe Photoshop TIFF Technical Note 3 (2005), "Floating-point predictor" |
//! | tags 33550, 33922, 34735, 34737 and the geokeys | OGC GeoTIFF 1.1 (19-008r4), clauses 7.1 to 7.4 |
//! | version 43: counts and places of eight bytes | big TIFF as in libtiff 4 (from memory) |
//! | directories before data, order of the tiles, overviews | OGC Cloud Optimized GeoTIFF (21-026), clause 7, recommendation `ifd-order` |
//! | ghost area, size before and last bytes after each tile | GDAL, COG driver, "Header ghost area" |
//! | tags 42112 and 42113: unit, description, no data | GDAL, `GTiff` driver, private tags |
//!
//! A reader on the network gets all directories with the first few kilobytes, then only the tiles
//! it needs.

mod file;
mod head;
mod level;
mod tags;
mod tile;
mod writer;

use std::io::Cursor;

use geostat::Raster;
use survey::units::tidy;
use survey::{Depth, UnitSystem, Utm};

pub use file::GeotiffFile;
use writer::Writer;

/// Side of a tile, cells; a multiple of 16 (TIFF 6.0, section 15).
const TILE: usize = 256;

/// Bytes around the data of each tile that the ghost area announces: its size before it, its last four
/// bytes again after it.
const FRAME: u64 = 8;

/// The value of cells without one: no depth is below zero, no change so great, and readers that ignore the tag still
/// show it as something impossible.
const NO_DATA: f32 = -9999.0;

/// What a raster's values are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quantity {
    /// In a few words, without signs that mean something in XML.
    description: String,
    unit: &'static str,
}

impl Quantity {
    /// Loose-layer depth, centimetres.
    pub fn depth() -> Self {
        Quantity { description: "loose-layer depth".into(), unit: "cm" }
    }

    /// Standard error of the loose-layer depth, centimetres.
    pub fn standard_error() -> Self {
        Quantity { description: "standard error of the loose-layer depth".into(), unit: "cm" }
    }

    /// Change of the loose-layer depth between two visits, centimetres: below 0 it became thinner.
    pub fn change() -> Self {
        let description = "change of the loose-layer depth, later minus earlier";
        Quantity { description: description.into(), unit: "cm" }
    }

    /// Half the width of the interval around a change, of a confidence from 0 to 1, centimetres.
    pub fn change_half_width(confidence: f64) -> Self {
        let confidence = tidy(100.0 * confidence, 3);
        let description = format!(
            "half width of the {confidence} % interval of the change of the loose-layer depth"
        );
        Quantity { description, unit: "cm" }
    }

    /// Doses of a plan: what they are, in ASCII escaped for XML, and their unit.
    pub(crate) fn dose(what: &str, unit: &'static str) -> Self {
        Quantity { description: what.to_owned(), unit }
    }

    /// Probability, from 0 to 1, that the loose layer is thinner than a depth.
    pub fn thinner_than(limit: Depth, units: UnitSystem) -> Self {
        let limit = format!("{} {}", tidy(units.depth(limit), 3), units.depth_unit());
        let description = format!("probability that the loose layer is thinner than {limit}");
        Quantity { description, unit: "1" }
    }
}

/// The raster of depths in centimetres as the bytes of a Cloud-Optimised GeoTIFF: see [`geotiff`].
pub fn depth_geotiff(raster: &Raster, utm: Utm) -> Vec<u8> {
    geotiff(raster, utm, Quantity::depth())
}

/// A raster as the bytes of a Cloud-Optimised GeoTIFF: 32-bit floats, NaN as −9999, with overviews, each
/// half the size of the one before, down to a single tile. A file of more than 4 GiB is a big TIFF.
///
/// A cell of an overview is the mean of those of its four cells that have a value. The bytes are
/// the same for any number of threads.
///
/// # Panics
/// When there is not one value for each cell of the grid.
pub fn geotiff(raster: &Raster, utm: Utm, quantity: Quantity) -> Vec<u8> {
    let mut file = Vec::new();
    let spool = || Ok(Cursor::new(Vec::new()));
    let written = Writer::new(raster.grid, utm, quantity, spool).and_then(|mut writer| {
        writer.push(&raster.values)?;
        writer.finish(&mut file)
    });
    written.expect("writing to memory does not fail");
    file
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use geostat::Grid;

    use super::head::LAYOUT;
    use super::*;

    const NAN: f64 = f64::NAN;

    fn utm_15_north() -> Utm {
        let place = survey::LonLat { lon_deg: -93.6, lat_deg: 42.0 };
        Utm::for_place(place).unwrap()
    }

    fn file_of(columns: usize, rows: usize, values: Vec<f64>) -> Vec<u8> {
        let grid = Grid::new(448_000.0, 4_650_000.0, 2.5, columns, rows).unwrap();
        depth_geotiff(&Raster { grid, values }, utm_15_north())
    }

    /// The file of rows that come in portions, and of which more bytes than `most_classic` make a big TIFF.
    fn pushed(raster: &Raster, portion: usize, most_classic: u64) -> Vec<u8> {
        let spool = || Ok(Cursor::new(Vec::new()));
        let writer = Writer::new(raster.grid, utm_15_north(), Quantity::depth(), spool).unwrap();
        let mut writer = writer.with_most_classic(most_classic);
        raster.values.chunks(portion).for_each(|values| writer.push(values).unwrap());
        let mut file = Vec::new();
        writer.finish(&mut file).unwrap();
        file
    }

    /// Waves with a corner and a square of no data.
    fn waves(columns: usize, rows: usize) -> Raster {
        let grid = Grid::new(448_000.0, 4_650_000.0, 2.5, columns, rows).unwrap();
        let value = |cell: usize| {
            let (row, column) = (cell / columns, cell % columns);
            let is_empty = row + column < 300 || (row.max(column) < 600 && row.min(column) > 500);
            if is_empty { NAN } else { (row * 7 % 31) as f64 + (column * 3 % 11) as f64 / 7.0 }
        };
        Raster { grid, values: (0..columns * rows).map(value).collect() }
    }

    /// A directory as a reader sees it: tag, type, count, and where its value stands.
    struct Directory(Vec<(u16, u16, usize, usize)>);

    fn number(file: &[u8], at: usize, bytes: usize) -> usize {
        (0..bytes).map(|i| usize::from(file[at + i]) << (8 * i)).sum()
    }

    /// Follows the chain of directories; gives each with the place where it and its values end.
    fn directories(file: &[u8]) -> Vec<(Directory, usize)> {
        let is_big = file[2] == 43;
        // Bytes of a place, of the number of entries, and where the first directory is told.
        let (long, short, first) = if is_big { (8, 8, 8) } else { (4, 2, 4) };
        let (mut found, mut at) = (Vec::new(), number(file, first, long));
        while at != 0 {
            let count = number(file, at, short);
            let next = at + short + (4 + 2 * long) * count;
            let mut end = next + long;
            let mut entries = Vec::new();
            for entry in (0..count).map(|i| at + short + (4 + 2 * long) * i) {
                let kind = number(file, entry + 2, 2);
                let values = number(file, entry + 4, long);
                let size = values * size_of_kind(kind);
                let place = match size <= long {
                    true => entry + 4 + long,
                    false => number(file, entry + 4 + long, long),
                };
                end = end.max(place + size);
                entries.push((number(file, entry, 2) as u16, kind as u16, values, place));
            }
            at = number(file, next, long);
            found.push((Directory(entries), end));
        }
        found
    }

    fn size_of_kind(kind: usize) -> usize {
        match kind {
            2 => 1,
            3 => 2,
            4 => 4,
            12 | 16 => 8,
            _ => panic!("unknown type {kind}"),
        }
    }

    impl Directory {
        fn entry(&self, tag: u16) -> (u16, u16, usize, usize) {
            *self.0.iter().find(|entry| entry.0 == tag).unwrap()
        }

        fn whole(&self, file: &[u8], tag: u16) -> Vec<usize> {
            let (_, kind, count, place) = self.entry(tag);
            let size = size_of_kind(usize::from(kind));
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
    fn other_quantities_say_what_they_are() {
        let grid = Grid::new(448_000.0, 4_650_000.0, 2.5, 3, 2).unwrap();
        let raster = Raster { grid, values: vec![0.5; 6] };
        let text = |quantity| {
            let file = geotiff(&raster, utm_15_north(), quantity);
            directories(&file)[0].0.text(&file, 42112).to_owned()
        };
        let thin = text(Quantity::thinner_than(Depth::from_in(7.25), UnitSystem::Us));
        assert!(thin.contains("thinner than 7.25 in<") && thin.contains(r#""unittype">1<"#));
        let error = text(Quantity::standard_error());
        assert!(error.contains(">standard error of") && error.contains(r#""unittype">cm<"#));
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
    fn portions_of_any_size_give_the_same_bytes() {
        // Odd numbers of rows and columns in every image down to one tile.
        let raster = waves(1_101, 779);
        let whole = depth_geotiff(&raster, utm_15_north());
        for portion in [1_101, 64 * 1_101, 256 * 1_101, 100_003] {
            assert!(pushed(&raster, portion, u64::from(u32::MAX)) == whole, "{portion}");
        }
    }

    #[test]
    fn overviews_of_bands_are_those_of_the_whole() {
        let raster = waves(1_101, 779);
        let file = depth_geotiff(&raster, utm_15_north());
        let found = directories(&file);
        assert_eq!(found.len(), 4);
        let mut image: Vec<Vec<f32>> = raster
            .values
            .chunks(1_101)
            .map(|row| row.iter().map(|&value| value as f32).collect())
            .collect();
        for (directory, _) in &found {
            let (columns, rows) = (image[0].len(), image.len());
            assert_eq!(directory.whole(&file, 256), [columns]);
            assert_eq!(directory.whole(&file, 257), [rows]);
            let across = columns.div_ceil(256);
            for (row, values) in image.iter().enumerate().step_by(51) {
                for (column, &value) in values.iter().enumerate().step_by(37) {
                    let tile = row / 256 * across + column / 256;
                    let stored = directory.cell(&file, tile, row % 256, column % 256);
                    assert_eq!(stored, if value.is_nan() { NO_DATA } else { value });
                }
            }
            let mean = |row: usize, column: usize| {
                let rows = image.iter().skip(2 * row).take(2);
                let four = rows.flat_map(|row| row.iter().skip(2 * column).take(2));
                let valued: Vec<f64> =
                    four.copied().filter(|v| !v.is_nan()).map(f64::from).collect();
                (valued.iter().sum::<f64>() / valued.len() as f64) as f32
            };
            image = (0..rows.div_ceil(2))
                .map(|row| (0..columns.div_ceil(2)).map(|column| mean(row, column)).collect())
                .collect();
        }
    }

    #[test]
    fn a_long_file_is_a_big_tiff_with_the_same_tiles() {
        let raster = waves(1_101, 779);
        let classic = depth_geotiff(&raster, utm_15_north());
        let length = classic.len() as u64;
        assert!(pushed(&raster, 5_000, length) == classic);
        let big = pushed(&raster, 5_000, length - 1);
        assert_eq!(&big[..8], b"II+\0\x08\0\0\0");
        assert!(big[16..].starts_with(b"GDAL_STRUCTURAL_METADATA_SIZE=000140 bytes\nLAYOUT="));
        let (in_big, in_classic) = (directories(&big), directories(&classic));
        assert_eq!(in_big.len(), in_classic.len());
        let mut smallest = u64::MAX as usize;
        for ((a, _), (b, _)) in in_big.iter().zip(&in_classic) {
            assert_eq!(a.entry(324).1, 16, "places have eight bytes");
            let tags = |directory: &Directory| -> Vec<u16> {
                directory.0.iter().map(|entry| entry.0).collect()
            };
            assert_eq!(tags(a), tags(b));
            assert_eq!(a.whole(&big, 325), b.whole(&classic, 325));
            let places = a.whole(&big, 324).into_iter().zip(b.whole(&classic, 324));
            for ((at, from), size) in places.zip(a.whole(&big, 325)) {
                assert!(big[at..at + size] == classic[from..from + size]);
                smallest = smallest.min(at);
            }
        }
        let head = in_big.iter().map(|(_, end)| *end).max().unwrap();
        assert_eq!(smallest, head.next_multiple_of(2) + 4);
    }

    #[test]
    fn a_file_on_the_disk_has_the_same_bytes() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new/depth.tif");
        let raster = waves(700, 520);
        let create = |replace| GeotiffFile::create(&path, raster.grid, utm_15_north(), replace);
        let mut file = create(false).unwrap();
        raster.values.chunks(10 * 700).for_each(|rows| file.push(rows).unwrap());
        assert!(!path.exists(), "it has its name when it is complete");
        file.finish().unwrap();
        assert!(std::fs::read(&path).unwrap() == depth_geotiff(&raster, utm_15_north()));
        let listed = std::fs::read_dir(path.parent().unwrap()).unwrap().count();
        assert_eq!(listed, 1, "no other file is left behind");
        assert!(create(false).is_err_and(|error| error.to_string().contains("is there already")));
        assert!(create(true).is_ok());
    }

    #[test]
    fn an_unfinished_file_leaves_nothing_behind() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new/depth.tif");
        let raster = waves(700, 520);
        let mut file = GeotiffFile::create(&path, raster.grid, utm_15_north(), false).unwrap();
        file.push(&raster.values[..300 * 700]).unwrap();
        drop(file);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
        // Something else takes the name meanwhile: it stays.
        let path = folder.path().join("depth.tif");
        let mut file = GeotiffFile::create(&path, raster.grid, utm_15_north(), false).unwrap();
        file.push(&raster.values).unwrap();
        std::fs::write(&path, "other").unwrap();
        assert!(file.finish().unwrap_err().to_string().contains("is there already"));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "other");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
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
