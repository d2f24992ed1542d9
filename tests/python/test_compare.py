"""The comparison with a baseline against numpy, scipy and statsmodels.

The program itself is tried: `compare BASE.csv NOW.csv --json`. With the same balls
around every session's middle the comparison is a pooled t test of the session
means at levels of its own, and every level can be read back from its interval.
Start at `test_every_look_is_the_pooled_t_of_statsmodels`.
"""

import re

import make_boundary as boundary
import numpy as np
import pytest
from conftest import ROOT
from scipy import stats
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

# A ball of one session, about its middle: variance far below that of the days here.
OFFSETS = np.array([[4, 1], [-4, -1], [2, -3], [-2, 3], [1, 2], [-1, -2], [3, -1], [-3, 1]])
ALPHA, PARTS = 0.0476, {"toe": 0.365, "high_axis": 0.365}


def write(path, middles, extra=""):
    head = ["session", "toe_mm", "high_mm", *(extra.split("=")[:1] if extra else [])]
    rows = [",".join(head)]
    for label, middle in enumerate(middles):
        for x, y in np.round(middle + OFFSETS, 3):
            rows.append(",".join([f"s{label}", repr(float(x)), repr(float(y)), *extra.split("=")[1:]]))
    path.write_text("\n".join(rows) + "\n")
    return path


def middles(seed, count, shift=(0, 0), days=9):
    return np.round(np.random.default_rng(seed).standard_normal((count, 2)) * days + shift, 3)


@pytest.fixture
def compared(chalkface, tmp_path):
    def run(base, now, *options, base_extra="", now_extra=""):
        before = write(tmp_path / "base.csv", base, base_extra)
        after = write(tmp_path / "now.csv", now, now_extra)
        return chalkface.json("compare", before, after, *options)

    return run


@pytest.mark.parametrize("seed, m, k", [(1, 4, 20), (2, 10, 12), (3, 6, 5), (4, 3, 20)])
def test_every_look_is_the_pooled_t_of_statsmodels(compared, seed, m, k):
    base, now = middles(seed, m), middles(seed + 50, k, shift=(2, -1))
    found = compared(base, now)
    assert len(found["looks"]) == k
    uncalled = not found["any_called"]
    for axis, name in enumerate(["toe", "high_axis"]):
        scales = []
        for look, seen in enumerate(found["looks"], 1):
            pair = CompareMeans(DescrStatsW(now[:look, axis]), DescrStatsW(base[:, axis]))
            assert seen[name]["estimate"] == pytest.approx(now[:look, axis].mean() - base[:, axis].mean())
            dof = m + look - 2
            if dof < 3:
                assert seen[name]["low"] is None
                continue
            reach = seen[name]["high"] - seen[name]["estimate"]
            level = 2 * stats.t.sf(reach / pair.std_meandiff_pooledvar, dof)
            # The interval is statsmodels' own at that level ...
            low, high = pair.tconfint_diff(alpha=level, usevar="pooled")
            assert (seen[name]["low"], seen[name]["high"]) == pytest.approx((low, high), rel=1e-6, abs=1e-6)
            # ... and leaves 0 out where its test falls below it.
            past = pair.ttest_ind(usevar="pooled")[1] < level
            assert past == (not seen[name]["low"] <= 0 <= seen[name]["high"])
            scales.append(level / boundary.shape(m, np.array([look]))[0])
        # One scale for all looks while no call has freed allowance.
        if uncalled:
            assert np.allclose(scales, scales[0], rtol=1e-6)


@pytest.mark.parametrize("m", [4, 10])
def test_the_level_of_a_season_is_what_scipys_simulation_gives(compared, m):
    found = compared(middles(9, m), middles(59, 20))
    if found["any_called"]:
        pytest.skip("this draw is called, so its levels have been raised")
    last = found["looks"][-1]["toe"]
    base, now = middles(9, m), middles(59, 20)
    pair = CompareMeans(DescrStatsW(now[:, 0]), DescrStatsW(base[:, 0]))
    level = 2 * stats.t.sf((last["high"] - last["estimate"]) / pair.std_meandiff_pooledvar, m + 18)
    p = boundary.p_values(np.random.default_rng(5), 60_000, m, boundary.LOOKS)
    called = (boundary.least(p, m) < level).mean()
    # Four standard errors of 60,000 seasons.
    alpha = ALPHA * PARTS["toe"]
    assert abs(called - alpha) < 4 * np.sqrt(alpha / 60_000), (called, alpha)


def test_the_table_of_the_boundary_is_what_scipy_makes():
    text = (ROOT / "core/src/face/compare/boundary.rs").read_text()
    rows = re.findall(r"\((\d+)\.0, \[([^\]]+)\]\),", text)
    assert [float(m) for m, _ in rows] == boundary.BASELINES
    rng = np.random.default_rng(6)
    for m, row in rows:
        if m not in ("1", "4", "30"):
            continue
        frozen = [float(v) for v in row.split(",")]
        made = boundary.scales(rng, 100_000, int(m))
        # Standard errors of the quantiles grow from 1.5 to 7 % along a row.
        assert np.allclose(frozen[:3], made[:3], rtol=0.12), m


def test_the_bias_of_a_called_shift_is_called_by_axis_and_look(compared):
    found = compared(middles(1, 6, days=2), middles(51, 8, shift=(12, 0), days=2))
    toe = found["bias"]["toe"]
    assert toe["called"] and not found["bias"]["high_axis"]["called"]
    first = toe["first_called_at"]
    assert found["bias"]["first_called_at"] == found["first_called_at"] == first
    assert [look["toe"]["called"] for look in found["looks"]].index(True) + 1 == first
    for key in ("bias", "scatter", "centre_rate"):
        assert {"estimate", "low", "high", "called", "first_called_at"} <= set(found[key])


def test_another_ball_is_asked_about_before_it_is_called(compared):
    base, now = middles(1, 6, days=2), middles(51, 8, shift=(12, 0), days=2)
    found = compared(base, now, base_extra="ball=course", now_extra="ball=range")
    assert found["any_called"] and found["verdict"] == "ask_first"
    (ask,) = found["asks"]
    assert (ask["what"], ask["before"], ask["now"], ask["since"]) == ("ball", ["course"], ["range"], 1)
    assert found["says"][0].startswith("Ask first: the kind of ball is not that")
    same = compared(base, now, base_extra="ball=course", now_extra="ball=course")
    assert same["verdict"] == "changed" and same["bias"] == found["bias"]


def test_what_cant_be_compared_is_explained(chalkface, tmp_path):
    good = write(tmp_path / "good.csv", middles(1, 4))
    for name, text, said in [
        ("none.csv", "toe_mm,high_mm\n1,2\n", "lacks session"),
        ("empty.csv", "", "empty"),
        ("header.csv", "session,toe_mm,high_mm\n", "no rows"),
        ("blank.csv", "session,toe_mm,high_mm\n,1,2\n", "line 2: no session"),
        ("felt.csv", "session,toe_mm,high_mm,read\na,1,2,felt\n", "1 strike was only felt"),
    ]:
        (tmp_path / name).write_text(text)
        for words in ((tmp_path / name, good), (good, tmp_path / name)):
            error = chalkface.refused("compare", *words)
            assert name in error and said in error
    one = write(tmp_path / "one.csv", middles(1, 1))
    found = chalkface.json("compare", one, one)
    assert found["verdict"] == "too_early" and not found["baseline_enough"]
