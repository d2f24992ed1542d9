"""Flights a second beside scipy's, instructions a flight, and how both grow.

Run by `tests/long` after `cargo bench -p chalkface-core --bench flight`, whose
estimates it reads. scipy solves the same equations (`test_flight_scipy.py`) to
rtol 1e-10, as the check of the carry does; a looser scipy run stands beside it.
"""

import json
import pathlib
import re
import shutil
import subprocess
import sys
import time

import test_flight_scipy as outside
from scipy.integrate import solve_ivp

ROOT = pathlib.Path(__file__).resolve().parents[2]
LAUNCHES = [(52.0 + 22.0 * part, 7.0 + 10.0 * part, 0.0, 3800.0 - 2300.0 * part, 600.0 * part - 300.0)
            for part in (n / 39 for n in range(40))]


def ours(name):
    """Seconds of one iteration, as criterion estimates them."""
    path = ROOT / "target/criterion" / name / "new/estimates.json"
    return json.loads(path.read_text())["mean"]["point_estimate"] * 1e-9 if path.exists() else None


def scipy_seconds(rtol):
    """Seconds a flight, the law and the air of the checks."""
    weather = outside.Weather(15.0, 1013.25, 0.0, 0.0, 0.0)
    law = outside.LAWS["ods"]
    begun = time.perf_counter()
    for launch in LAUNCHES:
        velocity, spin = outside.motion(*launch)
        start = [0.0, 0.0, 0.0, *velocity, *spin]
        solve_ivp(outside.rates, (0.0, 60.0), start, method="DOP853", rtol=rtol, atol=rtol, events=[outside.down],
                  args=(weather, law))
    return (time.perf_counter() - begun) / len(LAUNCHES)


def instructions(count):
    """Instructions that the whole example takes for so many flights."""
    example = ROOT / "target/release/examples/many_flights"
    command = ["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", str(example), str(count)]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stderr
    return int(re.search(r"Collected : (\d+)", said).group(1))


def main():
    rows = [(f"scipy DOP853, rtol {rtol:g}", scipy_seconds(rtol)) for rtol in (1e-10, 1e-6)]
    best = rows[0][1]
    rows.append(("one flight", ours("one/flight")))
    rows += [(f"in a batch of {n:,}", seconds and seconds / n)
             for n in (1_000, 10_000, 100_000) for seconds in [ours(f"many/flights/{n}")]]
    if any(seconds is None for _, seconds in rows):
        sys.exit("run cargo bench -p chalkface-core --bench flight first")
    print(f"{'':28} {'us a flight':>12} {'flights/s':>12} {'x scipy':>10}")
    for name, seconds in rows:
        print(f"{name:28} {seconds * 1e6:12.2f} {1 / seconds:12,.0f} {best / seconds:10,.0f}")
    if not shutil.which("valgrind"):
        print("instructions a flight: skipped, valgrind is not installed")
        return
    subprocess.run(["cargo", "build", "--quiet", "--release", "-p", "chalkface-core", "--example", "many_flights"],
                   cwd=ROOT, check=True)
    counts = [instructions(n) for n in (2_000, 4_000, 8_000)]
    for fewer, more, a, b in [(2_000, 4_000, *counts[:2]), (4_000, 8_000, *counts[1:])]:
        print(f"instructions a flight, from {fewer:,} to {more:,}: {(b - a) / (more - fewer):,.0f}")


if __name__ == "__main__":
    main()
