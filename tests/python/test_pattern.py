"""The pattern of strike marks against numpy and scipy, on freshly made sets.

The program itself is tried: `pattern FILE.csv --json`. Start at
`test_every_figure_agrees_with_scipy`; the reference is reference_pattern.py.
"""

import json

import numpy as np
import pytest
import reference_pattern as reference
from conftest import ROOT


def run(chalkface, tmp_path, marks, *options):
    path = tmp_path / "marks.csv"
    lines = ["toe_mm,high_mm,sigma_mm", *(",".join(map(repr, map(float, row))) for row in marks)]
    path.write_text("\n".join(lines) + "\n")
    return chalkface.json("pattern", path, *options)


def compare(found, expected, where="pattern"):
    if isinstance(expected, dict):
        for key, value in expected.items():
            compare(found[key], value, f"{where}.{key}")
    elif isinstance(expected, (list, tuple)):
        assert len(found) == len(expected), where
        for i, value in enumerate(expected):
            compare(found[i], value, f"{where}[{i}]")
    else:
        assert found == pytest.approx(expected, rel=1e-7, abs=1e-7), where


SHAPES = [
    dict(n=3, bias=[2, 2], sd=(5, 7), rho=0.1, sigma=0.0),
    dict(n=6, bias=[0, -9], sd=(8, 5), rho=-0.3, sigma=1.0),
    dict(n=17, bias=[15, 0], sd=(6, 4), rho=0.6, sigma=2.0),
    dict(n=60, bias=[0, 0], sd=(14, 9), rho=0.0, sigma=0.8),
    dict(n=1000, bias=[-1, 1], sd=(9, 6), rho=-0.2, sigma=1.0),
]


@pytest.mark.parametrize("seed", range(100, 108))
@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: f"n{s['n']}")
def test_every_figure_agrees_with_scipy(chalkface, tmp_path, shape, seed):
    case = {**shape, "bias": np.array(shape["bias"])}
    marks = reference.make(seed, **case)
    compare(run(chalkface, tmp_path, marks), reference.pattern(marks))


def test_another_target_and_radius_move_the_figures_as_in_the_reference(chalkface, tmp_path, monkeypatch):
    marks = reference.make(200, 25, np.array([3, -2]), (8, 6), 0.2, 1.0)
    found = run(chalkface, tmp_path, marks, "--target=-2.5,9", "--radius", "7.5")
    monkeypatch.setattr(reference, "TARGET", np.array([-2.5, 9.0]))
    monkeypatch.setattr(reference, "RADIUS", 7.5)
    compare(found, reference.pattern(marks))


def test_the_frozen_reference_is_what_the_script_makes():
    frozen = json.loads((ROOT / "tests/python/reference_pattern.json").read_text())
    for case in frozen["cases"]:
        compare(case["pattern"], reference.pattern(np.array(case["marks"])), case["name"])
