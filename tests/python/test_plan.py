"""Swings for speed against scipy, through the program.

The two-sided ratio's interval by `scipy.stats.t`; the trend's judging by integrating
noncentral t over a normal prior (`scipy.stats.nct`), which is what its closed form has
to be. Start at `test_the_trend_is_the_integral_over_noncentral_t`.
"""

import numpy as np
import pytest
from scipy import integrate, optimize, stats

FIRST = 4
STEP = 3


def swings(chalkface, tmp_path, seed, days, gain):
    """Speeds in m/s by day and side, and what the program says of them."""
    words = ["--book", tmp_path / "ina.book"]
    chalkface.json("book", "new", "--role", "student", "--name", "Ina", *words)
    chalkface.json("student", "add", "Ina", "--hand", "right", *words)
    rng = np.random.default_rng(seed)
    speeds = []
    for day in range(days):
        middle = 42 + 0.4 * rng.standard_normal() + gain * (day >= FIRST)
        playing = np.round(middle + 0.7 * rng.standard_normal(5), 3)
        other = np.round(0.88 * middle + 0.9 * rng.standard_normal(4), 3)
        speeds.append((playing, other))
        said = [f"{speed}m/s" for speed in playing]
        there = [f"{speed}m/s" for speed in other]
        on = f"2026-04-{day + 1:02}"
        summary = chalkface.json("record", "speed", *said, "--other", *there, "--day", on, *words)["speed"]
    return speeds, summary


@pytest.mark.parametrize("seed", [1, 2])
def test_the_two_sided_ratio_has_the_interval_of_students_t_on_logarithms(chalkface, tmp_path, seed):
    speeds, summary = swings(chalkface, tmp_path, seed, 6, 0.0)
    logs = [np.log(other.mean() / playing.mean()) for playing, other in speeds]
    low, high = stats.t.interval(0.95, len(logs) - 1, np.mean(logs), stats.sem(logs))
    ratio = summary["ratio"]
    assert [ratio["low"], ratio["estimate"], ratio["high"]] == pytest.approx(np.exp([low, np.mean(logs), high]))
    assert ratio["days"] == 6


def evidence(t, count, dof):
    """How much likelier t is with a difference of prior variance 4 than with none."""

    def given(effect):
        return stats.norm.pdf(effect, 0, 2) * stats.nct.pdf(t, dof, effect * np.sqrt(count))

    over, _ = integrate.quad(given, -18, 18, epsabs=1e-13, epsrel=1e-9, limit=400)
    return over / stats.t.pdf(t, dof)


def looked_at(values, variances, later):
    """The best start among every third later day: estimate, standard error, evidence over what is enough."""
    best = None
    for k, start in enumerate(range(0, later, STEP)):
        before, after = values[:FIRST], values[FIRST + start : FIRST + later]
        dof = len(before) + len(after) - 2
        if dof < STEP - 1:
            continue
        squares = sum(((part - part.mean()) ** 2).sum() for part in (before, after))
        known = np.concatenate([variances[:FIRST], variances[FIRST + start : FIRST + later]]).mean()
        spread = np.sqrt(max(squares / dof, known))
        count = len(before) * len(after) / (len(before) + len(after))
        estimate, error = after.mean() - before.mean(), spread / np.sqrt(count)
        enough = 20 * (k + 1) * (k + 2)
        found = evidence(estimate / error, count, dof) / enough
        if best is None or found > best[2]:
            best = (estimate, error, found, count, dof, enough)
    return best


@pytest.mark.parametrize("seed,gain", [(3, 0.0), (4, 6.0)])
def test_the_trend_is_the_integral_over_noncentral_t(chalkface, tmp_path, seed, gain):
    days = 12
    speeds, summary = swings(chalkface, tmp_path, seed, days, gain)
    values = np.array([playing.mean() for playing, _ in speeds])
    variances = np.array([playing.var(ddof=1) / len(playing) for playing, _ in speeds])
    called = next((n for n in range(1, days - FIRST + 1) if (look := looked_at(values, variances, n)) and look[2] >= 1), None)
    estimate, error, _, count, dof, enough = looked_at(values, variances, days - FIRST)
    trend = summary["trend"]
    assert trend["estimate"] == pytest.approx(estimate)
    # Days count from the first of all; the evidence is looked at from the one after the first four.
    assert trend["called_at"] == (called and FIRST + called)
    assert (trend["called_up"] is True) == (gain > 0)
    if trend["high"] is not None:
        t = optimize.brentq(lambda t: np.log(evidence(t, count, dof) / enough), 0.1, 60)
        assert trend["high"] - estimate == pytest.approx(t * error, rel=1e-4)
