//! What each set of a file of results is held against.

use serde_json::Value;
use statistics::SpatialWeights;

use super::check::Check;
use super::files::{Files, Table};
use super::{classes, numbers, paired, spatial, trial};

/// Everything that can be held against the set of that name in a file of that name; `None` where the
/// name is none of a set that this crate has results for.
pub fn checks_of(file: &str, set: &str, expected: &Value, files: &Files) -> Option<Vec<Check>> {
    let table = |name: &str| files.table(name);
    Some(match (file, set) {
        ("season_R", "eelworm") => eelworm_in_r(expected, &table("eelworm_fumigation.csv")),
        ("season_R", "camg_0_20_vs_20_40") => camg_in_r(expected, &table("camg_two_depths.csv")),
        ("season_R", "smith_corn") => corn(expected, &table("smith_corn_3years.csv")),
        ("season_R", "columbus_old") => old_columbus(expected),
        ("season_R" | "season_python", "published_murray") => {
            murray(expected, &table("murray_smelter.csv"))
        }
        ("season_python", "eelworm") => eelworm(expected, &table("eelworm_fumigation.csv")),
        ("season_python", "camg_0_20_vs_20_40") => camg(expected, &table("camg_two_depths.csv")),
        ("season_python", "kayad") => kayad(expected),
        ("season_python", "libpysal_columbus") => {
            columbus(expected, &table("columbus.csv"), SpatialWeights::row_standardised)
        }
        ("season_python", "esda_columbus") => {
            let table = table("columbus.csv");
            let mut checks = columbus(&expected["binary"], &table, |weights| weights);
            let standardised = &expected["row_standardised"];
            checks.extend(columbus(standardised, &table, SpatialWeights::row_standardised));
            checks
        }
        ("season_python", "kappa_worked") => {
            let mut check = Check::new("kappa");
            let kappa = classes::given(&expected["table"]).agreement().unwrap().kappa;
            check.compare_all(expected, &[("kappa", kappa)]);
            vec![check]
        }
        ("demo_field_a", "paired_apr14_aug24") => demo(expected, &table("demo_field_a_pairs.csv")),
        ("demo_field_a", "april_strip_vs_untreated_off_lane") => {
            vec![trial::strip(expected, &table("demo_field_a_pairs.csv"))]
        }
        _ => return None,
    })
}

fn log_of(values: &[f64]) -> Vec<f64> {
    values.iter().map(|value| value.ln()).collect()
}

fn eelworm_in_r(expected: &Value, table: &Table) -> Vec<Check> {
    let [first, second] = ["initial", "final"].map(|name| table.numbers(name));
    let mut checks = paired::of_r(&expected["paired_counts"], &first, &second);
    checks.extend(paired::of_r(&expected["paired_log"], &log_of(&first), &log_of(&second)));
    checks.extend(trial::eelworm(expected, table));
    checks
}

fn eelworm(expected: &Value, table: &Table) -> Vec<Check> {
    let [first, second] = ["initial", "final"].map(|name| table.numbers(name));
    let mut checks = paired::of_python(&expected["paired_counts"], &first, &second);
    checks.extend(paired::of_python(&expected["paired_log"], &log_of(&first), &log_of(&second)));
    checks
}

fn camg_in_r(expected: &Value, table: &Table) -> Vec<Check> {
    let [first, second] = ["ca020", "ca2040"].map(|name| table.numbers(name));
    let places = table.places("east", "north");
    let differences = paired::differences(&first, &second);
    let mut checks = paired::of_r(&expected["paired"], &first, &second);
    for name in ["modified_t_13", "modified_t_sturges"] {
        checks.push(spatial::modified_t(&expected[name], &first, &second, &places));
    }
    checks.push(sturges(&expected["modified_t_sturges"], first.len()));
    checks.extend(spatial::of_places(&expected["moran_of_difference"], &differences, &places));
    checks.extend(spatial::of_places(&expected["moran_ca020"], &first, &places));
    checks
}

fn sturges(expected: &Value, n: usize) -> Check {
    let mut check = Check::new("number of classes");
    check.compare_all(expected, &[("nclass", statistics::sturges_classes(n) as f64)]);
    check
}

fn camg(expected: &Value, table: &Table) -> Vec<Check> {
    let [first, second] = ["ca020", "ca2040"].map(|name| table.numbers(name));
    let places = table.places("east", "north");
    let differences = paired::differences(&first, &second);
    let mut checks = paired::of_python(&expected["paired"], &first, &second);
    for name in ["dutilleul_13", "dutilleul_sturges"] {
        checks.push(spatial::modified_t(&expected[name], &first, &second, &places));
    }
    checks.push(spatial::nearest(&expected["moran_knn8_difference"], 8, &differences, &places));
    for name in ["mean_difference", "mean_difference_no_nugget"] {
        checks.push(spatial::mean(&expected[name], &differences, &places));
    }
    let breaks = numbers(&expected["classes"]["breaks"]);
    let classes_of = classes::table_of(&first, &second, [&breaks, &breaks]);
    checks.push(classes::checks(&expected["classes"], &classes_of));
    checks
}

/// One line for each plot and year.
fn corn(expected: &Value, table: &Table) -> Vec<Check> {
    let (years, yields) = (table.texts("year"), table.numbers("yield"));
    let places = table.places("col", "row");
    let of = |year: &str| -> Vec<usize> {
        (0..years.len()).filter(|&line| years[line] == year).collect()
    };
    let plots: Vec<[f64; 2]> = of("1895").iter().map(|&line| places[line]).collect();
    let [first, second, third] = ["1895", "1896", "1897"].map(|year| -> Vec<f64> {
        let lines = of(year);
        let line_of = |plot| lines.iter().find(|&&line| places[line] == plot).unwrap();
        plots.iter().map(|&plot| yields[*line_of(plot)]).collect()
    });
    let differences = paired::differences(&first, &second);
    let mut checks = paired::of_r(&expected["p12"], &first, &second);
    checks.extend(paired::of_r(&expected["p23"], &second, &third));
    checks.push(spatial::modified_t(&expected["modified_t_12"], &first, &second, &plots));
    checks.extend(spatial::of_places(&expected["moran_diff_12"], &differences, &plots));
    checks
}

fn murray(expected: &Value, table: &Table) -> Vec<Check> {
    let [arsenic, lead] = ["As", "Pb"].map(|name| table.numbers(name));
    vec![spatial::modified_t(expected, &arsenic, &lead, &table.places("xpos", "ypos"))]
}

/// Values and neighbours stand in the file of results itself.
fn old_columbus(expected: &Value) -> Vec<Check> {
    let lists = expected["neighbours"].as_array().unwrap().iter();
    let links: Vec<Vec<usize>> =
        lists.map(|list| numbers(list).iter().map(|&number| number as usize).collect()).collect();
    let weights = SpatialWeights::of_links(&links).unwrap();
    let mut check = Check::new("I and C, neighbours as given");
    let crime = numbers(&expected["data"]["CRIME"]);
    spatial::autocorrelation(&mut check, &expected["binary_CRIME"], &crime, &weights);
    let weights = weights.row_standardised();
    for name in ["CRIME", "HOVAL", "INC"] {
        let values = numbers(&expected["data"][name]);
        spatial::autocorrelation(&mut check, &expected[name], &values, &weights);
    }
    vec![check]
}

fn columbus(
    expected: &Value,
    table: &Table,
    weights: fn(SpatialWeights) -> SpatialWeights,
) -> Vec<Check> {
    let list = |text: &str| text.split(' ').map(|number| number.parse().unwrap()).collect();
    let links: Vec<Vec<usize>> = table.texts("neighbours").into_iter().map(list).collect();
    let weights = weights(SpatialWeights::of_links(&links).unwrap());
    let mut check = Check::new("I and C, neighbours as given");
    for (name, column) in [("CRIME", "crime"), ("HOVAL", "house_value"), ("INC", "income")] {
        spatial::autocorrelation(&mut check, &expected[name], &table.numbers(column), &weights);
    }
    vec![check]
}

/// Means of cells of 20 m stand in the file for one pair of harvests, tables of classes for all.
fn kayad(expected: &Value) -> Vec<Check> {
    let mut checks = Vec::new();
    for pair in expected["pairs"].as_object().unwrap().values() {
        let agreement = &pair["tercile_agreement"];
        let Some(cells) = pair["cells"].as_array() else {
            let table = classes::given(&agreement["counts_rows_first_cols_second"]);
            checks.push(classes::checks(agreement, &table));
            continue;
        };
        let column = |k: usize| cells.iter().map(|cell| numbers(cell)[k]).collect::<Vec<f64>>();
        let [columns, rows, first, second] = [0, 1, 2, 3].map(column);
        let places: Vec<[f64; 2]> =
            columns.iter().zip(&rows).map(|(column, row)| [column * 20.0, row * 20.0]).collect();
        let differences = paired::differences(&first, &second);
        checks.extend(paired::of_python(&pair["paired"], &first, &second));
        checks.push(spatial::modified_t(&pair["dutilleul_13"], &first, &second, &places));
        checks.push(spatial::nearest(&pair["moran_knn8_difference"], 8, &differences, &places));
        let breaks =
            ["first", "second"].map(|when| numbers(&pair[format!("tercile_breaks_{when}")]));
        let table = classes::table_of(&first, &second, [&breaks[0], &breaks[1]]);
        checks.push(classes::checks(agreement, &table));
    }
    checks
}

fn demo(expected: &Value, table: &Table) -> Vec<Check> {
    let [first, second] = ["april_in", "august_in"].map(|name| table.numbers(name));
    let differences = paired::differences(&first, &second);
    let mut ranks = Check::new("signed ranks");
    paired::signed_ranks(&mut ranks, &expected["wilcoxon"], &differences);
    let mut signs = Check::new("signs");
    let names = ["up", "down", "zero", "p"];
    paired::signs_of(&mut signs, &expected["sign_test"], names, &differences);
    let breaks = numbers(&expected["class_breaks"]);
    let found = classes::table_of(&first, &second, [&breaks, &breaks]);
    let counts = classes::given(&expected["transition_counts_rows_april_cols_august"]);
    let mut classes = Check::new("classes first and later");
    for first in 0..counts.classes() {
        for later in 0..counts.classes() {
            classes.compare("counts", found.amount(first, later), counts.amount(first, later));
        }
    }
    vec![paired::means(expected, &differences), ranks, signs, classes]
}
