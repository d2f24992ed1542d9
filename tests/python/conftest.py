"""What the outside checks share: the built program, and the demo played once.

Start at `chalkface`, which runs the program. `CHALKFACE` names another binary
than the one that is built here.
"""

import json
import os
import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


class Program:
    """The program, run in a folder of its own on a day of its own."""

    def __init__(self, binary):
        self.binary = str(pathlib.Path(binary).resolve())

    def run(self, *words, cwd=None):
        env = {key: value for key, value in os.environ.items() if key != "CHALKFACE_BOOK"}
        env["CHALKFACE_NOW"] = "2026-06-01T18:00:00+02:00"
        command = [self.binary, *map(str, words)]
        return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=env, timeout=600)

    def json(self, *words, cwd=None):
        """What it answers to words that must work."""
        done = self.run(*words, "--json", cwd=cwd)
        assert done.returncode == 0, f"{words}: {done.stderr}"
        return json.loads(done.stdout)

    def refused(self, *words, cwd=None):
        """What it says to words that must be refused."""
        done = self.run(*words, cwd=cwd)
        assert done.returncode == 1, f"{words}: exit code {done.returncode}, {done.stdout}{done.stderr}"
        assert done.stderr.strip() and "panicked" not in done.stderr, done.stderr
        return done.stderr


@pytest.fixture(scope="session")
def chalkface():
    if binary := os.environ.get("CHALKFACE"):
        return Program(binary)
    subprocess.run(["cargo", "build", "--quiet", "-p", "chalkface-desk"], cwd=ROOT, check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return Program(target / "debug/chalkface")


@pytest.fixture(scope="session")
def demo(chalkface, tmp_path_factory):
    """The demo's folder, and what it says of itself. Nobody writes there."""
    folder = tmp_path_factory.mktemp("demo") / "played"
    return folder, chalkface.json("demo", "--into", folder)
