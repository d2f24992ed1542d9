"""How good the reader is: runs it over rendered pictures and sets what it says beside what is true.

The rule: a true mark is found by the nearest reading not yet taken within
6 mm; a reading that takes no mark is false. Nothing is left out: a picture
that ends in an error has no readings. Start at `table`.

    python tests/photo/evaluate.py SET_DIR [--program target/release/chalkface | --baseline] [--out ROWS.json]
"""

import argparse
import json
import multiprocessing
import pathlib
import sys
import time

import numpy as np

from costs import run

MATCH_MM = 6.0
WITHIN_95 = 5.991  # chi square, 2 degrees of freedom
GOALS = {
    "single": {"found": 100.0, "median": 0.6, "p90": 1.2},
    "several": {"found": 95.0, "false": 3.0},
    "hard": {"found": 85.0, "false": 8.0},
    "none": {"clean": 95.0},
    "cover": 90.0,
    "handles": 90.0,
}


def truths(folder):
    return [json.loads(path.read_text()) | {"folder": str(folder)} for path in sorted(folder.glob("*.json"))]


# What a refusal says that a judgement would have said, too.
TOLD = {"a part of the face lies outside the picture": "cut", "no powdered face was found": "powder"}


def handles_text(handles):
    return " ".join(f"{u:.3f},{v:.3f}" for u, v in handles)


def run_program(program, truth, handles):
    """-> what the program says of one picture, CPU seconds, peak bytes."""
    words = [program, "photo", f"{truth['folder']}/{truth['file']}", "--hand", truth["hand"], "--json"]
    words += ["--face", "{:g}x{:g}".format(*truth["calliper_mm"])]
    if handles:
        words += ["--handles", handles_text(truth["handles_px"])]
    done = run(words)
    out, err = done.stdout, done.stderr
    cost = {"wall": done.wall, "cpu": done.cpu, "peak": done.peak}
    if done.returncode != 0:
        return {
            "handles": None,
            "marks": [],
            "quality": {"good": False, "problems": [what for said, what in TOLD.items() if said in err] or ["error"]},
            "error": err.strip(),
        } | cost
    answer = json.loads(out)
    answer = answer.get("pictures", answer) if isinstance(answer, dict) else answer
    answer = answer[0] if isinstance(answer, list) else answer
    return answer | cost


def run_baseline(_, truth, handles):
    import baseline

    started, cpu = time.perf_counter(), time.process_time()
    data = pathlib.Path(truth["folder"], truth["file"]).read_bytes()
    answer = baseline.read(data, truth["calliper_mm"], truth["hand"], truth["handles_px"] if handles else None)
    return answer | {"wall": time.perf_counter() - started, "cpu": time.process_time() - cpu, "peak": 0}


def inside(reading, dx, dy):
    """Is an error inside the stated 95 % ellipse?"""
    if "sigma_x_mm" in reading:
        sx, sy, r = reading["sigma_x_mm"], reading["sigma_y_mm"], reading.get("correlation", 0.0)
        a, b = dx / sx, dy / sy
        return (a * a - 2 * r * a * b + b * b) / (1 - r * r) <= WITHIN_95
    return (dx * dx + dy * dy) <= WITHIN_95 * reading["sigma_mm"] ** 2


def matched(truth, marks):
    """-> [(true mark, reading, mm apart)], readings that match nothing. Nearest pairs first."""
    near = sorted(
        (float(np.hypot(t["x_mm"] - m["x_mm"], t["y_mm"] - m["y_mm"])), i, j)
        for i, t in enumerate(truth["marks"])
        for j, m in enumerate(marks)
    )
    pairs, seen_i, seen_j = [], set(), set()
    for gap, i, j in near:
        if gap <= MATCH_MM and i not in seen_i and j not in seen_j:
            seen_i.add(i), seen_j.add(j)
            pairs.append((truth["marks"][i], marks[j], gap))
    return pairs, [m for j, m in enumerate(marks) if j not in seen_j]


def handle_errors_mm(truth, handles):
    """How far proposed handles lie from the true ones, mm on the face there (by the true pose)."""
    from geometry import depth

    a, b = truth["face_mm"][0] / 2, truth["face_mm"][1] / 2
    at = np.array([[-a, 0.0], [a, 0.0], [0.0, b], [0.0, -b]])
    pose, errors = truth["pose"], []
    turn, eye = np.array(pose["mm_to_camera"]), np.array(pose["eye_mm"])

    def seen(p):
        q = np.array([p[0], p[1], depth(p[0], p[1], truth["bulge_mm"], truth["roll_mm"])])
        q = turn @ (q - eye)
        return pose["focal_px"] * q[:2] / q[2]

    for p, true_px, got in zip(at, truth["handles_px"], handles):
        slope = np.stack([(seen(p + d) - seen(p - d)) / 2 for d in np.eye(2)], 1)
        errors.append(float(np.linalg.norm(np.linalg.solve(slope, np.array(got) - true_px))))
    return errors


def row(job):
    """One picture, read with the true handles and with its own."""
    run, program, truth = job
    given, own = run(program, truth, True), run(program, truth, False)
    pairs, false = matched(truth, given["marks"])
    own_pairs, own_false = matched(truth, own["marks"])
    return {
        "seed": truth["seed"],
        "kind": truth["kind"],
        "why": truth["why"],
        "true": len(truth["marks"]),
        "pixels": truth["width_px"] * truth["height_px"],
        "found": [
            {
                "mm": gap,
                "inside": bool(inside(m, m["x_mm"] - t["x_mm"], m["y_mm"] - t["y_mm"])),
                "sigma": m["sigma_mm"],
                "dx": m["x_mm"] - t["x_mm"],
                "dy": m["y_mm"] - t["y_mm"],
                "confidence": m.get("confidence"),
                "contrast": t["contrast"],
                "smear": t["smear_mm"],
                "dd": m["diameter_mm"] - t["diameter_mm"],
            }
            for t, m, gap in pairs
        ],
        "missed": [t for t in truth["marks"] if all(t is not p[0] for p in pairs)],
        "false": false,
        "own_found": [gap for _, _, gap in own_pairs],
        "own_false": len(own_false),
        "handles_mm": handle_errors_mm(truth, own["handles"]) if own.get("handles") else None,
        "good": bool(own["quality"]["good"]),
        "problems": own["quality"].get("problems", []),
        "good_given": bool(given["quality"]["good"]),
        "problems_given": given["quality"].get("problems", []),
        "cpu": given["cpu"],
        "wall": given["wall"],
        "peak": given["peak"],
        "cpu_own": own["cpu"],
        "peak_own": own["peak"],
        "steps": given.get("timing_ms"),
        "error": given.get("error") or own.get("error"),
    }


def share(part, whole):
    return 100.0 * part / whole if whole else float("nan")


def summary(rows):
    """Every figure of the goals, by kind."""
    out = {}
    for kind in ("single", "several", "hard", "none"):
        some = [r for r in rows if r["kind"] == kind]
        if not some:
            continue
        found = [f for r in some for f in r["found"]]
        mm = [f["mm"] for f in found] or [float("nan")]
        false, readings = sum(len(r["false"]) for r in some), sum(len(r["false"]) + len(r["found"]) for r in some)
        out[kind] = {
            "pictures": len(some),
            "marks": sum(r["true"] for r in some),
            "found": share(len(found), sum(r["true"] for r in some)),
            "false": share(false, readings),
            "clean": share(sum(not r["false"] for r in some), len(some)),
            "median": float(np.median(mm)),
            "p90": float(np.percentile(mm, 90)),
            "cover": share(sum(f["inside"] for f in found), len(found)),
            "own_found": share(sum(len(r["own_found"]) for r in some), sum(r["true"] for r in some)),
            "own_median": float(np.median([g for r in some for g in r["own_found"]] or [float("nan")])),
        }
    fair = [r for r in rows if r["kind"] != "bad"]
    bad = [r for r in rows if r["kind"] == "bad"]
    found = [f for r in fair for f in r["found"]]
    accepted = [r for r in fair if r["good"] and r["handles_mm"]]
    out["all"] = {
        "cover": share(sum(f["inside"] for f in found), len(found)),
        "median": float(np.median([f["mm"] for f in found] or [float("nan")])),
        "handles": share(sum(max(r["handles_mm"]) <= 2.5 for r in accepted), len(accepted)),
        "handles_median": float(np.median([max(r["handles_mm"]) for r in accepted] or [float("nan")])),
        "accepted": share(sum(r["good"] for r in fair), len(fair)),
        "accepted_given": share(sum(r["good_given"] for r in fair), len(fair)),
        "refused": share(sum(not r["good"] for r in bad), len(bad)),
        "bad": len(bad),
    }
    for why in ("tilt", "blur", "glare", "powder", "cut"):
        some = [r for r in bad if why in r["why"]]
        if some:
            out["all"][f"refused {why}"] = share(sum(not r["good"] for r in some), len(some))
            out["all"][f"told {why}"] = share(sum(why in r["problems"] + r["problems_given"] for r in some), len(some))
    for name, some in (
        ("1600x1200", [r for r in rows if r["pixels"] < 3e6]),
        ("12 MP", [r for r in rows if r["pixels"] > 1e7]),
    ):
        if some:
            out[name] = {
                "pictures": len(some),
                "cpu_ms": 1000 * float(np.median([r["cpu"] for r in some])),
                "cpu_ms_own": 1000 * float(np.median([r["cpu_own"] for r in some])),
                "peak_mb": max(max(r["peak"], r["peak_own"]) for r in some) / 1e6,
            }
    return out


def table(rows, out=sys.stdout):
    got = summary(rows)
    print(
        f"{'':9}{'pictures':>9}{'marks':>7}{'found %':>9}{'false %':>9}{'median':>8}{'p90 mm':>8}{'cover %':>9}{'clean %':>9}{'own handles: found %, median':>31}",
        file=out,
    )
    for kind in ("single", "several", "hard", "none"):
        if kind in got:
            g = got[kind]
            print(
                f"{kind:9}{g['pictures']:9}{g['marks']:7}{g['found']:9.1f}{g['false']:9.1f}{g['median']:8.2f}{g['p90']:8.2f}"
                f"{g['cover']:9.1f}{g['clean']:9.1f}{g['own_found']:20.1f}{g['own_median']:8.2f}",
                file=out,
            )
    for name in ("all", "1600x1200", "12 MP"):
        if name in got:
            print(
                f"{name}: "
                + ", ".join(f"{k} {v:.1f}" if isinstance(v, float) else f"{k} {v}" for k, v in got[name].items()),
                file=out,
            )
    by_why = {}
    for r in rows:
        for why in r["why"] if r["kind"] == "hard" else []:
            by_why.setdefault(why, []).append(r)
    for why, some in sorted(by_why.items()):
        false = sum(len(r["false"]) for r in some)
        print(
            f"  hard {why}: {len(some)} pictures, found {share(sum(len(r['found']) for r in some), sum(r['true'] for r in some)):.1f} %, false {false}",
            file=out,
        )
    return got


def evaluate(folder, program=None, jobs=2, only=None):
    """Rows of every picture in a folder, by the program or, without one, by the OpenCV baseline."""
    every = [t for t in truths(folder) if only is None or only(t)]
    work = [(run_program if program else run_baseline, program, t) for t in every]
    if jobs == 1:
        return [row(job) for job in work]
    with multiprocessing.Pool(jobs) as pool:
        return pool.map(row, work, chunksize=4)


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("folder", type=pathlib.Path)
    ask.add_argument("--program", default="target/release/chalkface")
    ask.add_argument("--baseline", action="store_true", help="the OpenCV pipeline instead of the program")
    ask.add_argument("--out", type=pathlib.Path, help="every picture's row, JSON")
    ask.add_argument("--jobs", type=int, default=2)
    given = ask.parse_args()
    rows = evaluate(given.folder, None if given.baseline else given.program, given.jobs)
    if given.out:
        given.out.write_text(json.dumps(rows))
    table(rows)


if __name__ == "__main__":
    main()
