//! Everything before the tiles: header, ghost area, directories with their values.

use geostat::Grid;
use survey::Utm;

use super::tags::{Form, Tag, Value};
use super::{NO_DATA, Quantity, TILE};

/// The line before [`LAYOUT`], which says how long that is.
const LAYOUT_SIZE: &str = "GDAL_STRUCTURAL_METADATA_SIZE=000140 bytes\n";

/// How the file is laid out, for readers that can use it. The blank at the end leaves room to
/// overwrite `NO` by `YES`.
pub(super) const LAYOUT: &str = "LAYOUT=IFDS_BEFORE_DATA\nBLOCK_ORDER=ROW_MAJOR\n\
    BLOCK_LEADER=SIZE_AS_UINT4\nBLOCK_TRAILER=LAST_4_BYTES_REPEATED\n\
    KNOWN_INCOMPATIBLE_EDITION=NO\n ";

/// What the values are, for readers that show it.
fn metadata(quantity: &Quantity) -> String {
    let Quantity { description, unit } = quantity;
    format!(
        "<GDALMetadata>\
         <Item name=\"DESCRIPTION\" sample=\"0\" role=\"description\">{description}</Item>\
         <Item name=\"UNITTYPE\" sample=\"0\" role=\"unittype\">{unit}</Item>\
         </GDALMetadata>"
    )
}

/// An image of the file: the raster itself or an overview.
pub(super) struct Image<'a> {
    pub columns: usize,
    pub rows: usize,
    /// Bytes of each compressed tile, row by row from the north-west.
    pub sizes: &'a [u32],
    /// Where each tile's data starts.
    pub places: Vec<u64>,
}

/// The head of a file with its images in falling size. It is as long whatever the places are.
pub(super) fn head(
    form: Form,
    grid: &Grid,
    utm: Utm,
    quantity: &Quantity,
    images: &[Image],
) -> Vec<u8> {
    let first = (form.header_length() + LAYOUT_SIZE.len() + LAYOUT.len()).next_multiple_of(2);
    let mut head = form.header(first as u64);
    head.extend(LAYOUT_SIZE.as_bytes());
    head.extend(LAYOUT.as_bytes());
    head.resize(first, 0);
    for (number, image) in images.iter().enumerate() {
        let mut tags = image_tags(image, number > 0);
        if number == 0 {
            tags.extend(place_tags(grid, utm));
            tags.push((42112, Value::Text(metadata(quantity))));
        }
        tags.push((42113, Value::Text(format!("{NO_DATA}"))));
        form.push_directory(&mut head, &tags, number + 1 == images.len());
    }
    head
}

/// The tags that say how an image is stored, ascending.
fn image_tags(image: &Image, overview: bool) -> Vec<Tag> {
    let long = |value: usize| Value::Long(vec![value as u32]);
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
        (324, Value::Places(image.places.clone())), // TileOffsets
        (325, Value::Long(image.sizes.to_vec())), // TileByteCounts
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
