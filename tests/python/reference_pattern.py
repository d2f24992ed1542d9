"""Reference values for the pattern of strike marks, by numpy and scipy alone.

Writes reference_pattern.json: invented sets of marks and every figure of their
pattern. The Rust tests read that frozen file; test_pattern.py makes new sets.

    python tests/python/reference_pattern.py > tests/python/reference_pattern.json
"""

import json

import numpy as np
import scipy
from scipy import optimize, stats

TARGET = np.array([0.0, 6.0])
RADIUS = 12.0
LEVEL = 0.95


def make(seed, n, bias, sd, rho, sigma):
    """n invented marks in whole micrometres, so that text keeps them exactly."""
    rng = np.random.default_rng(seed)
    cov = [[sd[0] ** 2, rho * sd[0] * sd[1]], [rho * sd[0] * sd[1], sd[1] ** 2]]
    sigmas = rng.uniform(0.5, 1.5, n) * sigma
    marks = rng.multivariate_normal(TARGET + bias, cov, n)
    marks = marks + rng.standard_normal((n, 2)) * sigmas[:, None]
    return np.round(np.column_stack([marks, sigmas]), 3)


def ellipse(centre, cov, q):
    values, vectors = np.linalg.eigh(cov)
    values = np.where(values < 1e-12 * values[1], 0, values)
    angle = np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1]))
    angle = (angle + 90) % 180 - 90
    return {
        "centre_toe_mm": centre[0],
        "centre_high_mm": centre[1],
        "semi_major_mm": float(np.sqrt(q * values[1])),
        "semi_minor_mm": float(np.sqrt(q * values[0])),
        "angle_deg": float(90.0 if np.isclose(angle, -90) else angle),
    }


def pattern(marks):
    """Every figure for at least three marks."""
    xy, sigma = marks[:, :2], marks[:, 2]
    n = len(xy)
    middle = xy.mean(axis=0)
    bias = middle - TARGET
    cov = np.cov(xy, rowvar=False)
    error = float(np.mean(sigma**2))
    values, vectors = np.linalg.eigh(cov)
    scatter = vectors @ np.diag(np.clip(values - error, 0, None)) @ vectors.T
    floored = vectors @ np.diag(np.maximum(values, error)) @ vectors.T
    miss2 = ((xy - TARGET) ** 2).sum(axis=1)
    b2 = bias @ bias
    whole = b2 + (n - 1) / n * np.trace(scatter)
    inside = int((miss2 <= RADIUS**2).sum())
    exact = stats.binomtest(inside, n).proportion_ci(LEVEL, method="exact")

    half = stats.t.ppf(0.975, n - 1) * np.sqrt(np.diag(floored) / n)
    chi = stats.chi2.ppf([0.975, 0.025], n - 1)
    sds = [np.sqrt(np.clip((n - 1) * cov[i, i] / chi - error, 0, None)) for i in (0, 1)]
    t2 = n * bias @ np.linalg.solve(floored, bias)
    f = t2 * (n - 2) / (2 * (n - 1))
    q = 2 * (n - 1) / (n * (n - 2)) * stats.f.ppf(LEVEL, 2, n - 2)
    return {
        "count": n,
        "bias_toe_mm": bias[0],
        "bias_high_mm": bias[1],
        "covariance_mm2": cov.tolist(),
        "scatter_mm2": scatter.tolist(),
        "rms_miss_mm": float(np.sqrt(miss2.mean())),
        "bias_share": b2 / whole,
        "scatter_share": 1 - b2 / whole,
        "centre_rate": {"estimate": inside / n, "low": exact.low, "high": exact.high},
        "ellipse_1sigma": ellipse(middle, scatter, 1.0),
        "ellipse95": ellipse(middle, scatter, stats.chi2.ppf(LEVEL, 2)),
        "intervals": {
            "bias_toe_mm": interval(bias[0] - half[0], bias[0] + half[0]),
            "bias_high_mm": interval(bias[1] - half[1], bias[1] + half[1]),
            "middle": {
                "ellipse": ellipse(middle, floored, q),
                "p_value": float(stats.f.sf(f, 2, n - 2)),
            },
            "scatter_toe_mm": interval(*sds[0]),
            "scatter_high_mm": interval(*sds[1]),
            "rms_miss_mm": rms_interval(n, bias, cov, miss2.mean()),
            "bias_share": share_interval(n, bias, cov, error, b2 / whole),
        },
    }


def interval(low, high):
    return {"low": float(low), "high": float(high)}


def rms_interval(n, bias, cov, m):
    """Satterthwaite, with the part from the bias widened as t is to z."""
    from_bias = 4 * bias @ cov @ bias
    variance = 2 * np.trace(cov @ cov) + from_bias
    t = stats.t.ppf(0.975, n - 1) / stats.norm.ppf(0.975)
    dof = 2 * n * m * m / variance / (1 + from_bias / variance * (t * t - 1))
    return interval(*np.sqrt(m * dof / stats.chi2.ppf([0.975, 0.025], dof)))


def share_interval(n, bias, cov, error, estimate):
    """Dempster's test with Patnaik's moments, inverted by a root finder."""
    v, tr, sq = n - 1, np.trace(cov), np.trace(cov @ cov)
    of_square = (sq - tr * tr / v) / (1 + 1 / v - 2 / v**2)
    of_trace = tr * tr - 2 * of_square / v
    q = float(np.clip(of_square / of_trace, 0.5, 1)) if of_trace > 0 else 1.0
    b2 = bias @ bias
    along = (bias @ cov @ bias) / b2 / tr

    def below(share):
        odds = share / (1 - share)
        grown = 1 + n * odds
        dof = 2 * grown**2 / (2 * q + 4 * n * odds * along)
        return stats.f.cdf(n * b2 / tr / grown, dof, v / q)

    def end(p):
        if below(0.0) <= p:
            return 0.0
        return optimize.brentq(lambda s: below(s) - p, 0, 1 - 1e-12, xtol=1e-15)

    def without_error(share, p):
        raw = tr * (v / q) / stats.chi2.ppf(p, v / q)
        kept = max((raw - 2 * error) / raw, 0)
        return share if share <= 0 or error <= 0 else share / (share + (1 - share) * kept)

    low, high = without_error(end(0.975), 0.025), without_error(end(0.025), 0.975)
    return interval(min(low, estimate), max(high, estimate))


CASES = {
    "tight and high of the target": dict(seed=11, n=24, bias=[1, 9], sd=(4, 3), rho=0.2, sigma=0.0),
    "wide about the target": dict(seed=12, n=40, bias=[0, 0], sd=(13, 8), rho=-0.5, sigma=1.5),
    "heel and scattered": dict(seed=13, n=12, bias=[-14, -2], sd=(11, 7), rho=0.4, sigma=2.0),
    "three marks": dict(seed=14, n=3, bias=[5, -4], sd=(6, 6), rho=0.0, sigma=0.5),
    "four marks": dict(seed=15, n=4, bias=[-6, 3], sd=(9, 4), rho=0.3, sigma=0.0),
    "reading error larger than the small axis": dict(
        seed=16, n=15, bias=[3, -6], sd=(9, 0.5), rho=0.0, sigma=4.0
    ),
    "five hundred": dict(seed=17, n=500, bias=[3, -3], sd=(10, 7), rho=0.15, sigma=1.0),
}


def main():
    cases = []
    for name, case in CASES.items():
        marks = make(case["seed"], case["n"], np.array(case["bias"]), case["sd"], case["rho"], case["sigma"])
        cases.append({"name": name, "marks": marks.tolist(), "pattern": pattern(marks)})
    made_with = {"numpy": np.__version__, "scipy": scipy.__version__}
    print(json.dumps({"made_with": made_with, "cases": cases}, indent=1, default=float))


if __name__ == "__main__":
    main()
