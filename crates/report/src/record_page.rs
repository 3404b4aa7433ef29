//! The page that records a survey on a phone: one file that needs no network once it is open.
//!
//! Its sources lie in `assets/record`: the scripts are put together in the order of [`SCRIPT`] into one,
//! and the page's policy lets run nothing but that one, by its hash.

use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use survey::{Depth, LonLat, Pressure, UnitSystem};

use crate::error::ReportError;
use crate::html::policy::policy;

const PAGE: &str = include_str!("../assets/record/record.html");
const STYLE: &str = include_str!("../assets/record/record.css");
const SCRIPT: [&str; 8] = [
    include_str!("../assets/record/units.js"),
    include_str!("../assets/record/place.js"),
    include_str!("../assets/record/journal.js"),
    include_str!("../assets/record/spots.js"),
    include_str!("../assets/record/fix.js"),
    include_str!("../assets/record/survey_file.js"),
    include_str!("../assets/record/sketch.js"),
    concat!(
        include_str!("../assets/record/setup.js"),
        "\n",
        include_str!("../assets/record/page.js")
    ),
];

/// Insertions at a spot that keep a map's deviation under 10 % (subsample study in Acta Scientiarum
/// Agronomy).
const INSERTIONS: u32 = 4;

/// More marks than this are no marks of a hand rod.
const MOST_MARKS: f64 = 40.0;

/// What a recording page starts with. All but the spots can be changed on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordPage {
    /// Name of the field, where it has one.
    pub field: Option<String>,
    /// Units that the page starts with.
    pub units: UnitSystem,
    /// Pressure that ends the loose layer.
    pub threshold: Pressure,
    /// Length of the rod.
    pub rod: Depth,
    /// From one mark of the rod to the next.
    pub mark_spacing: Depth,
    /// How often the rod goes in at each spot.
    pub insertions: u32,
    /// Rings of the field's outline and of its holes, where it is known.
    pub outline: Vec<Vec<LonLat>>,
    /// Spots to go to, in the order of the walk; none to record wherever the person stands.
    pub spots: Vec<RecordSpot>,
    /// Distance between neighbouring spots, metres, where they are planned.
    pub spacing_m: Option<f64>,
}

/// A spot to go to.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordSpot {
    /// Its name, which no other spot has.
    pub id: String,
    /// Where it is.
    pub place: LonLat,
}

impl RecordPage {
    /// A page for any field: 200 psi, four insertions a spot; in US units a rod of 18 in with a mark every
    /// 3 in, else one of 45 cm with a mark every 5 cm (common practice).
    pub fn new(units: UnitSystem) -> Self {
        let (rod, mark_spacing) = match units {
            UnitSystem::Us => (Depth::from_in(18.0), Depth::from_in(3.0)),
            UnitSystem::Si => (Depth::from_cm(45.0), Depth::from_cm(5.0)),
        };
        RecordPage {
            field: None,
            units,
            threshold: Pressure::from_psi(200.0),
            rod,
            mark_spacing,
            insertions: INSERTIONS,
            outline: Vec::new(),
            spots: Vec::new(),
            spacing_m: None,
        }
    }
}

/// The page as one HTML file. The same contents give the same bytes.
///
/// # Errors
/// A rod without length, without marks or with more than 40, no insertion, a place that is not on Earth,
/// or two spots of one name.
pub fn record_page(page: &RecordPage) -> Result<String, ReportError> {
    check(page).map_err(|problem| ReportError::RecordPage { problem })?;
    let data = data(page);
    // Recordings of pages that differ are kept apart in a browser's store.
    let key = hex(&Sha256::digest(data.to_string())[..8]);
    let mut keyed = data;
    keyed["key"] = key.into();
    let script = SCRIPT.join("\n");
    let policy = policy(&[&script], &[STYLE]);
    let title = match &page.field {
        Some(field) => format!("{field}: record loose-layer depths"),
        None => "Record loose-layer depths".into(),
    };
    Ok(filled(&[
        ("title", &escaped(&title)),
        ("policy", &policy),
        ("version", env!("CARGO_PKG_VERSION")),
        ("style", STYLE),
        ("data", &keyed.to_string().replace('<', "\\u003c")),
        ("script", &script),
    ]))
}

fn check(page: &RecordPage) -> Result<(), String> {
    let (rod, step) = (page.rod.cm(), page.mark_spacing.cm());
    if !(step > 0.0 && rod >= step) {
        return Err(format!(
            "a rod of {} with a mark every {}",
            page.rod.in_both_units(),
            page.mark_spacing.in_both_units()
        ));
    }
    if rod / step > MOST_MARKS {
        return Err(format!("a rod with more than {MOST_MARKS} marks"));
    }
    if page.insertions == 0 {
        return Err("no insertion at a spot".into());
    }
    let places = page.outline.iter().flatten().chain(page.spots.iter().map(|spot| &spot.place));
    for place in places {
        if !(place.lon_deg.abs() <= 180.0 && place.lat_deg.abs() <= 90.0) {
            return Err(format!(
                "longitude {}, latitude {} is not on Earth",
                place.lon_deg, place.lat_deg
            ));
        }
    }
    let mut ids: Vec<&str> = page.spots.iter().map(|spot| spot.id.as_str()).collect();
    ids.sort_unstable();
    match ids.windows(2).find(|pair| pair[0] == pair[1]) {
        Some(pair) => Err(format!("two spots are named {:?}", pair[0])),
        None => Ok(()),
    }
}

fn data(page: &RecordPage) -> Value {
    let units = page.units;
    let threshold = match units {
        UnitSystem::Us => page.threshold.psi(),
        UnitSystem::Si => page.threshold.kpa(),
    };
    let ring = |ring: &Vec<LonLat>| ring.iter().map(|at| lon_lat(*at)).collect::<Vec<_>>();
    let spots = page.spots.iter().map(|spot| {
        let [lon, lat] = lon_lat(spot.place);
        json!([spot.id, lon, lat])
    });
    json!({
        "field": page.field,
        "units": units.to_string(),
        "threshold": rounded(threshold, 1e1),
        "rod": rounded(units.depth(page.rod), 1e2),
        "marks": rounded(units.depth(page.mark_spacing), 1e2),
        "pushes": page.insertions,
        "outline": page.outline.iter().map(ring).collect::<Vec<_>>(),
        "spots": spots.collect::<Vec<_>>(),
        "spacing_m": page.spacing_m.map(|m| rounded(m, 1e1)),
    })
}

/// Degrees to seven decimals, about a centimetre.
fn lon_lat(place: LonLat) -> [Value; 2] {
    [rounded(place.lon_deg, 1e7), rounded(place.lat_deg, 1e7)]
}

/// A number without digits that mean nothing; a whole number is written as one.
fn rounded(number: f64, steps: f64) -> Value {
    let rounded = (number * steps).round() / steps;
    match rounded.fract() == 0.0 {
        true => json!(rounded as i64),
        false => json!(rounded),
    }
}

/// Fills each place in the page once; what is filled in is not searched.
fn filled(values: &[(&str, &str)]) -> String {
    let mut parts = PAGE.split("{{");
    let mut page = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (name, rest) = part.split_once("}}").expect("every opened place is closed");
        let value = values.iter().find(|(known, _)| *known == name);
        page += value.expect("the page has no unknown place").1;
        page += rest;
    }
    page
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::html::policy::hash;

    fn spot(id: &str, lon_deg: f64, lat_deg: f64) -> RecordSpot {
        RecordSpot { id: id.into(), place: LonLat { lon_deg, lat_deg } }
    }

    fn problem(page: &RecordPage) -> String {
        record_page(page).unwrap_err().to_string()
    }

    #[test]
    fn the_policy_has_the_hashes_of_what_stands_in_the_page() {
        let html = record_page(&RecordPage::new(UnitSystem::Us)).unwrap();
        let between = |from: &str, to: &str| {
            let (_, rest) = html.split_once(from).unwrap();
            rest.split_once(to).unwrap().0.to_owned()
        };
        for (tag, end) in [("<script>", "</script>"), ("<style>", "</style>")] {
            let hash = hash(&between(tag, end));
            assert!(html.contains(&hash), "{tag} {hash}");
            assert_eq!(html.matches(tag).count(), 1);
        }
        assert!(!html.contains("{{"));
        assert!(!html.contains("unsafe"));
    }

    #[test]
    fn nothing_but_text_comes_out_of_a_name() {
        let page = RecordPage {
            field: Some("</script><script>alert(1)</script> & \"{{data}}\"".into()),
            spots: vec![spot("<!--<script>", 1.0, 2.0)],
            ..RecordPage::new(UnitSystem::Us)
        };
        let html = record_page(&page).unwrap();
        // Our own two scripts end, and no other.
        assert_eq!(html.matches("</script>").count(), 2);
        assert!(!html.contains("<!--"));
        assert!(html.contains("&lt;script&gt;alert(1)"));
        let (_, rest) = html.split_once("id=\"page-data\">").unwrap();
        let data: Value = serde_json::from_str(rest.split_once("</script>").unwrap().0).unwrap();
        assert_eq!(data["field"], page.field.unwrap());
        assert_eq!(data["spots"][0][0], "<!--<script>");
    }

    #[test]
    fn the_page_starts_in_the_units_of_the_field() {
        let us = data(&RecordPage::new(UnitSystem::Us));
        assert_eq!([&us["threshold"], &us["rod"], &us["marks"]], [200, 18, 3]);
        let si = data(&RecordPage::new(UnitSystem::Si));
        assert_eq!([&si["rod"], &si["marks"]], [45, 5]);
        assert_eq!(si["threshold"], 1379);
        let page = RecordPage {
            threshold: Pressure::from_psi(300.0),
            mark_spacing: Depth::from_in(1.5),
            spots: vec![spot("A", -95.619_798_812_3, 41.930_175_4)],
            spacing_m: Some(60.04),
            ..RecordPage::new(UnitSystem::Us)
        };
        let page = data(&page);
        assert_eq!((&page["threshold"], &page["marks"]), (&json!(300), &json!(1.5)));
        assert_eq!(page["spots"], json!([["A", -95.6197988, 41.9301754]]));
        assert_eq!(page["spacing_m"], 60);
    }

    #[test]
    fn pages_that_differ_keep_their_recordings_apart() {
        let key = |page: &RecordPage| {
            let html = record_page(page).unwrap();
            html.split_once("\"key\":\"").unwrap().1[..16].to_owned()
        };
        let general = RecordPage::new(UnitSystem::Us);
        let named = RecordPage { field: Some("North Bench".into()), ..general.clone() };
        assert_eq!(key(&general), key(&general.clone()));
        assert_ne!(key(&general), key(&named));
    }

    #[test]
    fn what_cannot_be_recorded_is_refused() {
        let page = RecordPage::new(UnitSystem::Us);
        let none = Depth::from_in(0.0);
        let rods = [
            RecordPage { mark_spacing: none, ..page.clone() },
            RecordPage { rod: Depth::from_in(2.0), ..page.clone() },
            RecordPage { mark_spacing: Depth::from_in(0.25), ..page.clone() },
            RecordPage { rod: Depth::from_m(f64::NAN), ..page.clone() },
        ];
        for rod in rods {
            assert!(problem(&rod).contains("a rod"), "{}", problem(&rod));
        }
        assert!(problem(&RecordPage { insertions: 0, ..page.clone() }).contains("no insertion"));
        let twice = vec![spot("A", 1.0, 2.0), spot("B", 1.0, 2.0), spot("A", 1.5, 2.0)];
        let twice = RecordPage { spots: twice, ..page.clone() };
        assert!(problem(&twice).contains("two spots are named \"A\""));
        let off = RecordPage { spots: vec![spot("A", 41.9, -95.6)], ..page };
        assert!(problem(&off).contains("latitude -95.6 is not on Earth"));
    }
}
