"""The demo's logs are what their script makes: desk/demo/make.py --check."""

import shutil
import subprocess
import sys

from conftest import ROOT

DEMO = ROOT / "desk/demo"


def check(folder):
    command = [sys.executable, str(folder / "make.py"), "--check"]
    return subprocess.run(command, capture_output=True, text=True, timeout=120)


def test_the_demos_logs_are_what_their_script_makes():
    done = check(DEMO)
    assert done.returncode == 0, done.stdout + done.stderr


def test_one_changed_digit_in_a_log_is_noticed(tmp_path):
    copy = shutil.copytree(DEMO, tmp_path / "demo")
    log = copy / "ida-kranz/2026-04-15-range.csv"
    log.write_text(log.read_text().replace("7,5", "7,6", 1))
    done = check(copy)
    assert done.returncode == 1
    assert "ida-kranz/2026-04-15-range.csv" in done.stdout
