//! Every rule of a rates file, by the message of the file that breaks it.

mod zones;

use proptest::prelude::*;

use plan::{BottomFound, PlanSettings, RatesFile};
use survey::Depth;
use zones::{map, plan_of, planned};

const LOOSEN: &str = "[[action]]\nclasses = [2]\ndo = \"loosen\"\nbottom = \"profiles\"\n";
const GYPSUM: &str =
    "[[action]]\nclasses = [1]\ndo = \"amend\"\nproduct = \"gypsum\"\nrate = \"1.5 ton/ac\"\n";
const PIT: &str = "bottom = { depth = \"13in\", how = \"3 pits\", date = \"2025-09-30\" }\n";

/// The message of a rates file that is wrong.
fn message(rates: &str) -> String {
    match plan_of(&map(), rates) {
        Ok(_) => panic!("no error from\n{rates}"),
        Err(error) => error.to_string(),
    }
}

fn assert_message(rates: &str, expected: &str) {
    let message = message(rates);
    assert!(message.starts_with("rates.toml: "), "{message}");
    assert!(message.contains(expected), "{message}\nshould have\n{expected}");
}

#[test]
fn a_file_that_is_no_toml_is_told_by_line() {
    assert_message("[plan\n", "line 1, [plan, `[plan`: ");
    assert_message("[plan]\nname = Autumn\n", "line 2, [plan], `name = Autumn`: ");
    assert_message(&"#".repeat(2 << 20), "larger than 64 kB");
}

#[test]
fn unknown_keys_and_values_are_told_by_line_table_and_text() {
    for (rates, expected) in [
        (format!("[pan]\n{LOOSEN}"), "line 1, [pan], `[pan]`: unknown key `pan`, expected one of"),
        (
            format!("{LOOSEN}hoper = \"6 ton\"\n"),
            "line 5, [[action]] 1, `hoper = \"6 ton\"`: unknown key",
        ),
        (
            format!("{GYPSUM}\n{LOOSEN}margin = 1\n"),
            "[[action]] 2, `margin = 1`: invalid type: integer `1`, \
          expected text in quotes, with its unit",
        ),
        (
            format!("[plan]\nunits = \"metric\"\n{LOOSEN}"),
            "unknown word `metric`, expected `us` or `si`",
        ),
        (format!("[plan]\nswath = \"30\"\n{LOOSEN}"), "`swath = \"30\"`: \"30\" has no unit"),
        (format!("[plan]\ncurrency = \"dollars\"\n{LOOSEN}"), "three letters"),
        (LOOSEN.replace("loosen", "rip"), "unknown word `rip`"),
        ("[[action]]\nclasses = [1]\n".into(), "missing key `do`"),
        (GYPSUM.replace("1.5 ton/ac", "1.5 ton"), "no rate on an area"),
        (format!("{GYPSUM}basis = {{ date = \"last autumn\" }}"), "is not a day like"),
        (format!("{GYPSUM}basis = {{ date = 2025 }}"), "\"2025\" is not a day like"),
        (
            LOOSEN.replace("\"profiles\"", "{ depth = \"13in\" }"),
            "line 4, [[action]] 1, `bottom = { depth = \"13in\" }`: missing key `how`",
        ),
        (
            LOOSEN.replace("\"profiles\"", "{ depth = \"13\", how = \"pits\", date = 2025-09-30 }"),
            "\"13\" has no unit",
        ),
        (
            LOOSEN.replace("\"profiles\"", "{ deep = \"13in\" }"),
            "unknown key `deep`, expected one of `depth`, `how`, `date`",
        ),
        (LOOSEN.replace("\"profiles\"", "13"), "expected \"profiles\" or a table such as { depth"),
        (LOOSEN.replace("[2]", "[\"6-9 in\"]"), "expected a whole number"),
        (LOOSEN.replace("[2]", "2"), "expected a list in brackets"),
        (format!("[plan]\nheading = \"E\"\n{LOOSEN}"), "expected a number without quotes"),
        (format!("{GYPSUM}basis = \"soil test\"\n"), "expected a table such as { lab = "),
        (LOOSEN.replace("[2]", "[0]"), "there is no class 0, classes are counted from 1"),
    ] {
        assert_message(&rates, expected);
    }
}

#[test]
fn a_depth_of_the_tool_is_never_written_down_nor_taken_from_the_loose_layer() {
    for line in [
        "set_depth = \"14in\"",
        "depth = \"14in\"",
        "Shank-Depth = \"14in\"",
        "from = \"loose layer\"",
        "loose_layer_depth = true",
    ] {
        let message = message(&format!("{GYPSUM}{LOOSEN}{line}\n"));
        let key = line.split(' ').next().unwrap();
        let start =
            format!("rates.toml: [[action]] 2, key `{key}`: a set depth is not written down");
        assert!(message.starts_with(&start), "{message}");
        assert!(message.contains("TOP of the tight layer"), "{message}");
        assert!(message.contains("NRCS Code 324, USDA Forest Service 0834-2828-MTDC"), "{message}");
        assert!(message.contains("bottom = \"profiles\", or bottom = { depth"), "{message}");
    }
    for word in ["loose layer", "mean", "top", "zones"] {
        assert_message(
            &LOOSEN.replace("profiles", word),
            "[[action]] 1, key `bottom`: a set depth is not",
        );
    }
    assert_message(
        &format!("[tillage]\ndepth = \"14in\"\n{LOOSEN}"),
        "[tillage], key `depth`: a set depth",
    );
}

#[test]
fn texts_are_one_line_and_not_endless() {
    assert_message(
        &format!("[plan]\nname = \"a\\nb\"\n{LOOSEN}"),
        "`plan.name`: holds a line break",
    );
    assert_message(
        &format!("{LOOSEN}[[action]]\nzones = [\"Z1\"]\ndo = \"other\"\ntext = \"\\u0000\"\n"),
        "`action 2.text`: holds a line break or another control character",
    );
    let long = format!("[field]\nhazards = [\"\", \"{}\"]\n{LOOSEN}", "x".repeat(401));
    assert_message(&long, "`field.hazards 2`: 401 characters long; shorten it to 400");
}

#[test]
fn an_action_says_where_once() {
    for (rates, expected) in [
        ("[plan]\n".into(), "no [[action]]; write for each"),
        (
            LOOSEN.replace("classes = [2]", ""),
            "[[action]] 1: it does not say where; write classes = [1, 2]",
        ),
        (LOOSEN.replace("= [2]", "= [2]\nzones = [\"Z2\"]"), "it names classes and zones"),
        (LOOSEN.replace("[2]", "[]"), "list of classes or zones is empty"),
        (LOOSEN.replace("[2]", "[2, 2]"), "2 stands twice in its list"),
        (
            LOOSEN.replace("[2]", "[7]"),
            "[[action]] 1: no zone of class 7 in zones.geojson; it has 1 (0–3 in), \
          2 (3–6 in), 3 (6–9 in)",
        ),
        (
            LOOSEN.replace("classes = [2]", "zones = [\"Z9\"]"),
            "no zone \"Z9\" in zones.geojson; it has Z1, Z2, Z3",
        ),
    ] {
        assert_message(&rates, expected);
    }
}

#[test]
fn a_zone_is_named_once_for_an_operation() {
    let leave = "[[action]]\nzones = [\"Z2\"]\ndo = \"leave\"\n";
    assert_message(
        &format!("{LOOSEN}{leave}"),
        "zone Z2 (class 2) is named twice: [[action]] 1 loosens it and [[action]] 2 leaves it; take it out of one",
    );
    assert_message(
        &format!("{LOOSEN}{}", LOOSEN.replace("classes = [2]", "zones = [\"Z2\"]")),
        "[[action]] 1 loosens it and [[action]] 2 loosens it",
    );
    assert_message(
        &format!("{GYPSUM}{}", GYPSUM.replace("gypsum", "Gypsum")),
        "zone Z1 (class 1) is named twice: [[action]] 1 amends it with gypsum and [[action]] 2 amends it with Gypsum",
    );
    let both = format!("{LOOSEN}{}", GYPSUM.replace("[1]", "[2]"));
    assert_eq!(plan_of(&map(), &both).unwrap().operations.len(), 2);
}

#[test]
fn keys_belong_to_their_verb() {
    for (rates, expected) in [
        (
            format!("{LOOSEN}rate = \"1 ton/ac\"\n"),
            "key `rate` means nothing with do = \"loosen\"; it belongs to \
          do = \"amend\"",
        ),
        (format!("{GYPSUM}margin = \"1in\"\n"), "key `margin` means nothing with do = \"amend\""),
        (
            "[[action]]\nclasses = [1]\ndo = \"leave\"\ncost_per_area = \"1 USD/ac\"\n".into(),
            "key `cost_per_area` means nothing with do = \"leave\"; it belongs to do = \"loosen\" or do = \"amend\"",
        ),
        ("[[action]]\nclasses = [1]\ndo = \"other\"\n".into(), "do = \"other\" without text"),
        (format!("{GYPSUM}text = \"spread\"\n"), "key `text` means nothing"),
        (LOOSEN.replace("bottom = \"profiles\"\n", ""), "do = \"loosen\" without `bottom`"),
        (GYPSUM.replace("product = \"gypsum\"\n", ""), "do = \"amend\" without `product`"),
        (GYPSUM.replace("rate = \"1.5 ton/ac\"\n", ""), "do = \"amend\" without `rate`"),
        (format!("[tillage]\nsignal_lost = \"8in\"\n{GYPSUM}"), "[tillage]: no action loosens"),
        ("[[action]]\nclasses = [1]\ndo = \"leave\"\n".into(), "no action loosens or amends"),
    ] {
        assert_message(&rates, expected);
    }
}

#[test]
fn a_bottom_that_is_not_measured_stops_the_plan() {
    assert_message(
        &LOOSEN.replace("[2]", "[1, 2, 3]"),
        "[[action]] 1: bottom of the tight layer not measured in Z1, Z3: dig or probe on",
    );
    let mut tight = map();
    tight.zones[1].bottom = Some(BottomFound { median: None, profiles: 6, not_passed: 4 });
    let error = plan_of(&tight, LOOSEN).unwrap_err().to_string();
    assert!(error.contains(
        "not measured in Z2 (4 of 6 profiles were still tight at their deepest reading): dig or probe on"
    ), "{error}");
}

#[test]
fn a_bottom_at_or_above_the_top_is_a_top() {
    // The mean loose-layer depth of class 2 is 5 in.
    for depth in ["5in", "12.7cm", "3in"] {
        let rates = LOOSEN.replace("bottom = \"profiles\"\n", &PIT.replace("13in", depth));
        assert_message(
            &rates,
            "is not below the mean loose-layer depth of Z2, 5 in, which is the top",
        );
    }
    let mut shallow = map();
    shallow.zones[1].bottom =
        Some(BottomFound { median: Some(Depth::from_in(5.0)), profiles: 6, not_passed: 0 });
    assert!(plan_of(&shallow, LOOSEN).unwrap_err().to_string().contains("is it a top?"));
    let given = LOOSEN.replace("bottom = \"profiles\"\n", PIT);
    assert_message(&given.replace("3 pits", " "), "does not say how it was measured");
    assert_message(&given.replace("13in", "-13in"), "a depth cannot be negative");
    assert_message(
        &given.replace("13in", "13m"),
        "deeper than any shank (39.4 in); is the unit right?",
    );
}

#[test]
fn margins_are_not_negative() {
    assert_message(
        &format!("{LOOSEN}margin = \"-1in\"\n"),
        "`margin = \"-1in\"`: a depth cannot be negative",
    );
}

#[test]
fn rates_say_what_they_are_of() {
    for (line, expected) in [
        ("purity_pct = 80", "not what the rate is of; write rate_is = \"pure\""),
        ("moisture_pct = 10", "not what the rate is of"),
        ("rate_is = \"pure\"", "needs purity_pct or moisture_pct"),
        ("rate_is = \"pure\"\npurity_pct = 0", "purity_pct = 0 must be from 1 to 100 %"),
        ("rate_is = \"pure\"\nmoisture_pct = 99", "moisture_pct = 99 must be from 0 to 95 %"),
        ("rate_is = \"pure\"\npurity_pct = nan", "must be from 1 to 100 %"),
        (
            "gypsum = { cec = 20, esp_now = 15, esp_wanted = 5, depth = \"0.3m\", bulk_density = 1.3 }",
            "has a `rate` and works one out by `gypsum`",
        ),
        ("hopper = \"1000 gal\"", "the rate is a mass, key `hopper` is not"),
        ("price = \"3 USD/gal\"", "the rate is a mass, key `price` is not for one"),
        ("price = \"30 USD/ac\"", "key `price` is for an area"),
        ("cost_per_area = \"3 USD/ton\"", "key `cost_per_area` is not for an area"),
        ("price = \"38 /ton\"", "\"38 /ton\" has no currency"),
    ] {
        assert_message(&format!("{GYPSUM}{line}\n"), expected);
    }
    let helper = GYPSUM.replace(
        "rate = \"1.5 ton/ac\"",
        "gypsum = { cec = 20, esp_now = 15, esp_wanted = 5, \
        depth = \"0.3m\", bulk_density = 1.3 }",
    );
    assert_message(&format!("{helper}purity_pct = 90\n"), "the purity stands inside it");
    assert_message(
        &format!("{helper}rate_is = \"pure\"\n"),
        "`rate_is` means nothing with `gypsum`",
    );
    assert_message(
        &helper.replace("cec = 20", "cec = 0"),
        "cec = 0 must be from 0.1 to 200 cmolc/kg",
    );
}

#[test]
fn one_product_has_one_name_one_hopper_and_one_kind_of_rate() {
    let other = GYPSUM.replace("[1]", "[2]");
    assert_message(
        &format!("{GYPSUM}hopper = \"6 ton\"\n{other}hopper = \"8 ton\"\n"),
        "[[action]] 2: its hopper is not that of [[action]] 1",
    );
    assert_message(
        &format!("{GYPSUM}{}", other.replace("1.5 ton/ac", "20 gal/ac")),
        "[[action]] 2: gypsum goes by mass in one action and by volume in another",
    );
    assert_message(
        &format!("{GYPSUM}name = \"Spread\"\n{other}name = \"Gypsum\"\n"),
        "[[action]] 2: it calls the operation \"Gypsum\", [[action]] 1 calls it \"Spread\"",
    );
    assert_message(
        &format!("{GYPSUM}price = \"38 USD/ton\"\n{other}price = \"38 CAD/ton\"\n"),
        "[[action]] 2: \"38 CAD/ton\" is not in USD, as the plan is",
    );
    assert_message(
        &format!("[plan]\ncurrency = \"EUR\"\n{GYPSUM}price = \"38 USD/ton\"\n"),
        "is not in EUR, as the plan is",
    );
}

#[test]
fn tickets_and_moisture_limits_are_whole() {
    let field = |line: &str| format!("[field]\n{line}\n{LOOSEN}");
    for (line, expected) in [
        (
            "buried_lines = { ticket = \"\", valid_until = \"2025-11-01\" }",
            "`buried_lines`: the ticket has no number",
        ),
        ("buried_lines = { ticket = \"1\" }", "missing key `valid_until`"),
        ("moisture = { below_pct = 30 }", "missing key `source`"),
        (
            "moisture = { below_pct = 30, source = \" \" }",
            "no source; say where the limit comes from",
        ),
        (
            "moisture = { above_pct = 50, below_pct = 30, source = \"x\" }",
            "50 to 30 % of field capacity is no window",
        ),
        ("moisture = { below_pct = nan, source = \"x\" }", "is no window"),
    ] {
        assert_message(&field(line), expected);
    }
}

#[test]
fn a_heading_is_blamed_on_the_file_or_on_the_option() {
    assert_message(
        &format!("[plan]\nheading = 400\n{LOOSEN}"),
        "[plan], key `heading`: 400 must be from 0 to 360 degrees clockwise from north",
    );
    let settings = PlanSettings { heading_deg: Some(361.0), ..PlanSettings::default() };
    let message = planned(&map(), LOOSEN, settings).unwrap_err().to_string();
    assert_eq!(message, "--heading: 361 must be from 0 to 360 degrees clockwise from north");
}

#[test]
fn passes_are_believable() {
    let message = |settings| planned(&map(), LOOSEN, settings).unwrap_err().to_string();
    let swath = PlanSettings { swath_m: Some(0.1), ..PlanSettings::default() };
    assert_eq!(message(swath), "--swath: 0.3 ft must be from 1.6 ft to 328.1 ft");
    let nan = PlanSettings { heading_deg: Some(f64::NAN), ..PlanSettings::default() };
    assert!(message(nan).starts_with("--heading: NaN must be from 0"));
}

/// Nothing a file can say may panic or hang.
#[test]
fn hostile_files_end_in_a_message() {
    let deep = format!("a = {}", "[".repeat(30_000));
    let wide = format!("{LOOSEN}[field]\nhazards = [{}]", "\"\",".repeat(20_000));
    let many = LOOSEN.repeat(700);
    for rates in
        ["", "\u{feff}", "\0", "[[action]]", "action = 1", "action = [1]", "ä = 'ö", &deep, &many]
    {
        let error = plan_of(&map(), rates).unwrap_err().to_string();
        assert!(error.starts_with("rates.toml: ") && error.len() < 2_000, "{error}");
    }
    assert!(RatesFile::parse("rates.toml", &wide).unwrap().hazards.is_empty());
}

const WHOLE: &str = r#"[plan]
name = "Autumn"
units = "us"
swath = "30ft"
heading = 90.0
[field]
buried_lines = { ticket = "T", valid_until = 2025-10-31 }
moisture = { below_pct = 30, source = "state copy" }
[tillage]
signal_lost = "0in"
[[action]]
classes = [2]
do = "loosen"
bottom = { depth = "13in", how = "3 pits", date = "2025-09-30" }
margin = "1in"
cost_per_area = "28 USD/ac"
[[action]]
zones = ["Z1", "Z3"]
do = "amend"
product = "lime"
rate = "1.5 ton/ac"
rate_is = "pure"
purity_pct = 80
price = "38 USD/ton"
hopper = "12000 lb"
basis = { lab = "L", date = 2025-09-12, method = "M", recommended_by = "R" }
"#;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    /// A file with a few letters, words or lines changed is planned, or refused with a message.
    #[test]
    fn a_garbled_file_is_planned_or_refused(
        edits in prop::collection::vec((0..10_000_usize, 0..12_usize), 1..6),
    ) {
        let mut text: Vec<char> = WHOLE.chars().collect();
        let bits = ["", "9", "e308", "-", "\"", "[", "}", "\n", "ä", "nan", "[[action]]\n", "1e-320"];
        for (place, bit) in edits {
            let place = place % text.len();
            text.splice(place..=place, bits[bit].chars());
        }
        let text: String = text.into_iter().collect();
        match plan_of(&map(), &text) {
            Ok(plan) => {
                for operation in &plan.operations {
                    let sums = [Some(operation.treated_m2), operation.total, operation.hopper];
                    prop_assert!(sums.iter().flatten().all(|sum| sum.is_finite()), "{:?}", operation);
                    let cost = operation.cost.as_ref();
                    prop_assert!(cost.is_none_or(|(cost, _)| cost.is_finite()), "{:?}", operation);
                }
            }
            Err(error) => {
                let error = error.to_string();
                let is_told = error.starts_with("rates.toml: ")
                    || error.starts_with("heading ")
                    || error.starts_with("swath ");
                prop_assert!(is_told && !error.contains('\n'), "{}", error);
            }
        }
    }
}
