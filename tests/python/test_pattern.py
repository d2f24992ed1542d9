"""The pattern of strike marks against numpy and scipy, on freshly made sets.

`CHALKFACE` names the binary whose `pattern FILE.csv --json` is tried; without it
the core's own example stands in.
"""

import json
import os
import pathlib
import subprocess

import numpy as np
import pytest
import reference_pattern as reference

ROOT = pathlib.Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def command():
    if binary := os.environ.get("CHALKFACE"):
        return lambda path: [binary, "pattern", str(path), "--json"]
    build = ["cargo", "build", "--quiet", "-p", "chalkface-core", "--example", "pattern_json"]
    subprocess.run(build, cwd=ROOT, check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return lambda path: [str(target / "debug/examples/pattern_json"), str(path)]


def run(command, tmp_path, marks):
    path = tmp_path / "marks.csv"
    lines = ["toe_mm,high_mm,sigma_mm", *(",".join(map(repr, map(float, row))) for row in marks)]
    path.write_text("\n".join(lines) + "\n")
    done = subprocess.run(command(path), capture_output=True, text=True, check=True)
    found = json.loads(done.stdout)
    return found.get("pattern", found)


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
def test_every_figure_agrees_with_scipy(command, tmp_path, shape, seed):
    case = {**shape, "bias": np.array(shape["bias"])}
    marks = reference.make(seed, **case)
    compare(run(command, tmp_path, marks), reference.pattern(marks))


def test_the_frozen_reference_is_what_the_script_makes():
    frozen = json.loads((ROOT / "tests/python/reference_pattern.json").read_text())
    for case in frozen["cases"]:
        compare(case["pattern"], reference.pattern(np.array(case["marks"])), case["name"])
