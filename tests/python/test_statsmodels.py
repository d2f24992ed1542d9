"""Intervals, tests and sample sizes against statsmodels, a second opinion beside scipy.

Start at `test_the_pattern_agrees_with_statsmodels`. Cohen, Statistical Power Analysis for the
Behavioral Sciences, 2nd ed. 1988, is the method behind the sample sizes.
"""

import json
import math
import subprocess

import numpy as np
import pytest
import reference_pattern as reference
from conftest import ROOT
from scipy import stats
from statsmodels.stats.multivariate import test_mvmean as hotelling
from statsmodels.stats.power import TTestIndPower
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.weightstats import DescrStatsW

hotelling.__test__ = False  # statsmodels' own name begins with "test"


@pytest.mark.parametrize("seed, n", [(1, 4), (2, 12), (3, 60), (4, 400)])
def test_the_pattern_agrees_with_statsmodels(chalkface, tmp_path, seed, n):
    marks = reference.make(seed, n, np.array([4, -3]), (10, 7), 0.3, 0.0)
    path = tmp_path / "marks.csv"
    lines = ["toe_mm,high_mm", *(f"{x!r},{y!r}" for x, y, _ in marks.tolist())]
    path.write_text("\n".join(lines) + "\n")
    found = chalkface.json("pattern", path)
    xy = marks[:, :2]
    described = DescrStatsW(xy, ddof=1)
    assert np.allclose(found["covariance_mm2"], described.cov, rtol=1e-9)
    # Student's t for the mean of each axis.
    for axis, name in enumerate(["bias_toe_mm", "bias_high_mm"]):
        low, high = DescrStatsW(xy[:, axis]).tconfint_mean(alpha=0.05)
        offset = reference.TARGET[axis]
        assert found["intervals"][name] == pytest.approx({"low": low - offset, "high": high - offset}, rel=1e-7)
    # Hotelling's T-squared of the target point.
    test = hotelling(xy, mean_null=reference.TARGET)
    assert found["intervals"]["middle"]["p_value"] == pytest.approx(test.pvalue, rel=1e-6, abs=1e-12)
    # Clopper and Pearson through the beta quantiles.
    centre = found["centre_rate"]
    low, high = proportion_confint(round(centre["estimate"] * n), n, alpha=0.05, method="beta")
    assert centre["low"] == pytest.approx(np.nan_to_num(low), rel=1e-8, abs=1e-12)
    assert centre["high"] == pytest.approx(high, rel=1e-8)


@pytest.fixture(scope="session")
def sizes():
    words = ["cargo", "run", "--quiet", "-p", "chalkface-tests", "--example", "print_sizes"]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def test_sample_sizes_of_a_shift_are_those_of_statsmodels_to_the_integer(sizes):
    power = TTestIndPower()
    for shift, balls in sizes["shift"]:
        assert balls == math.ceil(power.solve_power(effect_size=shift, alpha=0.05, power=0.8)), shift
    # Published with the method: 64 a group for d = 0.5, 26 for 0.8 (Cohen 1992, table 2;
    # from memory).
    published = dict(map(tuple, sizes["shift"]))
    assert (published[0.5], published[0.8]) == (64, 26)


def test_sample_sizes_of_a_ratio_are_those_of_the_f_test(sizes):
    def power(n, ratio):
        f = stats.f(n - 1, n - 1)
        return f.sf(f.ppf(0.975) / ratio**2) + f.cdf(f.ppf(0.025) / ratio**2)

    for ratio, balls in sizes["ratio"]:
        assert balls == next(n for n in range(2, 5000) if power(n, ratio) >= 0.8), ratio
