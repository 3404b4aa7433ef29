//! Plans with totals worked out by hand, and what they say.

mod zones;

use plan::{
    BottomFound, Dose, MassRate, NOT_BACKED, OperationKind, Plan, PlanSettings, ZoneMap, mass_text,
};
use survey::{Depth, UnitSystem};
use zones::{map, plan_of};

const LOOSEN: &str = "[[action]]\nclasses = [2]\ndo = \"loosen\"\nbottom = \"profiles\"\n";
const BASIS: &str = "basis = { lab = \"Demo Lab\", date = 2025-09-12, method = \"ESP\", \
                     recommended_by = \"A. Adviser\" }\n";

fn gypsum(rate: &str) -> String {
    format!("[[action]]\nclasses = [1, 2]\ndo = \"amend\"\nproduct = \"gypsum\"\n{rate}\n{BASIS}")
}

fn depth_in(dose: Option<Dose>) -> f64 {
    match dose {
        Some(Dose::Depth(depth)) => depth.inches(),
        other => panic!("{other:?}"),
    }
}

fn kg_per_ha(dose: Option<Dose>) -> f64 {
    match dose {
        Some(Dose::Mass(rate)) => rate.kg_per_ha(),
        other => panic!("{other:?}"),
    }
}

fn has(sentences: &[String], part: &str) -> bool {
    sentences.iter().any(|sentence| sentence.contains(part))
}

#[track_caller]
fn assert_warns(plan: &Plan, part: &str) {
    assert!(has(&plan.warnings, part), "{part}\nnot in {:#?}", plan.warnings);
}

/// Gypsum at 2 t/ha on two zones of 6 ha is 24 t, five loads of 5 t; 24 t at 40 EUR and 12 ha at 10 EUR
/// are 1080 EUR. Loosening the second at 70 EUR/ha is 420 EUR, to an inch below the 12 inches measured.
#[test]
fn totals_are_those_worked_out_by_hand() {
    let rates = format!(
        "[plan]\nunits = \"si\"\nname = \"Autumn\"\nfarm = \"Farm\"\nswath = \"9m\"\nheading = 12.5\n{LOOSEN}\
         cost_per_area = \"70 EUR/ha\"\n{}",
        gypsum(
            "rate = \"2 t/ha\"\nhopper = \"5 t\"\nprice = \"40 EUR/t\"\ncost_per_area = \"10 EUR/ha\""
        )
    );
    let plan = plan_of(&map(), &rates).unwrap();
    assert_eq!(
        (plan.name.as_str(), plan.farm.as_deref(), plan.grower.as_deref()),
        ("Autumn", Some("Farm"), None)
    );
    assert_eq!(
        (plan.units, plan.swath_m, plan.heading_deg),
        (UnitSystem::Si, Some(9.0), Some(12.5))
    );
    assert!(plan.stamps.is_empty());
    let [loosen, gypsum] = plan.operations.as_slice() else { panic!("{:?}", plan.operations) };
    assert_eq!((loosen.slug.as_str(), loosen.kind.clone()), ("loosen", OperationKind::Loosen));
    assert_eq!((loosen.treated_m2, loosen.total, loosen.fills), (60_000.0, None, None));
    assert_eq!(loosen.cost, Some((420.0, "EUR".into())));
    assert_eq!(
        (gypsum.name.as_str(), gypsum.treated_m2, gypsum.fills),
        ("Gypsum", 120_000.0, Some(5))
    );
    assert!((gypsum.total.unwrap() - 24_000.0).abs() < 1e-6);
    assert_eq!(gypsum.hopper, Some(5_000.0));
    let (cost, currency) = gypsum.cost.clone().unwrap();
    assert!((cost - 1_080.0).abs() < 1e-6 && currency == "EUR");
    assert_eq!(gypsum.basis.as_ref().unwrap().lab, "Demo Lab");

    let [first, second, third] = plan.parts.as_slice() else { panic!("{:?}", plan.parts) };
    assert_eq!(first.action, "2 t/ha gypsum");
    assert_eq!(second.action, "loosen to 33 cm; 2 t/ha gypsum");
    assert_eq!((third.action.as_str(), &third.doses), ("leave", &vec![None, None]));
    assert!((depth_in(second.doses[0]) - 13.0).abs() < 1e-9);
    assert_eq!(first.doses[0], None);
    assert!((kg_per_ha(first.doses[1]) - 2_000.0).abs() < 1e-9);
    assert!(has(
        &plan.workings,
        "Gypsum: 24 t = sum over its parts of rate × ground, 12.00 ha in all"
    ));
    assert!(has(&plan.workings, "5 fills = 24 t / 5 t, rounded up"));
    assert!(has(
        &plan.workings,
        "gypsum: rate recommended by A. Adviser, on the soil test of 2025-09-12 by Demo Lab (ESP)"
    ));
    assert_warns(&plan, "no action names Z3: left alone");
}

/// 12 ha are 29.6526 ac; at 1.5 short tons an acre 44.479 tons, eight loads of 6 tons.
#[test]
fn short_tons_and_acres_add_up_too() {
    let plan = plan_of(&map(), &gypsum("rate = \"1.5 ton/ac\"\nhopper = \"12000 lb\"")).unwrap();
    let operation = &plan.operations[0];
    assert_eq!(mass_text(operation.total.unwrap(), plan.units), "44.48 ton");
    assert_eq!((operation.fills, operation.cost.clone()), (Some(8), None));
    assert_eq!(plan.parts[0].action, "1.5 ton/ac gypsum");
}

#[test]
fn a_hopper_that_just_holds_it_all_is_filled_once() {
    let plan = plan_of(&map(), &gypsum("rate = \"0.1 t/ha\"\nhopper = \"1.2 t\"")).unwrap();
    assert_eq!(plan.operations[0].fills, Some(1));
}

#[test]
fn the_published_gypsum_requirement_goes_into_the_plan_with_its_working() {
    let rates = gypsum(
        "gypsum = { cec = 20, esp_now = 15, esp_wanted = 5, depth = \"0.3m\", bulk_density = 1.3 }",
    );
    let plan = plan_of(&map(), &rates).unwrap();
    assert!((kg_per_ha(plan.parts[0].doses[0]) - 7_378.8).abs() < 1e-6);
    assert_eq!(plan.parts[0].action, "3.29 ton/ac gypsum");
    assert!(has(&plan.workings, "GR = 8.6 · F · D · ρb · CEC · (ESPi − ESPf) / p"));
    assert!(has(&plan.workings, "= 7.379 Mg/ha = 3.292 ton/ac"));
    assert!(plan.stamps.is_empty());
    let bare = plan_of(&map(), &rates.replace(BASIS, "")).unwrap();
    assert_eq!(bare.stamps, [NOT_BACKED], "the helper is no soil test");
    let wet = plan_of(&map(), &format!("{rates}moisture_pct = 20\n")).unwrap();
    assert!((kg_per_ha(wet.parts[0].doses[0]) - 9_223.5).abs() < 1e-6);
}

#[test]
fn a_rate_of_pure_dry_material_becomes_one_of_the_product() {
    let rates =
        gypsum("rate = \"1.5 ton/ac\"\nrate_is = \"pure\"\npurity_pct = 75\nmoisture_pct = 20");
    let plan = plan_of(&map(), &rates).unwrap();
    // 1.5 / 0.75 / 0.8
    assert_eq!(plan.parts[0].action, "2.5 ton/ac gypsum");
    assert!(has(
        &plan.workings,
        "product = pure / (purity / 100) / (1 − moisture / 100) = 1.5 ton/ac / (75 / 100) / (1 − 20 / 100) = 2.5 ton/ac"
    ));
    let as_spread = plan_of(&map(), &rates.replace("\"pure\"", "\"product\"")).unwrap();
    assert_eq!(as_spread.parts[0].action, "1.5 ton/ac gypsum");
    assert!(has(&as_spread.workings, "75 % pure, 20 % moisture: not adjusted"));
}

#[test]
fn a_rate_without_a_complete_basis_is_stamped_and_says_what_is_missing() {
    let whole = gypsum("rate = \"1 ton/ac\"");
    for (basis, missing) in [
        ("", "lab, date, method, recommended_by"),
        ("basis = { lab = \"Demo Lab\", date = \"2025-09-12\" }\n", "method, recommended_by"),
        (
            "basis = { lab = \" \", date = 2025-09-12, method = \"x\", recommended_by = \"y\" }\n",
            "lab",
        ),
    ] {
        let plan = plan_of(&map(), &whole.replace(BASIS, basis)).unwrap();
        assert_eq!(plan.stamps, [NOT_BACKED]);
        assert_eq!(plan.operations[0].basis, None);
        assert_warns(
            &plan,
            &format!(
                "[[action]] 1: the rate of gypsum has no complete basis; missing in `basis`: {missing}"
            ),
        );
    }
    // One rate of two without a basis stamps the plan too.
    let half = format!("{whole}{}", whole.replace("[1, 2]", "[3]").replace(BASIS, ""));
    let plan = plan_of(&map(), &half).unwrap();
    assert_eq!((plan.stamps.len(), plan.operations.len()), (1, 1));
    assert_eq!(plan.operations[0].basis, None);
    assert!(plan_of(&map(), LOOSEN).unwrap().stamps.is_empty(), "tillage has no rate");
}

#[test]
fn a_margin_over_two_inches_warns() {
    let with = |margin: &str| plan_of(&map(), &format!("{LOOSEN}margin = \"{margin}\"\n")).unwrap();
    for margin in ["0in", "2in", "5.08cm"] {
        assert!(!has(&with(margin).warnings, "a margin of"), "{margin}");
    }
    let deep = with("3in");
    assert_warns(
        &deep,
        "[[action]] 1: a margin of 3 in runs the tool more than 2 in below the bottom",
    );
    assert!((depth_in(deep.parts[1].doses[0]) - 15.0).abs() < 1e-9);
    assert!(has(
        &deep.workings,
        "Z2: set depth 15 in = bottom of the tight layer 12 in (median of 6 profiles) + margin 3 in"
    ));
}

#[test]
fn a_bottom_that_is_doubtful_warns() {
    let mut doubtful = map();
    doubtful.zones[1].bottom =
        Some(BottomFound { median: Some(Depth::from_in(12.0)), profiles: 3, not_passed: 1 });
    let plan = plan_of(&doubtful, LOOSEN).unwrap();
    assert_warns(&plan, "Z2: its bottom rests on 3 profiles, fewer than 5");
    assert_warns(&plan, "Z2: 1 of 3 profiles were still tight at their deepest reading");
    let pit = |depth: &str| {
        let bottom = format!("{{ depth = \"{depth}\", how = \"3 pits\", date = \"2025-09-30\" }}");
        plan_of(&map(), &LOOSEN.replace("\"profiles\"", &bottom)).unwrap()
    };
    assert_warns(&pit("15in"), "Z2: the bottom given, 15 in, is not that of its 6 profiles, 12 in");
    assert!(!has(&pit("13in").warnings, "the bottom given"));
    assert!(has(
        &pit("13in").workings,
        "Z2: set depth 14 in = bottom of the tight layer 13 in (3 pits, 2025-09-30)"
    ));
}

#[test]
fn zones_that_are_doubtful_warn_where_they_are_treated() {
    let mut doubtful = map();
    for zone in &mut doubtful.zones {
        (zone.few_probes, zone.probes, zone.not_reached) = (true, 4, 3);
        zone.class_confidence = Some(0.41);
    }
    let plan = plan_of(&doubtful, LOOSEN).unwrap();
    assert_warns(&plan, "few probes in Z2 (4): probe again before treating");
    assert_warns(
        &plan,
        "Z2: 3 of 4 probes never reached 200 psi; is there a tight layer to loosen?",
    );
    assert_warns(
        &plan,
        "Z2: it is treated for its class 3–6 in, in which its mean lies with a chance of 41 % only",
    );
    assert!(plan.parts.iter().all(|part| part.few_probes));
    let by_id = plan_of(&doubtful, &LOOSEN.replace("classes = [2]", "zones = [\"Z2\"]")).unwrap();
    assert!(!has(&by_id.warnings, "for its class"));
}

#[test]
fn what_the_tillage_machine_needs_to_know_is_asked_for() {
    let bare = plan_of(&map(), LOOSEN).unwrap();
    assert_warns(&bare, "no moisture limit for loosening: state copies of NRCS Code 324 differ");
    assert_warns(&bare, "no ticket for buried lines");
    assert!(has(&bare.workings, "no check strips"));
    assert!(has(&bare.stop_rules, "no moisture limit is on record"));
    assert!(has(&bare.stop_rules, "Do not start before buried lines are marked"));
    let field = "[field]\nhazards = [\"Gas line in the north\", \" \"]\nlong_term_no_till = true\n\
                 buried_lines = { ticket = \"T-1\", valid_until = \"2025-04-01\" }\n\
                 moisture = { above_pct = 30, below_pct = 50, source = \"state copy\" }\n";
    let plan = plan_of(&map(), &format!("{field}{LOOSEN}")).unwrap();
    assert_eq!(plan.hazards, ["Gas line in the north"]);
    assert!(has(&plan.stop_rules, "outside 30 to 50 % of field capacity (state copy)"));
    assert!(has(&plan.stop_rules, "Stop after 2025-04-01: ticket T-1"));
    assert_warns(&plan, "ticket T-1 for buried lines ended on 2025-04-01, before the visit");
    assert_warns(&plan, "long-term no-till");
    assert!(!has(&plan.warnings, "no moisture limit"));
    let dry = field.replace("above_pct = 30, below_pct = 50", "below_pct = 30");
    let plan = plan_of(&map(), &format!("{dry}{LOOSEN}")).unwrap();
    assert!(has(&plan.stop_rules, "at 30 % of field capacity or wetter (state copy)"));
}

#[test]
fn cautions_stand_in_every_plan() {
    let tillage = plan_of(&map(), LOOSEN).unwrap().cautions;
    let product = plan_of(&map(), &gypsum("rate = \"1 ton/ac\"")).unwrap().cautions;
    for all in [&tillage, &product] {
        for part in [
            "811",
            "three business days",
            "3 ft to 4 ft",
            "10 ft from overhead",
            "Dig a pit",
            "receiver",
        ] {
            assert!(has(all, part), "{part}");
        }
    }
    for part in ["moisture window", "erosion and wetland", "no-till"] {
        assert!(has(&tillage, part) && !has(&product, part), "{part}");
    }
    for part in ["licensed or certified adviser", "label"] {
        assert!(has(&product, part) && !has(&tillage, part), "{part}");
    }
    let si = plan_of(&map(), &format!("[plan]\nunits = \"si\"\n{LOOSEN}")).unwrap().cautions;
    assert!(has(&si, "3 m from overhead") && !has(&si, " ft"));
}

#[test]
fn the_machine_is_told_what_to_do_where_the_plan_says_nothing() {
    let mut two = map();
    two.zones[0].bottom =
        Some(BottomFound { median: Some(Depth::from_in(9.0)), profiles: 8, not_passed: 0 });
    let rates = LOOSEN.replace("[2]", "[1, 2]");
    let usual = plan_of(&two, &rates).unwrap();
    assert!(
        (depth_in(Some(usual.operations[0].signal_lost)) - 10.0).abs() < 1e-9,
        "the shallowest"
    );
    assert!(depth_in(Some(usual.operations[0].out_of_field)).abs() < 1e-9);
    assert!(has(
        &usual.workings,
        "set to 10 in (the shallowest set depth of the plan; [tillage] signal_lost); \
                                  outside the field to 0 in"
    ));
    let own = format!("[tillage]\nsignal_lost = \"0in\"\nout_of_field = \"2in\"\n{rates}");
    let own = plan_of(&two, &own).unwrap();
    assert!(depth_in(Some(own.operations[0].signal_lost)).abs() < 1e-9);
    assert!((depth_in(Some(own.operations[0].out_of_field)) - 2.0).abs() < 1e-9);
    assert!(has(
        &own.workings,
        "set to 0 in (as [tillage] says); outside the field to 2 in (as [tillage] says"
    ));
    assert!(has(
        &own.warnings,
        "[tillage] out_of_field: the tool runs 2 in deep outside the field"
    ));
    assert!(!has(&own.warnings, "[tillage] signal_lost"));
    let deep = plan_of(&two, &format!("[tillage]\nsignal_lost = \"20in\"\n{rates}")).unwrap();
    assert!(has(&deep.warnings, "the tool runs 20 in deep, deeper than in any zone ("));
    assert!(!has(&deep.warnings, "[tillage] out_of_field") && !has(&usual.warnings, "[tillage]"));
    let spread = plan_of(&map(), &gypsum("rate = \"1 ton/ac\"")).unwrap();
    let nothing = Dose::Mass(MassRate::from_kg_per_ha(0.0));
    assert_eq!(
        (spread.operations[0].out_of_field, spread.operations[0].signal_lost),
        (nothing, nothing)
    );
}

#[test]
fn several_operations_and_words_go_on_one_zone() {
    let other = "[[action]]\nzones = [\"Z2\"]\ndo = \"other\"\ntext = \"sow a cover crop\"\n";
    let lime = gypsum("rate = \"20 gal/ac\"").replace("\"gypsum\"", "\"Humic acid\"");
    let plan = plan_of(&map(), &format!("{other}{LOOSEN}{}{lime}", gypsum("rate = \"1 ton/ac\"")))
        .unwrap();
    let slugs: Vec<&str> =
        plan.operations.iter().map(|operation| operation.slug.as_str()).collect();
    assert_eq!(slugs, ["loosen", "gypsum", "humic_acid"]);
    assert_eq!(
        plan.parts[1].action,
        "loosen to 13 in; 1 ton/ac gypsum; 20 gal/ac Humic acid; sow a cover crop"
    );
    // 20 gal/ac are 187.079 L/ha, on 12 ha.
    assert!((plan.operations[2].total.unwrap() - 2_244.949).abs() < 1e-2);
}

#[test]
fn a_product_with_two_rates_is_one_operation() {
    let high = gypsum("rate = \"2 t/ha\"\nprice = \"40 EUR/t\"");
    let low = gypsum("rate = \"1 t/ha\"").replace("[1, 2]", "[3]");
    let plan = plan_of(&map(), &format!("{high}{low}")).unwrap();
    assert_eq!(plan.operations.len(), 1);
    assert!((plan.operations[0].total.unwrap() - 27_000.0).abs() < 1e-6);
    assert_eq!(plan.operations[0].cost, Some((960.0, "EUR".into())));
    assert_warns(&plan, "the cost of Gypsum leaves out [[action]] 2, which gives no price");
}

#[test]
fn ground_that_the_zones_leave_out_and_classes_in_other_units_are_told() {
    let with_gap = ZoneMap { unmapped_m2: Some(4_046.856_422_4), ..map() };
    let plan = plan_of(&with_gap, &format!("[plan]\nunits = \"us\"\n{LOOSEN}")).unwrap();
    assert_warns(&plan, "1 ac of the field has no value and is in no zone");
    assert!(!has(&plan.warnings, "see that its class numbers"), "{:?}", plan.warnings);
    let plan = plan_of(&map(), &format!("[plan]\nunits = \"si\"\n{LOOSEN}")).unwrap();
    assert_warns(&plan, "the zones are classed in in, the rates file asks for cm");
    assert!(!has(&plan.warnings, "in no zone"), "{:?}", plan.warnings);
}

/// Whose soil test a rate rests on must not get lost in a sum.
#[test]
fn one_product_on_two_soil_tests_is_refused() {
    let other =
        gypsum("rate = \"1 t/ha\"").replace("[1, 2]", "[3]").replace("Demo Lab", "Other Lab");
    let rates = format!("{}{other}", gypsum("rate = \"2 t/ha\""));
    let error = plan_of(&map(), &rates).unwrap_err().to_string();
    assert!(error.contains("its basis is not that of the other action with gypsum"), "{error}");
}

/// One rates file serves a season: a class that has no ground today is no mistake.
#[test]
fn a_class_without_ground_beside_one_with_ground_is_told_and_no_error() {
    let plan = plan_of(&map(), &LOOSEN.replace("[2]", "[2, 7]")).unwrap();
    assert!(has(&plan.workings, "no ground of class 7 in zones.geojson"), "{:?}", plan.workings);
    let error = plan_of(&map(), &LOOSEN.replace("[2]", "[2, 9]")).unwrap_err().to_string();
    assert!(error.contains("no zone of class 9"), "{error}");
}

#[test]
fn the_same_input_gives_the_same_plan() {
    let rates = format!("{LOOSEN}{}", gypsum("rate = \"1 ton/ac\""));
    assert_eq!(plan_of(&map(), &rates).unwrap(), plan_of(&map(), &rates).unwrap());
    assert_eq!(PlanSettings::default().check_strips, None);
}
