"""Trials and feel against scipy, on freshly made logs, through the program.

A trial: p-values and means by `scipy.stats.permutation_test` (blocks of two are
its paired samples), ranges by inverting it, drawn orders beside an analysis of
variance by statsmodels. Feel: figures by numpy and scipy. Start at
`test_a_trial_in_blocks_of_two_is_scipys_permutation_test`.
"""

import itertools

import numpy as np
import pytest
from scipy import stats
from statsmodels.api import OLS


def book(chalkface, tmp_path):
    path = tmp_path / "ina.book"
    words = ["--book", path]
    chalkface.json("book", "new", "--role", "student", "--name", "Ina", *words)
    chalkface.json("student", "add", "Ina", "--hand", "right", *words)
    return words


def played(chalkface, tmp_path, seed, blocks, balls, effect):
    """A trial that was played to its end: carries by block and arm, and the result."""
    words = book(chalkface, tmp_path)
    rng = np.random.default_rng(seed)
    arms = ["--arms", "as ever", "on a low tee"]
    chalkface.json("trial", "Ina", "begin", *arms, "--blocks", blocks, "--balls", balls, *words)
    lines = ["session,day,trial_ball,carry_m"]
    # The order is told ball by ball, so the log is written after asking for each:
    # logging row by row gives the arm of every ball.
    values = []
    for ball in range(1, blocks * balls + 1):
        arm = chalkface.json("trial", "Ina", "next", *words)["next"]["arm"]
        carry = round(float(190 + 8 * rng.standard_normal() + effect * (arm == "second")), 2)
        values.append(((ball - 1) // balls, arm == "second", carry))
        row = tmp_path / "row.csv"
        row.write_text("\n".join([*lines, f"t,2026-06-01,{ball},{carry}"]) + "\n")
        chalkface.json("record", "shots", row, *words)
    return values, chalkface.json("trial", "Ina", "result", *words)


def carry_of(result):
    return next(m for m in result["measures"] if m["measure"] == "carry")


@pytest.mark.parametrize("seed, effect", [(1, 0.0), (2, -12.0), (3, 9.0)])
def test_a_trial_in_blocks_of_two_is_scipys_permutation_test(chalkface, tmp_path, seed, effect):
    values, result = played(chalkface, tmp_path, seed, 8, 2, effect)
    first = np.array([v for _, second, v in values if not second])
    second = np.array([v for _, second, v in values if second])
    test = stats.permutation_test(
        (second, first),
        lambda x, y, axis=-1: np.mean(x - y, axis=axis),
        permutation_type="samples",
        n_resamples=np.inf,
        vectorized=True,
    )
    found = carry_of(result)
    assert found["difference"]["orders"] == 256 and found["difference"]["exact"]
    assert found["difference"]["p_value"] == pytest.approx(test.pvalue, abs=1e-12)
    assert found["difference"]["estimate"] == pytest.approx(np.mean(second - first))
    assert found["means"] == pytest.approx([first.mean(), second.mean()])
    # Inverted: every shift inside is not refused at 10 %, every one outside is.
    for end, out in (("low", -1e-6), ("high", 1e-6)):
        shift = found["difference"][end]
        p = [
            stats.permutation_test(
                (second - s, first),
                lambda x, y, axis=-1: np.mean(x - y, axis=axis),
                permutation_type="samples",
                n_resamples=np.inf,
                vectorized=True,
            ).pvalue
            for s in (shift + out, shift - 1000 * out)
        ]
        assert p[0] <= 0.1 < p[1], (end, p)


def orders(values, blocks):
    """The statistic over all orders, by brute force."""
    sums = []
    for block in range(blocks):
        inside = np.array([v for b, _, v in values if b == block])
        half = len(inside) // 2
        sums.append(
            [inside[list(c)].mean() - np.delete(inside, list(c)).mean() for c in itertools.combinations(range(len(inside)), half)]
        )
    return np.array([np.mean(each) for each in itertools.product(*sums)])


def test_a_trial_in_blocks_of_four_is_brute_force_over_every_order(chalkface, tmp_path):
    values, result = played(chalkface, tmp_path, 4, 4, 4, -10.0)
    found = carry_of(result)["difference"]
    truth = np.mean(
        [
            np.mean([v for b, s, v in values if b == block and s]) - np.mean([v for b, s, v in values if b == block and not s])
            for block in range(4)
        ]
    )
    every = orders(values, 4)
    assert found["orders"] == len(every) == 1296
    assert found["estimate"] == pytest.approx(truth)
    sides = [np.mean(every <= truth + 1e-9), np.mean(every >= truth - 1e-9)]
    assert found["p_value"] == pytest.approx(min(1, 2 * min(sides)), abs=1e-12)


def test_drawn_orders_come_near_the_analysis_of_variance_with_blocks(chalkface, tmp_path):
    values, result = played(chalkface, tmp_path, 5, 10, 4, -6.0)
    found = carry_of(result)["difference"]
    assert not found["exact"]
    carries = np.array([v for _, _, v in values])
    terms = np.column_stack([[b == block for b, _, _ in values] for block in range(10)] + [[s for _, s, _ in values]])
    fitted = OLS(carries, terms.astype(float)).fit()
    assert found["estimate"] == pytest.approx(fitted.params[-1])
    low, high = fitted.conf_int(0.1)[-1]
    # The order is another in every run, and both ranges rest on how carries differ within blocks:
    # of 300 such trials drawn by numpy no end was off by more than 3.2 % of the width.
    assert [found["low"], found["high"]] == pytest.approx([low, high], abs=(high - low) / 20)


def test_the_foresight_has_four_fifths_power_by_the_noncentral_t(chalkface, tmp_path):
    words = book(chalkface, tmp_path)
    for blocks, balls in [(3, 4), (6, 4), (10, 6)]:
        told = chalkface.json(
            "trial", "Ina", "begin", "--dry-run", "--arms", "a", "b", "--blocks", blocks, "--balls", balls, *words
        )["foresight"]
        n, dof = blocks * balls, blocks * balls - blocks - 1
        shift = told["seen_with_80_percent"] * np.sqrt(n) / (2 * told["ball_sd"])
        critical = stats.t.ppf(0.975, dof)
        power = stats.nct.sf(critical, dof, shift) + stats.nct.cdf(-critical, dof, shift)
        assert power == pytest.approx(0.8, abs=0.01)
        assert told["assumed"] is True


def jackknife(groups, figure, to=lambda v: v, back=lambda v: v):
    whole = figure(np.concatenate(groups))
    without = np.array([to(figure(np.concatenate(groups[:i] + groups[i + 1 :]))) for i in range(len(groups))])
    n = len(groups)
    half = stats.t.ppf(0.95, n - 1) * np.sqrt((n - 1) / n * np.sum((without - without.mean()) ** 2))
    return [whole, back(to(whole) - half), back(to(whole) + half)]


def test_every_figure_of_feel_agrees_with_numpy_and_scipy(chalkface, tmp_path):
    words = book(chalkface, tmp_path)
    rng = np.random.default_rng(6)
    lines, groups = ["session,day,powder,toe_mm,high_mm,sigma_mm,guess_toe_mm,guess_high_mm"], []
    for day in range(1, 9):
        truth = rng.standard_normal((int(rng.integers(5, 12)), 2)) * [10, 8] + rng.standard_normal(2) * 3
        mark = np.round(truth + 2 * rng.standard_normal(truth.shape), 2)
        guess = np.round(3 + 0.6 * truth + 4 * rng.standard_normal(truth.shape), 2)
        groups.append(np.hstack([guess, mark]))
        lines += [f"s,2026-05-{day:02},yes,{m[0]},{m[1]},2,{g[0]},{g[1]}" for g, m in zip(guess, mark)]
    log = tmp_path / "log.csv"
    log.write_text("\n".join(lines) + "\n")
    chalkface.json("record", "shots", log, *words)
    found = chalkface.json("feel", "Ina", *words)
    every = np.concatenate(groups)
    assert (found["pairs"], found["sessions"], found["intervals_by"]) == (len(every), 8, "sessions")

    def ends(interval):
        return [interval["estimate"], interval["low"], interval["high"]]

    for n, axis in enumerate(("toe", "high")):
        g, m = lambda a: a[:, n], lambda a: a[:, n + 2]
        slope = lambda a: np.cov(g(a), m(a))[0, 1] / (np.var(m(a), ddof=1) - 4)
        correlation = lambda a: np.cov(g(a), m(a))[0, 1] / np.sqrt(np.var(g(a), ddof=1) * (np.var(m(a), ddof=1) - 4))
        assert ends(found[axis]["offset_mm"]) == pytest.approx(jackknife(groups, lambda a: np.mean(g(a) - m(a))))
        assert ends(found[axis]["slope"]) == pytest.approx(jackknife(groups, slope))
        assert ends(found[axis]["correlation"]) == pytest.approx(jackknife(groups, correlation, np.arctanh, np.tanh))
        # What a felt strike is worth: scipy's regression of mark on guess, the
        # readings' error taken out, at the middle of the guesses.
        line = stats.linregress(g(every), m(every))
        rest = np.sum((m(every) - line.intercept - line.slope * g(every)) ** 2) / (len(every) - 2) - 4
        n_all = len(every)
        error = np.sqrt(rest * (1 + 1 / n_all) * (n_all - 2) / (n_all - 4))
        assert found["felt_sigma_mm"][f"{axis}_mm"] == pytest.approx(error)
    square = lambda a: np.mean(np.sum((a[:, :2] - a[:, 2:]) ** 2, axis=1)) - 8
    spread = lambda a: np.sum(np.var(a[:, 2:], axis=0, ddof=1)) - 8
    rms = jackknife(groups, lambda a: np.sqrt(square(a)), np.log, np.exp)
    relative = jackknife(groups, lambda a: np.sqrt(square(a) / spread(a)), np.log, np.exp)
    assert ends(found["rms_error_mm"]) == pytest.approx(rms)
    assert ends(found["relative_error"]) == pytest.approx(relative)
