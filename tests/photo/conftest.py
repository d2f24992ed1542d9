"""The built program, and the pictures kept beside these checks.

`CHALKFACE` names another binary than the one that is built here.
"""

import os
import pathlib
import subprocess
import sys

import pytest

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(HERE))


@pytest.fixture(scope="session")
def program():
    if binary := os.environ.get("CHALKFACE"):
        return str(pathlib.Path(binary).resolve())
    subprocess.run(["cargo", "build", "--quiet", "--release", "-p", "chalkface-desk"], cwd=ROOT, check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return str(target / "release/chalkface")


@pytest.fixture(scope="session")
def kept():
    """What is true in each kept picture."""
    from evaluate import truths

    return truths(HERE / "pictures")


@pytest.fixture(scope="session")
def read(program, kept):
    """Every kept picture as the program reads it."""
    from evaluate import evaluate

    return evaluate(HERE / "pictures", program)


@pytest.fixture(scope="session")
def baseline(kept):
    """Every other unseen picture as the OpenCV pipeline reads it: it takes its time."""
    from evaluate import evaluate

    some = [t["seed"] for t in kept if t["set"] == "unseen" and t["kind"] in ("single", "several", "hard")][::2]
    return evaluate(HERE / "pictures", only=lambda truth: truth["seed"] in some)
