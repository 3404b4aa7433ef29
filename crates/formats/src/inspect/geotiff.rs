//! A raster with its place, its unit and what is in its first band.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use geo::{Coord, LineString, MultiPolygon, Polygon};
use survey::units::tidy;
use survey::{CoordinateSystem, ToLonLat};
use tiff::decoder::{ChunkType, Decoder, DecodingResult, Limits};
use tiff::tags::Tag;
use tiff::{TiffError, TiffResult};

use super::layer::ground_area_m2;
use super::tally::Tally;
use crate::error::FormatError;
use crate::inspected::{Inspected, InspectedLayer, InspectedZone};
use crate::plain_text::plain;

/// Cells that are decoded, and bytes of one tile or strip.
const MOST_CELLS: u64 = 400_000_000;
const MOST_CHUNK_BYTES: usize = 64 << 20;
const MOST_IMAGES: usize = 32;

const MODEL_TIE_POINT: Tag = Tag::Unknown(33922);
const GDAL_METADATA: Tag = Tag::Unknown(42112);

/// Keys of the geokey directory (OGC 19-008r4, clause 7.5).
const GEODETIC_CRS: u16 = 2048;
const PROJECTED_CRS: u16 = 3072;

type Raster = Decoder<BufReader<File>>;

pub(super) fn inspect(path: &Path) -> Result<Inspected, FormatError> {
    let unreadable = |source| FormatError::Unreadable { file: path.to_path_buf(), source };
    let file = File::open(path).map_err(unreadable)?;
    read(path, file).map_err(|error| {
        let problem = format!("is no raster that can be read: {}", plain(&error.to_string()));
        FormatError::NotInspected { file: path.to_path_buf(), problem }
    })
}

fn read(path: &Path, file: File) -> TiffResult<Inspected> {
    let mut limits = Limits::default();
    limits.decoding_buffer_size = MOST_CHUNK_BYTES;
    limits.intermediate_buffer_size = MOST_CHUNK_BYTES;
    limits.ifd_value_size = 16 << 20;
    let mut raster = Decoder::new(BufReader::new(file))?.with_limits(limits);
    let mut found = Inspected { format: "GeoTIFF".into(), ..Inspected::default() };
    let (columns, rows) = raster.dimensions()?;
    let place = Place::of(&mut raster);
    let band = Band::of(&mut raster)?;
    let size = place.cell.map_or(String::new(), |cell| format!(" of {}", cell.text()));
    found.notes.push(format!("{columns} by {rows} cells{size}"));
    place.notes(&mut found.notes);
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let what = band.description.clone().unwrap_or_else(|| plain(&stem));
    let quantity = match &band.unit {
        Some(unit) => format!("{what} in {unit}"),
        None => format!("{what}, of unknown unit"),
    };
    if band.unit.is_none() {
        found
            .notes
            .push("it does not say the unit of its values; a display will ask for it".into());
    }
    found.notes.push(match band.no_data {
        Some(no_data) => format!("cells without a value hold {no_data}"),
        None => "it does not say which value stands for no data".into(),
    });
    let outline = place.outline(columns, rows);
    let cell_m2 = outline
        .as_ref()
        .map(|outline| ground_area_m2(outline) / (f64::from(columns) * f64::from(rows)));
    let zones = match decoded_cells(&mut raster)? > MOST_CELLS {
        true => {
            found.notes.push("it is too large for its values to be counted".into());
            Vec::new()
        }
        false => values(&mut raster, &band, cell_m2, &mut found.notes)?,
    };
    found.notes.push(overviews(&mut raster));
    found.extent_deg = outline.as_ref().and_then(extent);
    found.layers = vec![InspectedLayer {
        name: plain(&stem),
        quantities: vec![quantity],
        zones,
        defaults: Vec::new(),
    }];
    Ok(found)
}

fn extent(outline: &MultiPolygon) -> Option<[f64; 4]> {
    use geo::BoundingRect;
    outline.bounding_rect().map(|f| [f.min().x, f.min().y, f.max().x, f.max().y])
}

/// Cells of all tiles or strips: those beyond the raster's edge are decoded too, and a tile may be far larger
/// than the raster.
fn decoded_cells(raster: &mut Raster) -> TiffResult<u64> {
    let (columns, rows) = raster.chunk_dimensions();
    let of_chunk = u64::from(columns) * u64::from(rows);
    Ok(u64::from(chunks(raster)?).saturating_mul(of_chunk))
}

fn chunks(raster: &mut Raster) -> TiffResult<u32> {
    match raster.get_chunk_type() {
        ChunkType::Strip => raster.strip_count(),
        ChunkType::Tile => raster.tile_count(),
    }
}

/// Size of a cell in the raster's own plane.
#[derive(Clone, Copy)]
struct Cell {
    width: f64,
    height: f64,
    is_degrees: bool,
}

impl Cell {
    fn text(self) -> String {
        match self.is_degrees {
            true => format!("{}° by {}°", tidy(self.width, 9), tidy(self.height, 9)),
            false => format!("{} m by {} m", tidy(self.width, 3), tidy(self.height, 3)),
        }
    }
}

/// Where the raster lies.
struct Place {
    cell: Option<Cell>,
    /// East and north of the north-west corner.
    corner: Option<(f64, f64)>,
    system: Option<CoordinateSystem>,
}

impl Place {
    fn of(raster: &mut Raster) -> Place {
        let scale = raster.get_tag_f64_vec(Tag::ModelPixelScaleTag).unwrap_or_default();
        let tie = raster.get_tag_f64_vec(MODEL_TIE_POINT).unwrap_or_default();
        let keys = raster.get_tag_u16_vec(Tag::GeoKeyDirectoryTag).unwrap_or_default();
        // Four numbers a key: the key, where its value is (0: here), how many, the value.
        let key = |wanted: u16| {
            let entry =
                keys.chunks_exact(4).skip(1).find(|entry| entry[0] == wanted && entry[1] == 0)?;
            Some(entry[3])
        };
        let is_degrees = key(PROJECTED_CRS).is_none() && key(GEODETIC_CRS).is_some();
        let code = key(PROJECTED_CRS).or_else(|| key(GEODETIC_CRS));
        let cell = match scale[..] {
            [width, height, ..] if width > 0.0 && height > 0.0 && width.is_finite() => {
                Some(Cell { width, height, is_degrees })
            }
            _ => None,
        };
        let corner = match (tie.as_slice(), cell) {
            ([i, j, _, east, north, ..], Some(cell)) => {
                Some((east - i * cell.width, north + j * cell.height))
            }
            _ => None,
        };
        let system = code.and_then(|code| format!("EPSG:{code}").parse().ok());
        Place { cell, corner, system }
    }

    fn notes(&self, notes: &mut Vec<String>) {
        match (&self.system, self.corner) {
            (_, None) => notes.push("it does not say where on the ground it lies".into()),
            (None, Some(_)) => notes.push("it does not say its coordinate system".into()),
            (Some(system), Some(_)) if system.is_wgs84_degrees() => {}
            (Some(system), Some(_)) => notes.push(format!("it is in {system}")),
        }
    }

    /// Its outline in degrees.
    fn outline(&self, columns: u32, rows: u32) -> Option<MultiPolygon> {
        let ((west, north), cell, system) = (self.corner?, self.cell?, self.system.as_ref()?);
        let way = ToLonLat::new(system).ok()?;
        let (east, south) =
            (west + cell.width * f64::from(columns), north - cell.height * f64::from(rows));
        let corners = [(west, south), (east, south), (east, north), (west, north), (west, south)];
        let degrees: Option<Vec<Coord>> = corners
            .into_iter()
            .map(|(x, y)| Some(Coord::from(way.convert(x, y).ok()?)).filter(|c| c.x.abs() <= 180.0))
            .collect();
        Some(MultiPolygon::from(Polygon::new(LineString::new(degrees?), Vec::new())))
    }
}

/// What the first band says of itself.
struct Band {
    description: Option<String>,
    unit: Option<String>,
    no_data: Option<f64>,
}

impl Band {
    fn of(raster: &mut Raster) -> TiffResult<Band> {
        let metadata = raster.get_tag_ascii_string(GDAL_METADATA).unwrap_or_default();
        let item = |role: &str| {
            let (_, rest) = metadata.split_once(&format!("role=\"{role}\">"))?;
            let text = plain(&unescaped(rest.split_once('<')?.0));
            (!text.is_empty()).then(|| crate::plain_text::cut(&text, 100).to_owned())
        };
        let no_data = raster.get_tag_ascii_string(Tag::GdalNodata).ok();
        let no_data = no_data.and_then(|text| text.trim_matches(['\0', ' ']).parse().ok());
        Ok(Band { description: item("description"), unit: item("unittype"), no_data })
    }
}

fn unescaped(text: &str) -> String {
    [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&apos;", "'"), ("&amp;", "&")]
        .iter()
        .fold(text.to_owned(), |text, (escaped, meant)| text.replace(escaped, meant))
}

/// Counts the values of the first band: each for itself where they are few, else their span as a note.
fn values(
    raster: &mut Raster,
    band: &Band,
    cell_m2: Option<f64>,
    notes: &mut Vec<String>,
) -> TiffResult<Vec<InspectedZone>> {
    let mut tally = Tally::default();
    let samples = usize::from(raster.colortype()?.num_samples()).max(1);
    for chunk in 0..chunks(raster)? {
        let (width, height) = raster.chunk_data_dimensions(chunk);
        if width == 0 || height == 0 {
            continue;
        }
        let read = raster.read_chunk(chunk)?;
        for number in numbers(&read)?.step_by(samples) {
            tally.add(number, band.no_data);
        }
    }
    let unit = band.unit.as_deref().map_or(String::new(), |unit| format!(" {unit}"));
    let all = tally.empty + tally.count;
    if tally.count == 0 {
        notes.push("none of its cells has a value".into());
        return Ok(Vec::new());
    }
    let share_pct = tidy(100.0 * tally.empty as f64 / all as f64, 1);
    notes.push(format!(
        "values from {}{unit} to {}{unit}; {share_pct} % of the cells have none",
        tidy(tally.least, 3),
        tidy(tally.most, 3)
    ));
    Ok(tally.zones(cell_m2, &unit))
}

/// Numbers of one tile or strip.
fn numbers(read: &DecodingResult) -> TiffResult<Box<dyn Iterator<Item = f64> + '_>> {
    Ok(match read {
        DecodingResult::F32(values) => Box::new(values.iter().map(|&value| f64::from(value))),
        DecodingResult::F64(values) => Box::new(values.iter().copied()),
        DecodingResult::U8(values) => Box::new(values.iter().map(|&value| f64::from(value))),
        DecodingResult::U16(values) => Box::new(values.iter().map(|&value| f64::from(value))),
        DecodingResult::U32(values) => Box::new(values.iter().map(|&value| f64::from(value))),
        DecodingResult::I8(values) => Box::new(values.iter().map(|&value| f64::from(value))),
        DecodingResult::I16(values) => Box::new(values.iter().map(|&value| f64::from(value))),
        DecodingResult::I32(values) => Box::new(values.iter().map(|&value| f64::from(value))),
        _ => {
            return Err(TiffError::UnsupportedError(
                tiff::TiffUnsupportedError::UnknownInterpretation,
            ));
        }
    })
}

fn overviews(raster: &mut Raster) -> String {
    let mut count = 0;
    while count < MOST_IMAGES && raster.more_images() && raster.next_image().is_ok() {
        count += 1;
    }
    match count {
        0 => "no overviews".into(),
        1 => "1 overview".into(),
        count => format!("{count} overviews"),
    }
}
