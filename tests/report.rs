//! The report: one page for a browser with the grower's summary first, and the map as a sheet.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

mod support;

use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use support::{Run, collection, demo, features, loosedepth, ring};

const FILES: [&str; 2] = ["map-sheet.pdf", "report.html"];

/// A field folder with a visit for each of some days, at so many percent moisture.
fn field(folder: &Path, visits: &[(&str, Option<f64>)]) {
    fs::create_dir(folder.join("visits")).unwrap();
    boundary(folder);
    fs::write(folder.join("loosedepth.toml"), "boundary = \"boundary.geojson\"\n").unwrap();
    for (k, (day, moisture_pct)) in visits.iter().enumerate() {
        visit(folder, &format!("visits/{day}.geojson"), |spot, properties| {
            properties["date"] = json!(day);
            properties["moisture_pct"] = json!(moisture_pct);
            let depth_in = properties["depth_in"].as_f64().unwrap() + 6.0 - 3.0 * k as f64;
            properties["depth_in"] = json!(depth_in);
            // Not reached by 18 in, whatever the day.
            if spot == 4 {
                properties["depth_in"] = json!(18);
                properties["at_least"] = json!(true);
            }
        });
    }
}

fn boundary(folder: &Path) {
    let boundary = json!({ "type": "Polygon", "coordinates": [ring()] });
    fs::write(folder.join("boundary.geojson"), boundary.to_string()).unwrap();
}

/// Twenty readings named P0 to P19, shallow in the west and deep in the east; each may be changed.
fn visit(folder: &Path, name: &str, change: impl Fn(usize, &mut Value)) {
    let mut all = features();
    for (k, feature) in all.iter_mut().enumerate() {
        let properties = &mut feature["properties"];
        properties["point_id"] = json!(format!("P{k}"));
        properties["threshold_psi"] = json!(200);
        change(k, properties);
    }
    fs::write(folder.join(name), collection(&all)).unwrap();
}

fn report(folder: &Path, args: &[&str]) -> Run {
    loosedepth(folder, &[&["report"], args].concat())
}

fn succeeds(folder: &Path, args: &[&str]) -> String {
    let run = report(folder, args);
    assert_eq!(run.exit, 0, "{}", run.stderr);
    run.stdout
}

/// Fails, says why, and writes nothing.
fn fails(folder: &Path, args: &[&str], exit: i32, words: &[&str]) {
    let run = report(folder, args);
    assert_eq!(run.exit, exit, "{args:?}: {}", run.stderr);
    for word in words {
        assert!(run.stderr.contains(word), "{word:?} is not in {}", run.stderr);
    }
    assert!(!folder.join("out").exists());
}

fn page(folder: &Path) -> String {
    fs::read_to_string(folder.join("report.html")).unwrap()
}

/// Text without tags and with its signs.
fn plain(markup: &str) -> String {
    let text: String = markup
        .split('<')
        .enumerate()
        .map(|(k, piece)| if k == 0 { piece } else { piece.split_once('>').unwrap().1 })
        .collect();
    let signs = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")];
    signs.iter().fold(text, |text, (name, sign)| text.replace(name, sign))
}

/// The grower's page.
fn summary(page: &str) -> String {
    let from = page.find("<section id=\"in-short\"").unwrap();
    let to = page[from..].find("</section>").unwrap();
    // What the picture says is not among the sentences.
    let section = &page[from..from + to];
    plain(section.split("<figure").next().unwrap())
}

/// Its first sentence.
fn headline(page: &str) -> String {
    let (_, rest) = page.split_once("<p class=\"headline\">").unwrap();
    plain(rest.split("</p>").next().unwrap()).trim().to_owned()
}

/// The sentences of what was found.
fn found(page: &str) -> Vec<String> {
    let (_, rest) = page.split_once("<div class=\"found\">").unwrap();
    let list = rest.split("</ul>").next().unwrap();
    list.split("<li>").skip(1).map(|item| plain(item).trim().to_owned()).collect()
}

/// The rows of the table whose caption begins so.
fn table(page: &str, caption: &str) -> Vec<Vec<String>> {
    let of = |table: &&&str| {
        let named =
            table.split_once("<caption").and_then(|(_, rest)| rest.split_once("</caption>"));
        named.is_some_and(|(name, _)| plain(&format!("<{name}")).starts_with(caption))
    };
    let tables: Vec<&str> = page.split("<table").skip(1).collect();
    let table = tables.iter().find(of).unwrap_or_else(|| panic!("no table {caption}"));
    let rows = table.split("</table>").next().unwrap().split("<tr>").skip(2);
    rows.map(|row| {
        let cells = row.split(['\n']).filter(|line| line.contains("<t"));
        cells.map(|cell| plain(cell).trim().to_owned()).collect()
    })
    .collect()
}

/// What the map's script draws.
fn data(page: &str) -> Value {
    let (_, rest) = page.split_once("id=\"map-data\">").unwrap();
    serde_json::from_str(rest.split("</script>").next().unwrap()).unwrap()
}

fn json(path: impl AsRef<Path>) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

#[test]
fn the_season_has_the_figures_of_season_and_an_archive_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let run = loosedepth(at, &["season", &demo(""), "--no-maps", "--out", "season"]);
    assert!(run.exit == 0 || run.exit == 3, "{}", run.stderr);
    let run = report(at, &[&demo(""), "--out", "one"]);
    assert!(run.exit == 0 || run.exit == 3, "{}", run.stderr);
    let page = page(&at.join("one"));
    let season = json(at.join("season/season.json"));
    let visits = table(&page, "Visits");
    assert_eq!(visits.len(), season["visits"].as_array().unwrap().len());
    for (row, visit) in visits.iter().zip(season["visits"].as_array().unwrap()) {
        let count = |name: &str| visit[name].as_u64().unwrap().to_string();
        assert_eq!([&row[1], &row[2]], [&count("probes"), &count("not_reached")]);
        let median = &visit["median"];
        let sign = if median["is_lower_bound"] == json!(true) { "≥ " } else { "" };
        assert_eq!(row[3], format!("{sign}{}", median["depth_in"].as_f64().unwrap()));
        assert_eq!(row[5], format!("{:.1}", visit["moisture_mean_pct"].as_f64().unwrap()));
    }
    // The moisture stands before any figure of a change.
    let words = summary(&page);
    let moisture = season["moisture_says"].as_str().unwrap();
    let [before, after] = [moisture, "Half of the spots reached"].map(|it| words.find(it).unwrap());
    assert!(before < after);
    // The map hardly beats one number: the spots are told, not the ground that the map paints.
    let headline = headline(&page);
    let counts = "26 of 108 spots had less than 6 in of loose soil, 54 had 6 in and 28 had more";
    assert!(headline.contains(counts), "{headline}");
    assert!(headline.contains("hardly more than one number for the whole field"), "{headline}");
    assert!(!headline.contains("of the field:"), "{headline}");
    for input in season["inputs"].as_array().unwrap() {
        assert!(page.contains(input["sha256"].as_str().unwrap()), "{input}");
    }
    assert!(page.len() < 1_000_000, "{}", page.len());
    let run = report(at, &["season/season.gpkg", "--out", "two"]);
    assert!(run.exit == 0 || run.exit == 3, "{}", run.stderr);
    for name in FILES {
        let [one, two] = ["one", "two"].map(|out| fs::read(at.join(out).join(name)).unwrap());
        assert!(one == two, "{name} differs");
    }
}

#[test]
fn one_visit_has_the_figures_of_its_map() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let same = ["--visit", "2025-04-14", "--swath", "30ft", "--heading", "90", "--most-zones", "7"];
    let field = demo("");
    for (command, out) in [("map", "map"), ("report", "report")] {
        let run = loosedepth(at, &[&[command, field.as_str(), "--out", out], &same[..]].concat());
        assert!(run.exit == 0 || run.exit == 3, "{}", run.stderr);
    }
    let page = page(&at.join("report"));
    let map = json(at.join("map/summary.json"));
    let zones = json(at.join("map/zones.geojson"));
    for (row, zone) in table(&page, "Zones of").iter().zip(zones["features"].as_array().unwrap()) {
        let zone = &zone["properties"];
        assert_eq!(row[0], zone["zone_id"].as_str().unwrap());
        assert_eq!(row[4], format!("{:.2}", zone["area_ac"].as_f64().unwrap()), "{zone}");
        assert_eq!(row[6].trim_end_matches('*'), zone["probes"].to_string());
    }
    for (row, class) in
        table(&page, "Ground by depth").iter().zip(map["classes"].as_array().unwrap())
    {
        assert_eq!(row[0], class["name"].as_str().unwrap());
        assert_eq!(row[1], format!("{:.2}", class["area_ac"].as_f64().unwrap()));
        assert_eq!(row[4], class["probes"].to_string());
    }
    let error_in = map["cross_validation"]["rmse_in"].as_f64().unwrap();
    assert!(page.contains(&format!("root mean square error {error_in} in")), "{error_in}");
    let words = summary(&page);
    assert!(words.contains(&format!("typically within ±{error_in:.1} in of the map")), "{words}");
    let settings = table(&page, "Settings, versions and hashes");
    for (name, value) in map["settings"].as_object().unwrap() {
        let row = settings.iter().find(|row| row[0] == format!("Setting {name}"));
        let told = &row.unwrap_or_else(|| panic!("no setting {name}"))[1];
        match value {
            Value::Number(number) => assert_eq!(*told, number.to_string(), "{name}"),
            Value::String(text) => assert_eq!(told, text, "{name}"),
            _ => {}
        }
    }
    assert!(page.contains("loosedepth report FIELD --visit 2025-04-14 --swath 30ft"));
    assert_eq!(data(&page)["visits"].as_array().unwrap().len(), 1);
    let probes = data(&page)["visits"][0]["probes"].as_array().unwrap().len();
    let survey = &map["survey"];
    let expected = ["spots_with_reading", "stopped_by_stone", "skipped"];
    let expected: u64 = expected.iter().map(|name| survey[name].as_u64().unwrap()).sum();
    assert_eq!(probes as u64, expected);
}

#[test]
fn the_grower_s_page_says_where_how_much_how_sure_and_what_is_not_known() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[("2025-04-14", Some(30.0)), ("2025-06-14", Some(29.0))]);
    let told = succeeds(at, &[".", "--visit", "2025-06-14", "--out", "out"]);
    assert!(told.contains("wrote report.html, map-sheet.pdf into out"), "{told}");
    let words = summary(&page(&at.join("out")));
    for said in [
        "On Jun 14, 2025 the loose layer was thinner than 6 in on ",
        "along the west side",
        "of 20 spots probed, 4 did so at less than 6 in",
        "typically within ±",
        "One visit: no change to tell yet.",
        "Dig a pit",
        "Do not set a tool by these depths",
        "a rate needs a soil test",
        "1 of 20 spots did not reach 200 psi",
    ] {
        assert!(words.contains(said), "{said:?} is not in {words}");
    }
    for jargon in ["RMSE", "kappa", "variogram", "kriging", "semivariance", "leave-one-out", "p ="]
    {
        assert!(!words.contains(jargon), "{jargon}");
    }
}

#[test]
fn a_change_is_told_with_the_moisture_before_it() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let visits = [("2025-04-14", Some(30.0)), ("2025-05-14", None), ("2025-06-14", Some(20.0))];
    field(at, &visits);
    succeeds(at, &[".", "2025-04-14", "2025-06-14", "--out", "drier"]);
    succeeds(at, &[".", "2025-04-14", "2025-05-14", "--out", "missing"]);
    succeeds(at, &["."]);
    let drier = summary(&page(&at.join("drier")));
    assert!(
        drier.contains("not evidence of compaction or loosening: the soil was drier later"),
        "{drier}"
    );
    assert!(
        drier.contains("within 12 in on Apr 14, 2025 and within 6 in on Jun 14, 2025"),
        "{drier}"
    );
    assert!(drier.contains("Probe again when the soil is near field capacity"));
    let missing = summary(&page(&at.join("missing")));
    assert!(missing.contains("soil moisture is missing on the later date"), "{missing}");
    // The whole season lies in the field's folder of results, and tells of the first and the last visit.
    let all = page(&at.join("results"));
    assert_eq!(table(&all, "Visits").len(), 3);
    assert!(summary(&all).contains("drier later"));
    let shown = data(&all);
    assert_eq!(shown["visits"].as_array().unwrap().len(), 2);
    assert_eq!(shown["change"]["visits"], json!([0, 1]));
    // Two visits and one lie in folders of their own.
    succeeds(at, &[".", "2025-04-14", "2025-06-14"]);
    succeeds(at, &[".", "--visit", "2025-06-14"]);
    for within in ["2025-04-14_to_2025-06-14", "2025-06-14"] {
        assert!(at.join("results").join(within).join("map-sheet.pdf").is_file(), "{within}");
    }
}

#[test]
fn what_was_not_reached_is_told_as_a_bound() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    boundary(at);
    // Half and more were not reached, as on a chessboard: nothing parts the field.
    visit(at, "board.geojson", |k, properties| {
        let is_black = (k % 5 + k / 5) % 2 == 0;
        properties["depth_in"] = json!(if is_black { 18 } else { 3 });
        properties["at_least"] = json!(is_black || k == 1);
        if k == 1 {
            properties["depth_in"] = json!(18);
        }
    });
    succeeds(at, &["board.geojson", "--boundary", "boundary.geojson", "--out", "board"]);
    let board = page(&at.join("board"));
    let words = summary(&board);
    assert!(headline(&board).contains("take it as one, with at least "), "{words}");
    assert!(!headline(&board).contains("about "), "{words}");
    assert!(words.contains("more than half had not reached it at 18 in"), "{words}");
    // A spot on the thin ground was not reached: its mean is a bound as well.
    for (name, is_bound) in [("bound", true), ("exact", false)] {
        visit(at, &format!("{name}.geojson"), |k, properties| {
            properties["at_least"] = json!(is_bound && k == 6);
        });
        let survey = format!("{name}.geojson");
        succeeds(at, &[&survey, "--boundary", "boundary.geojson", "--out", name]);
        let told = headline(&page(&at.join(name)));
        assert!(told.contains("the loose layer was thinner than 6 in on "), "{told}");
        assert_eq!(told.contains("of the field: at least "), is_bound, "{told}");
    }
    // Two visits of which half was not reached at one.
    let two = at.join("two");
    fs::create_dir(&two).unwrap();
    field(&two, &[("2025-04-14", Some(30.0)), ("2025-06-14", Some(30.0))]);
    visit(&two, "visits/2025-04-14.geojson", |k, properties| {
        properties["date"] = json!("2025-04-14");
        properties["moisture_pct"] = json!(30.0);
        if k % 5 > 1 {
            properties["depth_in"] = json!(18);
            properties["at_least"] = json!(true);
        }
    });
    succeeds(&two, &["."]);
    let page = page(&two.join("results"));
    let sentence = "More than half had not reached 200 psi at 18 in on Apr 14, 2025, and half of the spots reached it \
                    within 9 in on Jun 14, 2025.";
    let found = found(&page);
    assert!(found.iter().any(|told| told == sentence), "{found:?}");
    assert!(!summary(&page).contains("deeper than"));
}

#[test]
fn what_was_found_fits_on_the_first_page_with_the_moisture_first() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[("2025-04-14", Some(30.0)), ("2025-06-14", Some(20.0))]);
    succeeds(at, &["."]);
    let season = page(&at.join("results"));
    let told = found(&season);
    assert!(told[0].contains("the soil was drier later"), "{told:?}");
    assert!(told.len() <= 6, "{told:?}");
    // What is no longer in short is told in its section.
    let (_, rest) = season.split_once("<section id=\"part-1\"").unwrap();
    let rest = plain(&format!("<section {}", rest.split("<script").next().unwrap()));
    assert!(rest.contains("the loose layer became thinner at "), "falls are told");
    succeeds(at, &[".", "--visit", "2025-06-14"]);
    let one = found(&page(&at.join("results/2025-06-14")));
    assert!(
        one.len() <= 6 && one.last().unwrap() == "One visit: no change to tell yet.",
        "{one:?}"
    );
}

#[test]
fn a_title_that_names_a_folder_stays_a_title() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[("2025-04-14", Some(30.0))]);
    fs::create_dir(at.join("North")).unwrap();
    succeeds(at, &["--title", "North", ".", "--out", "out"]);
    let made = table(&page(&at.join("out")), "Settings, versions and hashes");
    let command = made.iter().find(|row| row[0] == "Command").unwrap();
    assert_eq!(command[1], "loosedepth report --title North FIELD");
}

#[test]
fn what_is_there_is_replaced_only_when_asked() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[("2025-04-14", Some(30.0))]);
    succeeds(at, &["."]);
    let first = FILES.map(|name| fs::read(at.join("results").join(name)).unwrap());
    let run = report(at, &["."]);
    assert_eq!(run.exit, 1);
    assert!(run.stderr.contains("--replace"), "{}", run.stderr);
    succeeds(at, &[".", "--replace"]);
    let again = FILES.map(|name| fs::read(at.join("results").join(name)).unwrap());
    assert!(first == again, "the same input gives the same bytes");
}

#[test]
fn a_page_may_have_a_name_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[("2025-04-14", Some(30.0))]);
    succeeds(at, &[".", "--out", "to/the/grower.html"]);
    let mut names: Vec<String> = fs::read_dir(at.join("to/the"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names, ["grower.html", "map-sheet.pdf"]);
}

#[test]
fn a_file_without_anything_beside_it_owns_up_to_what_is_missing() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    visit(at, "survey.geojson", |_, _| {});
    succeeds(at, &["survey.geojson", "--out", "out"]);
    let page = page(&at.join("out"));
    let words = summary(&page);
    for said in [
        "No outline of the field was given",
        "Soil moisture was not recorded",
        "The day of the visit was not recorded",
        "note its moisture",
    ] {
        assert!(words.contains(said), "{said:?} is not in {words}");
    }
    assert!(page.contains("loosedepth report survey.geojson"));
}

#[test]
fn a_field_that_a_map_does_not_part_is_to_be_taken_as_one() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    boundary(at);
    // A chessboard: neighbours tell the opposite.
    visit(at, "board.geojson", |k, properties| {
        let is_black = (k % 5 + k / 5) % 2 == 0;
        properties["depth_in"] = json!(if is_black { 3 } else { 15 });
    });
    visit(at, "few.geojson", |k, properties| {
        if k > 2 {
            properties["depth_in"] = Value::Null;
            properties["note"] = json!("stone");
        }
    });
    succeeds(at, &["board.geojson", "--boundary", "boundary.geojson", "--out", "board"]);
    let words = summary(&page(&at.join("board")));
    assert!(words.contains("take it as one, with about 9 in of loose soil"), "{words}");
    assert!(words.contains("Do not treat single zones by this map"), "{words}");
    assert!(!words.contains("Thin ground"), "{words}");
    succeeds(at, &["few.geojson", "--boundary", "boundary.geojson", "--out", "few"]);
    let words = summary(&page(&at.join("few")));
    assert!(words.contains("With 3 spots even that is a rough figure"), "{words}");
    assert!(words.contains("17 spots were stopped by a stone or root"), "{words}");
}

#[test]
fn names_of_others_are_text_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let hostile = "</script><script>alert(1)</script>\"'&<img src=x onerror=alert(2)>";
    field(at, &[("2025-04-14", Some(30.0)), ("2025-06-14", Some(30.0))]);
    for day in ["2025-04-14", "2025-06-14"] {
        visit(at, &format!("visits/{day}.geojson"), |k, properties| {
            properties["date"] = json!(day);
            properties["point_id"] = json!(format!("{hostile}{k}"));
            let fall = if day == "2025-06-14" { 0 } else { 3 };
            properties["depth_in"] = json!(3 * (k % 5) + fall);
        });
    }
    succeeds(at, &[".", "--title", hostile, "--out", "out"]);
    let page = page(&at.join("out"));
    assert!(!page.contains("<img") && !page.contains("<script>alert"));
    assert_eq!(page.matches("</script>").count(), 2);
    assert!(plain(page.split("</h1>").next().unwrap()).ends_with(hostile));
    assert!(data(&page)["visits"][0]["probes"][0][3].as_str().unwrap().starts_with(hostile));
    assert!(table(&page, "Spots whose")[0][0].starts_with(hostile));
}

#[test]
fn layers_follow_the_settings_of_the_map() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let survey = demo("visits/2025-04-14.geojson");
    let boundary = demo("boundary.geojson");
    let run = report(
        at,
        &[
            &survey,
            "--boundary",
            &boundary,
            "--method",
            "kriging",
            "--thinner-than",
            "12in",
            "--config",
            &demo("loosedepth.toml"),
            "--out",
            "out",
        ],
    );
    // The field's own settings name strata, with which no chance is mapped.
    assert_eq!(run.exit, 1, "{}", run.stderr);
    assert!(run.stderr.contains("--thinner-than"), "{}", run.stderr);
    fs::copy(&survey, at.join("survey.geojson")).unwrap();
    let run = report(
        at,
        &[
            "survey.geojson",
            "--boundary",
            &boundary,
            "--method",
            "kriging",
            "--thinner-than",
            "12in",
            "--out",
            "out",
        ],
    );
    assert!(run.exit == 0 || run.exit == 3, "{}", run.stderr);
    let page = page(&at.join("out"));
    let visit = &data(&page)["visits"][0];
    assert!(visit["error"]["grid"].is_object() && visit["chance"]["grid"].is_object());
    assert!(summary(&page).contains("thinner than 12 in on "));
    assert!(page.contains("Semivariance by distance"));
}

#[test]
fn profiles_have_their_chart() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let of = |name: &str| demo(&format!("../slough-piece/{name}"));
    let (survey, boundary) = (of("profiles.geojson"), of("boundary.geojson"));
    let run = report(
        at,
        &[
            &survey,
            "--boundary",
            &boundary,
            "--date",
            "2025-06-14",
            "--sustained",
            "2in",
            "--out",
            "out",
        ],
    );
    assert!(run.exit == 0 || run.exit == 3, "{}", run.stderr);
    let page = page(&at.join("out"));
    assert!(page.contains("Cone index by depth, psi"));
    assert!(page.contains("Bottom of tight layer, in"));
}

#[test]
fn wrong_input_is_told_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    field(at, &[("2025-04-14", Some(30.0)), ("2025-06-14", Some(30.0))]);
    let out = |args: &[&'static str]| [args, &["--out", "out"]].concat();
    fs::create_dir(at.join("empty")).unwrap();
    fails(at, &out(&["empty"]), 1, &["loosedepth.toml"]);
    fails(at, &out(&[".", "2025-04-14"]), 2, &["the days of two visits"]);
    fails(at, &out(&[".", "2025-06-14", "2025-04-14"]), 2, &["give the earlier first"]);
    fails(at, &out(&[".", "2025-04-14", "2025-07-01"]), 1, &["no visit of 2025-07-01"]);
    fails(at, &out(&[".", "2025-04-14", "June"]), 2, &["not a day like"]);
    fails(at, &out(&[".", "--visit", "2025-07-01"]), 1, &["no visit of 2025-07-01"]);
    fails(at, &out(&[".", "2025-04-14", "2025-06-14", "--visit", "2025-06-14"]), 2, &["not both"]);
    fails(at, &out(&[".", "--date", "2025-06-14"]), 2, &["--date"]);
    fails(at, &out(&["nothing.geojson"]), 1, &["nothing.geojson"]);
    fails(at, &["visits/2025-04-14.geojson"], 2, &["--out FOLDER"]);
    fails(at, &[".", "--out", "visits"], 2, &["the visits lie in this folder"]);
    fails(at, &out(&[".", "--earlier-zones", "boundary.geojson"]), 1, &["boundary.geojson"]);
    fails(at, &out(&[".", "--classes", "9,6"]), 1, &["6"]);
    fails(
        at,
        &out(&[".", "--threshold", "200psi", "--threshold", "300psi"]),
        2,
        &["one --threshold"],
    );
    fs::write(at.join("broken.geojson"), "{\"type\": \"FeatureCollection\", \"features\": [")
        .unwrap();
    fails(at, &out(&["broken.geojson"]), 1, &["broken.geojson"]);
}
