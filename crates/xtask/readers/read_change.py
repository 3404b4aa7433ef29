"""Opens a comparison of two visits with readers that are not ours and works it out again.

    read_change.py COMPARED EARLIER LATER

COMPARED is the folder that `compare` wrote, EARLIER and LATER those that `map` wrote of the two visits. GDAL
reads through rasterio; SciPy makes the tests. Exit code 1 when a check fails.
"""

import csv
import json
import sys
from pathlib import Path

import numpy as np
import rasterio
from scipy import stats

from read_maps import Report

CM_PER_IN = 2.54


def main(compared, earlier, later):
    report = Report()
    report.place = compared
    compared, earlier, later = Path(compared), Path(earlier), Path(later)
    summary = json.loads((compared / "compare.json").read_text())
    check_rasters(report, compared, earlier, later, summary)
    with open(compared / "pairs.csv", newline="", encoding="utf-8") as file:
        check_pairs(report, list(csv.DictReader(file)), summary)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def band(path):
    with rasterio.open(path) as raster:
        return raster.read(1, masked=True), raster.transform, raster.crs, raster.units[0]


def check_rasters(report, compared, earlier, later, summary):
    (first, *place), (second, *_) = band(earlier / "depth.tif"), band(later / "depth.tif")
    change, *change_place = band(compared / "change.tif")
    half, *half_place = band(compared / "change_uncertainty.tif")
    report.check("all lie on one grid", place[:2] == change_place[:2] == half_place[:2])
    report.check("centimetres", change_place[2] == half_place[2] == "cm")
    report.check("no change where a visit has no depth", np.array_equal(change.mask, first.mask | second.mask))
    apart = np.abs(change - (second - first)).max()
    report.check(f"later minus earlier, {apart:.1e} cm apart", apart < 1e-4)
    report.check("an uncertainty is not below 0", half.min() > 0)
    thinner = (np.abs(change) > half) & (change < 0)
    beyond = thinner.filled(False).sum() / change.count()
    said = summary["change"]["thinner_beyond_uncertainty"]["ha"]
    mapped = summary["field"]["area"]["ha"] - summary["change"]["unmapped"]["ha"]
    # Cells that the boundary cuts count whole here.
    report.check("thinner ground is that of the cells", abs(beyond - said / mapped) < 0.01)
    mean_in = change.mean() / CM_PER_IN
    report.check("its mean is that of the cells", abs(mean_in - summary["change"]["mean_in"]) < 0.02)


def check_pairs(report, rows, summary):
    depth = lambda name: np.array([float(row[f"{name}_depth_in"]) for row in rows])
    ended = lambda name: np.array([row[f"{name}_at_least"] == "false" for row in rows])
    earlier, later = depth("earlier"), depth("later")
    change = later - earlier
    said = summary["paired_change"]
    near = lambda a, b: abs(a - b) <= 6e-4 * max(1.0, abs(b)) if abs(b) > 1e-3 else abs(a / b - 1) < 2e-3
    report.check("changes are later minus earlier", np.allclose(change, [float(row["change_in"]) for row in rows]))
    report.check("as many pairs", len(rows) == summary["pairs"]["pairs"])
    exact = sum(row["change_bound"] == "exact" for row in rows)
    report.check("exact where both were reached", exact == np.count_nonzero(ended("earlier") & ended("later")))
    t = stats.ttest_rel(later, earlier)
    report.check("paired t", near(said["paired_t"]["t"], t.statistic) and near(said["paired_t"]["p"], t.pvalue))
    interval = t.confidence_interval(summary["confidence"])
    report.check("its interval", np.allclose(said["paired_t"]["interval_in"], interval, atol=1e-4))
    ranks = stats.wilcoxon(change, zero_method="pratt", method="approx", correction=False)
    report.check("signed ranks", near(said["signed_rank"]["p"], ranks.pvalue))
    signs = stats.binomtest(int((change > 0).sum()), int((change != 0).sum()))
    report.check("signs", near(said["sign_test"]["p"], signs.pvalue))
    lifetimes = [stats.CensoredData(uncensored=d[e], right=d[~e]) for d, e in
                 ((earlier, ended("earlier")), (later, ended("later")))]
    log_rank = stats.logrank(*lifetimes)
    report.check("log-rank", near(said["as_groups"]["log_rank"]["chi_squared"], log_rank.statistic**2))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
