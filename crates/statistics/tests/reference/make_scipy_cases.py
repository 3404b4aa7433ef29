"""Makes scipy_cases.json: small invented samples, and what SciPy, statsmodels and lifelines make of them.

    pip install scipy statsmodels lifelines
    python make_scipy_cases.py > scipy_cases.json
"""

import json
import platform
import warnings

import lifelines
import numpy as np
import pandas as pd
import scipy
import statsmodels
from lifelines.statistics import multivariate_logrank_test
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.stats.contingency_tables import SquareTable
from statsmodels.stats.inter_rater import cohens_kappa

warnings.simplefilter("ignore")
rng = np.random.default_rng(19081963)


def distributions():
    t = [{"t": x, "df": df, "both": 2 * stats.t.sf(x, df)} for x in (0.01, 1.0, 4.5, 30.0) for df in (1, 2.5, 9, 60, 1999)]
    t_quantile = [{"share": s, "df": df, "value": stats.t.ppf(s, df)} for s in (0.6, 0.975, 0.9995) for df in (1, 3.7, 47, 1999)]
    chi = [{"value": x, "df": df, "above": stats.chi2.sf(x, df)} for x in (0.1, 2.0, 15.0, 90.0) for df in (1, 3, 6, 40)]
    f = [{"value": x, "df1": a, "df2": b, "above": stats.f.sf(x, a, b)} for x in (0.2, 1.0, 5.0, 60.0) for a in (1, 4) for b in (3, 44.46, 500)]
    normal = [{"share": s, "value": stats.norm.ppf(s)} for s in (1e-200, 1e-9, 0.025, 0.4, 0.9, 0.9999)]
    return {"t": t, "t_quantile": t_quantile, "chi_squared": chi, "f": f, "normal_quantile": normal}


def signed_rank(differences):
    d = np.array(differences)
    out = {"differences": differences}
    for name, how in (("dropped", "wilcox"), ("pratt", "pratt"), ("split", "zsplit")):
        plain = stats.wilcoxon(d, zero_method=how, method="asymptotic", alternative="two-sided")
        corrected = stats.wilcoxon(d, zero_method=how, method="asymptotic", correction=True)
        # Of the sum of positive ranks: with an alternative SciPy gives that one.
        positive = stats.wilcoxon(d, zero_method=how, method="asymptotic", alternative="greater").statistic
        out[name] = {"positive": positive, "p": plain.pvalue, "p_corrected": corrected.pvalue}
    untied = len(set(np.abs(d))) == len(d) and not np.any(d == 0)
    out["p_exact"] = stats.wilcoxon(d, method="exact").pvalue if untied else None
    up, down = int((d > 0).sum()), int((d < 0).sum())
    out["sign_p"] = stats.binomtest(up, up + down).pvalue
    test = stats.ttest_1samp(d, 0)
    interval = test.confidence_interval(0.9)
    out["t"] = {"t": test.statistic, "p": test.pvalue, "interval_90": [interval.low, interval.high]}
    return out


def two_samples(a, b):
    welch, pooled = stats.ttest_ind(b, a, equal_var=False), stats.ttest_ind(b, a)
    interval = welch.confidence_interval(0.95)
    plain = stats.mannwhitneyu(b, a, use_continuity=False, method="asymptotic")
    corrected = stats.mannwhitneyu(b, a, method="asymptotic")
    untied = len(set(a) | set(b)) == len(a) + len(b)
    return {
        "a": a,
        "b": b,
        "welch": {"t": welch.statistic, "df": welch.df, "p": welch.pvalue, "interval_95": [interval.low, interval.high]},
        "pooled": {"t": pooled.statistic, "p": pooled.pvalue},
        "u": plain.statistic,
        "rank_p": plain.pvalue,
        "rank_p_corrected": corrected.pvalue,
        "rank_p_exact": stats.mannwhitneyu(b, a, method="exact").pvalue if untied else None,
    }


def log_rank(groups, decimals):
    values = [np.round(rng.weibull(1.4, n) * scale, decimals) for n, scale in groups]
    ended = [rng.random(n) < 0.7 for n, _ in groups]
    of = np.repeat(np.arange(len(groups)), [n for n, _ in groups])
    test = multivariate_logrank_test(np.concatenate(values), of, np.concatenate(ended))
    lists = [{"values": v.tolist(), "ended": e.tolist()} for v, e in zip(values, ended)]
    return {"groups": lists, "chi_squared": test.test_statistic, "df": len(groups) - 1, "p": test.p_value}


def covariance(blocks, treatments):
    block = np.repeat(np.arange(blocks), treatments)
    treatment = np.tile(np.arange(treatments), blocks)
    before = np.round(rng.normal(20, 4, len(block)), 2)
    after = np.round(0.6 * before + block - 1.5 * treatment + rng.normal(0, 1.5, len(block)), 2)
    # Two plots are missing, so that the order of terms matters.
    keep = np.ones(len(block), bool)
    keep[[1, 6]] = False
    frame = pd.DataFrame({"block": block, "treatment": treatment, "before": before, "after": after})[keep]
    # Nested models, for statsmodels puts factors before numbers in a table of its own.
    terms = ["1", "C(block)", "before", "C(treatment)"]
    fits = [ols("after ~ " + " + ".join(terms[: k + 1]), frame).fit() for k in range(4)]
    steps = [(fits[k].ssr - fits[k + 1].ssr, fits[k].df_resid - fits[k + 1].df_resid) for k in range(3)]
    full = fits[-1]
    f = [squares / df / full.mse_resid for squares, df in steps]
    return {
        **{name: frame[name].tolist() for name in frame},
        "df": [df for _, df in steps] + [full.df_resid],
        "sum_of_squares": [squares for squares, _ in steps] + [full.ssr],
        "f": f,
        "p": [stats.f.sf(value, df, full.df_resid) for value, (_, df) in zip(f, steps)],
        "slope_of_before": full.params["before"],
        "error_of_slope": full.bse["before"],
    }


def classes(size):
    table = rng.poisson(4, (size, size)) + 9 * np.eye(size, dtype=int)
    plain = cohens_kappa(table)
    linear = cohens_kappa(table, wt="linear", return_results=False)
    quadratic = cohens_kappa(table, wt="quadratic", return_results=False)
    bowker = SquareTable(table, shift_zeros=False).symmetry()
    return {
        "rows": table.tolist(),
        "kappa": plain.kappa,
        "error": plain.std_kappa,
        "error_null": plain.std_kappa0,
        "kappa_linear": linear,
        "kappa_quadratic": quadratic,
        "bowker": {"chi_squared": bowker.statistic, "df": int(bowker.df), "p": bowker.pvalue},
    }


def pairs(a, b):
    return {
        "a": a,
        "b": b,
        "pearson": stats.pearsonr(a, b)[0],
        "spearman": stats.spearmanr(a, b)[0],
        "kendall": stats.kendalltau(a, b)[0],
    }


def modified_t(n, classes):
    """Dutilleul's test with whole matrices, in NumPy."""
    places = np.round(rng.uniform(0, 400, (n, 2)), 1)
    trend = places @ [0.01, -0.02]
    a, b = (np.round(trend + rng.normal(0, 2, n), 2) for _ in range(2))
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    upper = np.cumsum(np.full(classes, apart.max() / classes))
    of_class = np.minimum(np.searchsorted(upper, apart), classes - 1)
    np.fill_diagonal(of_class, classes)
    centre = np.eye(n) - 1 / n

    def correlations(values):
        z = values - values.mean()
        products = np.outer(z, z) / np.mean(z * z)
        return [products[of_class == k].mean() for k in range(classes)]

    moran = [correlations(values) for values in (a, b)]
    matrices = [centre @ np.array([*of, 1.0])[of_class] for of in moran]
    size = 1 + np.trace(matrices[0]) * np.trace(matrices[1]) / np.trace(matrices[0] @ matrices[1])
    r = np.corrcoef(a, b)[0, 1]
    f = (size - 2) * r * r / (1 - r * r)
    return {
        "places": places.tolist(),
        "a": a.tolist(),
        "b": b.tolist(),
        "correlation": r,
        "effective_size": size,
        "df": size - 2,
        "f": f,
        "p": stats.f.sf(f, 1, size - 2),
        "up_to": upper.tolist(),
        "pairs": [int((of_class == k).sum()) // 2 for k in range(classes)],
        "morans_i": moran,
    }


def normal(n, mean, sd, decimals):
    return np.round(rng.normal(mean, sd, n), decimals).tolist()


cases = {
    "versions": {
        "python": platform.python_version(),
        "scipy": scipy.__version__,
        "statsmodels": statsmodels.__version__,
        "lifelines": lifelines.__version__,
    },
    "distributions": distributions(),
    "signed_rank": [
        signed_rank(normal(12, 0.7, 2, 3)),
        signed_rank(normal(50, -0.3, 1, 6)),
        signed_rank(normal(30, 0.4, 1.2, 0)),
        signed_rank(normal(300, -0.2, 2, 0)),
        signed_rank(normal(2000, 0.05, 2, 1)),
    ],
    "two_samples": [
        two_samples(normal(7, 3, 1, 3), normal(9, 4, 2, 3)),
        two_samples(normal(48, 3, 1, 5), normal(50, 3.3, 1, 5)),
        two_samples(normal(40, 10, 4, 0), normal(25, 12, 2, 0)),
    ],
    "log_rank": [
        log_rank([(15, 10.0), (20, 14.0)], 3),
        log_rank([(40, 6.0), (35, 6.5), (30, 9.0)], 0),
        log_rank([(60, 18.0), (50, 12.0), (40, 12.0), (30, 15.0)], 0),
    ],
    "covariance": [covariance(8, 2), covariance(6, 5)],
    "classes": [classes(3), classes(5)],
    "modified_t": [modified_t(60, 13), modified_t(45, 6)],
    "pairs": [pairs(normal(40, 0, 3, 0), normal(40, 5, 2, 0)), pairs(normal(25, 0, 1, 4), normal(25, 0, 1, 4))],
}
print(json.dumps(cases, indent=1, default=float))
