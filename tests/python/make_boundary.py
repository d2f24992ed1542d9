"""The table of the boundary over a season of looks, made anew by numpy and scipy.

The pooled t of look k, through its p-value, has a joint distribution over the
looks that depends on the number of baseline sessions only. `SCALE` in
`core/src/face/compare/boundary.rs` holds quantiles of the least `p / shape` over
20 looks; this prints it, the shift that 80 % of seasons see (`SEEN` in
`advice.rs`), and what looks past the season spend.

    .venv/bin/python tests/python/make_boundary.py [SEASONS]

The rule: nothing here is taken from the core but the formula of the shape.
"""

import sys

import numpy as np
from scipy.special import stdtr, stdtrit

LOOKS = 20
LAST = 120
FEWEST_DOF = 3
PAST = 0.02
AXIS = 0.365 * 0.0476  # what an axis of the bias gets of the season's chance
BASELINES = [1, 2, 3, 4, 5, 6, 8, 10, 14, 20, 30, 60, 400]
ALPHA = [0.05, 0.02, 0.01, 0.005, 0.002]


def shape(m, k):
    """Part of the season's last level that looks `k` may use."""
    information = 1 / (1 / m + 1 / k)
    last = 1 / (1 / m + 1 / LOOKS)
    return np.where(m + k - 2 < FEWEST_DOF, 0.0, (information / last) ** 3)


def p_values(rng, seasons, m, last):
    """Two-sided p of the pooled t at every look of seasons without a change."""
    k = np.arange(1, last + 1)
    # The baseline through its sufficient statistics.
    mean = rng.standard_normal((seasons, 1)) / np.sqrt(m)
    squares = rng.chisquare(m - 1, (seasons, 1)) if m > 1 else np.zeros((seasons, 1))
    later = rng.standard_normal((seasons, last))
    means = np.cumsum(later, 1) / k
    squares = squares + np.cumsum(later * later, 1) - k * means * means
    dof = m + k - 2.0
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (means - mean) / np.sqrt(squares / dof * (1 / m + 1 / k))
        p = 2 * stdtr(dof, -np.abs(t))
    return np.where(dof < FEWEST_DOF, 1.0, p)


def least(p, m):
    """The least `p / shape` over the season, season by season."""
    with np.errstate(divide="ignore"):
        return (p[:, :LOOKS] / shape(m, np.arange(1, LOOKS + 1))).min(1)


def scales(rng, seasons, m, part=20_000):
    """`scale(m, alpha)` for every alpha of the table."""
    found = [least(p_values(rng, part, m, LOOKS), m) for _ in range(max(1, seasons // part))]
    return np.quantile(np.concatenate(found), ALPHA)


def past(rng, seasons, m, scale, part=5_000):
    """Share of seasons that are called only past the season's last look."""
    late = 0
    for _ in range(max(1, seasons // part)):
        p = p_values(rng, part, m, LAST)
        late += ((least(p, m) >= scale) & (p[:, LOOKS:].min(1) < PAST * scale)).sum()
    return late / (max(1, seasons // part) * part)


def shift_seen(rng, seasons, m, scale, share=0.8):
    """Shift, in standard deviations of a session, that `share` of seasons call.

    Monotone in the shift on common random numbers, so halving finds it."""
    k = np.arange(1, LOOKS + 1)
    dof = m + k - 2.0
    mean = rng.standard_normal((seasons, 1)) / np.sqrt(m)
    base = rng.chisquare(m - 1, (seasons, 1)) if m > 1 else np.zeros((seasons, 1))
    later = rng.standard_normal((seasons, LOOKS))
    means = np.cumsum(later, 1) / k
    squares = base + np.cumsum(later * later, 1) - k * means * means
    with np.errstate(divide="ignore", invalid="ignore"):
        error = np.sqrt(squares / dof * (1 / m + 1 / k))
    edge = np.where(dof < FEWEST_DOF, np.inf, -stdtrit(np.maximum(dof, 1), 0.5 * scale * shape(m, k)))
    low, high = 0.0, 8.0
    for _ in range(24):
        middle = 0.5 * (low + high)
        called = (np.abs(means + middle - mean) > edge * error)[:, dof >= FEWEST_DOF].any(1).mean()
        low, high = (low, middle) if called > share else (middle, high)
    return high


def main():
    seasons = int(sys.argv[1]) if len(sys.argv) > 1 else 400_000
    rng = np.random.default_rng(20)
    for m in BASELINES:
        row = scales(rng, seasons, m)
        print(f"    ({m:.1f}, [{', '.join(f'{v:.4e}' for v in row)}]),".replace("e-0", "e-"))
        at_axis = np.exp(np.interp(np.log(AXIS), np.log(ALPHA[::-1]), np.log(row[::-1])))
        print(f"      // seen: ({m:.1f}, {shift_seen(rng, 40_000, m, at_axis):.3f})", file=sys.stderr)
        late = past(rng, seasons // 8, m, row[1])
        print(f"      // past the season at alpha 0.02: {late:.5f}", file=sys.stderr)


if __name__ == "__main__":
    main()
