#!/usr/bin/env python3
"""Makes the demo's logs: an invented academy's two invented students.

Everything here is invented, the spreads most of all: published spreads of
strikes and deliveries were not found. How a strike changes ball speed, launch,
start and spin follows, only roughly, a rigid-body model of a common driver
head (ball speed 1.47 times head speed at the centre and less off it; start
mostly from the face). Nothing here is a check of that model.

Same seed, same files, to the byte. Standard library only.

    python3 make.py            writes the logs beside this file
    python3 make.py --check    says whether they are as it would write them
    python3 make.py --summary  prints each session's mean and spread
"""

import argparse
import csv
import io
import math
import pathlib
import random
import statistics
import sys
from dataclasses import dataclass, field

HERE = pathlib.Path(__file__).resolve().parent
MPH, YARD = 0.44704, 0.9144


@dataclass
class Visit:
    day: str
    label: str
    place: str  # lesson, range or course
    balls: int
    read: str  # photo, tap or felt
    radar: bool
    progress: float  # 0 as before the first lesson, 1 as at the end


@dataclass
class Student:
    folder: str
    hand: int  # +1 right, -1 left
    seed: int
    imperial: bool
    head_mps: tuple  # mean, SD
    toe_mm: tuple  # mean before, mean after, SD within a session
    high_mm: tuple
    session_shift_mm: float  # SD between sessions
    loose: float  # how much wider the strikes are where the finish was lost
    held: tuple  # share of held finishes before, after
    face_deg: tuple  # mean, SD; positive is right of the target
    path_deg: tuple
    loft_deg: tuple
    visits: list = field(default_factory=list)


# Right-handed, low and toward the heel, wants distance: gets better, unevenly.
BEN = Student(
    folder="ben-harlow", hand=1, seed=20260407, imperial=True,
    head_mps=(43.2, 0.65), toe_mm=(-13.0, -3.0, 8.5), high_mm=(-7.0, 2.0, 6.5),
    session_shift_mm=2.5, loose=1.2, held=(0.75, 0.85),
    face_deg=(0.8, 1.8), path_deg=(-1.5, 1.6), loft_deg=(13.2, 1.0),
    visits=[
        Visit("2026-04-07", "Range, 7 April", "range", 14, "tap", False, 0.0),
        Visit("2026-04-09", "Before the first lesson", "lesson", 12, "photo", True, 0.0),
        Visit("2026-04-12", "Range, 12 April", "range", 15, "tap", False, 0.0),
        Visit("2026-04-16", "Second lesson", "lesson", 12, "photo", True, 0.15),
        Visit("2026-04-19", "Range, 19 April", "range", 16, "tap", False, 0.45),
        Visit("2026-04-25", "Saturday round", "course", 11, "felt", False, 0.3),
        Visit("2026-04-28", "Range, 28 April", "range", 18, "tap", True, 0.5),
        Visit("2026-05-05", "Range, 5 May", "range", 15, "tap", False, 0.65),
        Visit("2026-05-09", "Saturday round in wind", "course", 12, "felt", False, 0.6),
        Visit("2026-05-14", "Third lesson", "lesson", 14, "photo", True, 0.8),
        Visit("2026-05-20", "Range, 20 May", "range", 16, "tap", False, 0.9),
        Visit("2026-05-27", "Range, 27 May", "range", 16, "photo", True, 1.0),
    ],
)

# Left-handed, scattered, loses the finish on every other ball: no change yet. The
# seed was picked so that her logs show none by luck either.
IDA = Student(
    folder="ida-kranz", hand=-1, seed=20260427, imperial=False,
    head_mps=(36.4, 0.8), toe_mm=(2.0, 2.0, 10.0), high_mm=(1.0, 1.0, 7.5),
    session_shift_mm=3.0, loose=1.35, held=(0.45, 0.5),
    face_deg=(-0.5, 2.6), path_deg=(1.0, 2.2), loft_deg=(14.5, 1.4),
    visits=[
        Visit("2026-04-08", "Range 1", "range", 12, "tap", False, 0.0),
        Visit("2026-04-11", "Lesson 1", "lesson", 12, "photo", True, 0.0),
        Visit("2026-04-15", "Range 2", "range", 14, "tap", False, 0.0),
        Visit("2026-04-22", "Range 3", "range", 15, "tap", False, 0.1),
        Visit("2026-04-26", "Round 1", "course", 10, "felt", False, 0.2),
        Visit("2026-04-30", "Lesson 2", "lesson", 12, "photo", True, 0.3),
        Visit("2026-05-06", "Range 4", "range", 16, "tap", False, 0.5),
        Visit("2026-05-13", "Range 5", "range", 14, "tap", False, 0.6),
        Visit("2026-05-17", "Round 2", "course", 12, "felt", False, 0.7),
        Visit("2026-05-23", "Range 6", "range", 15, "photo", False, 0.9),
        Visit("2026-05-30", "Lesson 3", "lesson", 14, "photo", True, 1.0),
    ],
)


def between(ends, share):
    return ends[0] + (ends[1] - ends[0]) * share


def round_to(value, step):
    return round(value / step) * step 


def flight(student, toe, high, head, face, path, loft):
    """What the ball does, roughly: see the top of the file."""
    lie = student.hand  # the face frame is mirrored for a left-hander
    ball = head * (1.47 - 0.9e-4 * toe * toe - 1.6e-4 * high * high)
    launch = 10.3 + 0.8 * (loft - 13.0) + 0.21 * high
    start = 0.80 * face + 0.20 * path + 0.20 * toe * lie
    scale = head / 45.0
    backspin = (2487 - 45 * high + 150 * (loft - 13.0)) * scale
    sidespin = (175 * (face - path) - 22 * toe * lie) * scale
    carry = 204.4 + 4.8 * (ball - 66.14) + 1.5 * (launch - 10.3) - 0.004 * abs(sidespin)
    curve = 0.028 * sidespin * (carry / 204.4) ** 2
    side = carry * math.tan(math.radians(start)) + curve
    return ball, launch, start, backspin, sidespin, carry, curve, side


def by_eye(rng, value, narrow, wide, words):
    """A word for a figure, now and then the next one."""
    bin_ = (value > -wide) + (value > -narrow) + (value > narrow) + (value > wide)
    if rng.random() < 0.1:
        bin_ += rng.choice((-1, 1))
    return words[min(max(bin_, 0), 4)]


def shot(rng, student, visit, centre):
    held = rng.random() < between(student.held, visit.progress)
    wider = 1.0 if held else student.loose
    toe = min(max(rng.gauss(centre[0], student.toe_mm[2] * wider), -50), 50)
    high = min(max(rng.gauss(centre[1], student.high_mm[2] * wider), -22), 24)
    head = rng.gauss(*student.head_mps)
    face, path = rng.gauss(*student.face_deg), rng.gauss(*student.path_deg)
    loft = rng.gauss(*student.loft_deg)
    ball, launch, start, backspin, _, carry, curve, side = flight(
        student, toe, high, head, face, path, loft)
    if visit.place != "course":
        carry *= 0.96  # range balls
    row = {"finish_held": "yes" if held else "no"}

    legible = rng.random() > 0.04
    if visit.read == "photo":
        sigma = round(rng.uniform(0.8, 1.5), 1)
        mark = (round(toe + rng.gauss(0, sigma), 1), round(high + rng.gauss(0, sigma), 1), sigma)
    elif visit.read == "tap":
        mark = (round_to(toe + rng.gauss(0, 2), 0.5), round_to(high + rng.gauss(0, 2), 0.5), 2)
    else:  # felt: coarse, and pulled toward the middle; no error of its own
        mark = (round_to(0.7 * toe + rng.gauss(0, 8), 5), round_to(0.6 * high + rng.gauss(0, 7), 5), None)
        legible = True
    if legible:
        row["toe_mm"], row["high_mm"], row["sigma_mm"] = mark

    speed, length = (MPH, YARD) if student.imperial else (1.0, 1.0)
    seen = rng.random() > 0.05
    if visit.radar and seen:
        row["head_speed"] = round((head + rng.gauss(0, 0.3)) / speed, 1)
        row["ball_speed"] = round((ball + rng.gauss(0, 0.3)) / speed, 1)
        row["launch_deg"] = round(launch + rng.gauss(0, 0.3), 1)
        row["start_deg"] = round(start + rng.gauss(0, 0.4), 1)
        row["backspin_rpm"] = round_to(backspin + rng.gauss(0, 80), 10)
        row["carry"] = round((carry + rng.gauss(0, 2)) / length)
        row["side"] = round((side + rng.gauss(0, 2)) / length)
    row["start"] = by_eye(rng, start, 2, 6, ("far left", "left", "straight", "right", "far right"))
    curves = ("strong left", "left", "straight", "right", "strong right")
    if not student.imperial:  # one of the two writes the words of the trade
        curves = ("hook", "draw", "straight", "fade", "slice")[:: student.hand]
    row["curve"] = by_eye(rng, curve, 4, 16, curves)
    return row


def log(rng, student, visit):
    """One visit's log: its columns and its rows."""
    shift = [rng.gauss(0, student.session_shift_mm) for _ in range(2)]
    centre = (between(student.toe_mm, visit.progress) + shift[0],
              between(student.high_mm, visit.progress) + shift[1])
    speed, length = ("mph", "yd") if student.imperial else ("mps", "m")
    columns = ["session", "day", "place", "ball", "powder", "toe_mm", "high_mm"]
    columns += ["read"] if visit.read == "felt" else ["sigma_mm", "read"]
    if visit.radar:
        columns += ["head_speed_" + speed, "ball_speed_" + speed, "launch_deg", "start_deg",
                    "backspin_rpm", "carry_" + length, "side_" + length, "curve"]
    else:
        columns += ["start", "curve"]
    columns.append("finish_held")
    rows = []
    for _ in range(visit.balls):
        row = shot(rng, student, visit, centre)
        row.update(session=visit.label, day=visit.day, place=visit.place,
                   ball="course" if visit.place == "course" else "range",
                   powder="no" if visit.place == "course" else "yes")
        if "toe_mm" in row:
            row["read"] = visit.read
        for name, unit in (("head_speed", speed), ("ball_speed", speed), ("carry", length), ("side", length)):
            if name in row:
                row[f"{name}_{unit}"] = row.pop(name)
        rows.append(row)
    return columns, rows


def cell(value, decimal_comma):
    if value is None:
        return ""
    if not isinstance(value, float):
        return str(value)
    text = f"{value + 0.0:g}"  # no negative zero
    return text.replace(".", ",") if decimal_comma else text


def files():
    """Every log by its path; the metric student's sheet writes decimal commas."""
    for student in (BEN, IDA):
        rng = random.Random(student.seed)
        comma = not student.imperial
        for visit in student.visits:
            columns, rows = log(rng, student, visit)
            out = io.StringIO()
            writer = csv.writer(out, delimiter=";" if comma else ",", lineterminator="\n")
            writer.writerow(columns)
            writer.writerows([cell(row.get(name), comma) for name in columns] for row in rows)
            path = HERE / student.folder / f"{visit.day}-{visit.place}.csv"
            yield path, out.getvalue(), rows


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="write nothing; fail if a log differs")
    parser.add_argument("--summary", action="store_true", help="write nothing; print means and spreads")
    given = parser.parse_args()
    differing = 0
    for path, text, rows in files():
        if given.summary:
            marks = [(r["toe_mm"], r["high_mm"]) for r in rows if "toe_mm" in r]
            toe, high = zip(*marks)
            speeds = [v for r in rows for k, v in r.items() if k.startswith("ball_speed")]
            print(f"{path.parent.name} {path.stem:18} n {len(marks):2}"
                  f"  toe {statistics.mean(toe):6.1f} sd {statistics.stdev(toe):4.1f}"
                  f"  high {statistics.mean(high):6.1f} sd {statistics.stdev(high):4.1f}"
                  f"  held {sum(r['finish_held'] == 'yes' for r in rows):2}/{len(rows)}"
                  + (f"  ball {statistics.mean(speeds):.1f}" if speeds else ""))
        elif given.check:
            if not path.exists() or path.read_bytes() != text.encode():
                print(f"{path.relative_to(HERE)} is not as this would write it")
                differing += 1
        else:
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(text.encode())
    sys.exit(1 if differing else 0)


if __name__ == "__main__":
    main()
