"""The what-if against numpy: the swing behind a file, and what each fix is worth.

The swing is checked against plain moments of the file's columns, the fixes by
hitting drives of that swing, changed as the answer says, with an impact and a
flight that are written in Python from the published equations
(`test_flight_scipy.py`) and stepped here by Runge and Kutta's fourth-order rule
for all drives at once. The student is invented.

Start at `test_each_fix_is_worth_what_numpy_makes_of_its_changes`.
"""

import numpy as np
import pytest
from test_flight_scipy import CLUB, DECAY, DELIVERY, G, LAWS, MASS, RADIUS, numpy_impact

MEAN = np.array([41.0, 14.0, 1.5, -1.0, 0.5, -8.0, 1.0])
SD = np.array([1.3, 1.4, 2.6, 2.2, 1.3, 9.0, 7.0])
ERROR = np.array([0.5, 0.8, 0.8, 0.8, 0.8, 1.5, 1.5])
FACE_PATH = 0.5
DENSITY, VISCOSITY = 1.225, 1.7894e-5  # ISO 2533:1975 at sea level; F11, L2


def file_of(path, balls, seed):
    """A log of so many balls in sessions of twelve; its rows as they were read."""
    rng = np.random.default_rng(seed)
    correlation = np.eye(7)
    correlation[2, 3] = correlation[3, 2] = FACE_PATH
    swings = rng.multivariate_normal(MEAN, correlation * np.outer(SD, SD), balls)
    read = swings + ERROR * rng.standard_normal(swings.shape)
    sigmas = [f"sigma_{name}" for name in DELIVERY[:5]] + ["sigma_mm"]
    errors = ",".join(map(str, ERROR[:6]))
    lines = [f"s{n // 12}," + ",".join(f"{x:.4f}" for x in row) + "," + errors for n, row in enumerate(read)]
    path.write_text("\n".join([",".join(["session", *DELIVERY, *sigmas]), *lines]) + "\n")
    return read


def landings(swings):
    """Carry and side of each drive, m: the impact drive by drive, the flight by RK4
    in steps of 10 ms, the landing on the last step's straight line."""
    law = LAWS["ods"]
    struck = [numpy_impact(swing, CLUB, 1)[1] for swing in swings]
    velocity, spin = (np.array([pair[i] for pair in struck]) for i in (0, 1))
    push = DENSITY * np.pi * RADIUS**2 / (2 * MASS)

    def rates(v, w):
        speed = np.linalg.norm(v, axis=1, keepdims=True)
        lift = np.cross(w, v)
        across = np.linalg.norm(lift, axis=1, keepdims=True)
        ratio = RADIUS * across / speed**2
        held = np.clip(2 * RADIUS * speed * DENSITY / VISCOSITY, 5e4, 2.1e5)
        c_d = law["cd1"] + 0.18 * ratio + law["cd3"] * np.sin(np.pi * (held - 9e4) / 2e5)
        c_l = law["cl1"] * ratio**0.4
        pull = push * speed * (speed * c_l * lift / across - c_d * v)
        return pull - np.array([0.0, G, 0.0]), -DECAY * speed / RADIUS * w

    place, h = np.zeros_like(velocity), 0.01
    found = np.full((len(swings), 2), np.nan)
    for _ in range(2000):
        a1, w1 = rates(velocity, spin)
        a2, w2 = rates(velocity + h / 2 * a1, spin + h / 2 * w1)
        a3, w3 = rates(velocity + h / 2 * a2, spin + h / 2 * w2)
        a4, w4 = rates(velocity + h * a3, spin + h * w3)
        step = h * velocity + h * h / 6 * (a1 + a2 + a3)
        after = place + step
        lands = np.isnan(found[:, 0]) & (after[:, 1] < 0)
        part = place[lands, 1] / (place[lands, 1] - after[lands, 1])
        found[lands] = (place[lands] + part[:, None] * step[lands])[:, [0, 2]]
        if not np.isnan(found).any():
            return found
        place = after
        velocity = velocity + h / 6 * (a1 + 2 * a2 + 2 * a3 + a4)
        spin = spin + h / 6 * (w1 + 2 * w2 + 2 * w3 + w4)
    raise AssertionError("a ball stayed in the air for 20 s")


@pytest.fixture(scope="module")
def answer(chalkface, tmp_path_factory):
    folder = tmp_path_factory.mktemp("what-if")
    read = file_of(folder / "log.csv", 600, 11)
    return chalkface.json("what-if", folder / "log.csv", "--fairway-m", 32, "--trouble", "right25"), read


def test_the_swing_behind_a_file_has_the_moments_of_its_columns(answer):
    found, read = answer
    model = found["model"]
    names = ["head_speed_mps", "loft_deg", "face_deg", "path_deg", "attack_deg", "strike_toe_mm", "strike_high_mm"]
    assert model["quantities"] == names
    covariance = np.cov(read.T) - np.diag(ERROR**2)
    sd = np.sqrt(np.diag(covariance))
    # What is assumed before counts as two balls of 600; the rest is arithmetic.
    assert np.allclose(model["mean"], read.mean(axis=0), atol=0.03 * SD)
    assert np.allclose(model["sd"], sd, rtol=0.02)
    assert np.allclose(model["correlation"], covariance / np.outer(sd, sd), atol=0.02)
    # Standard errors: of a mean of 50 sessions at least SD over root n, of a spread about SD over root 2n.
    n = len(read)
    plain = np.sqrt((sd**2 + ERROR**2) / n)
    assert (model["mean_sigma"] > 0.99 * plain).all() and (model["mean_sigma"] < 1.6 * plain).all()
    worth = n * (sd**2 / (sd**2 + ERROR**2)) ** 2
    assert np.allclose(model["sd_sigma"], sd / np.sqrt(2 * worth), rtol=0.15)


def test_each_fix_is_worth_what_numpy_makes_of_its_changes(answer):
    found, _ = answer
    model = found["model"]
    mean, sd = np.array(model["mean"]), np.array(model["sd"])
    shape = np.linalg.cholesky(np.array(model["correlation"]))
    rng = np.random.default_rng(5)
    half = rng.standard_normal((1000, 7)) @ shape.T
    drives = np.concatenate([half, -half])

    def hit(shift, scale):
        carry, side = landings(mean + shift + scale * sd * drives).T
        return carry, np.abs(side) <= 16.0, side > 25.0

    today = hit(np.zeros(7), np.ones(7))
    error = lambda values: values.std() / np.sqrt(len(values))
    for name, value, key in [("carry", today[0], "carry_m"), ("fairway", today[1], "fairway_rate"), ("trouble", today[2], "trouble_rate")]:
        assert abs(value.mean() - found["today"][key]["estimate"]) < 4 * error(value) + 1e-3, name
    assert len(found["fixes"]) == 8 and [fix["rank"] for fix in found["fixes"]] == list(range(1, 9))
    moved = 0
    for fix in found["fixes"] + found["combinations"]:
        shift, scale = np.zeros(7), np.ones(7)
        for change in fix["change"]:
            place = model["quantities"].index(change["quantity"])
            if change["what"] == "mean":
                shift[place] += change["to"] - change["from"]
            else:
                scale[place] *= change["to"] / change["from"]
        then = hit(shift, scale)
        for key, now, after in zip(["carry_gain_m", "fairway_gain", "trouble_change"], today, then):
            gained = after.astype(float) - now
            said = fix[key]
            assert said["low"] <= said["estimate"] <= said["high"], fix
            assert abs(gained.mean() - said["estimate"]) < 4 * error(gained) + 2e-3, (fix, key, gained.mean())
            moved += abs(said["estimate"]) > 8 * error(gained) + 4e-3
    assert moved > 8, "most fixes change something that this would see"


def test_what_the_student_cares_about_decides_the_order(chalkface, tmp_path):
    file_of(tmp_path / "log.csv", 96, 3)
    score = {
        "distance": lambda fix: fix["carry_gain_m"]["estimate"],
        "fairways": lambda fix: 100 * fix["fairway_gain"]["estimate"],
        "both": lambda fix: fix["carry_gain_m"]["estimate"] + 100 * fix["fairway_gain"]["estimate"],
    }
    for care, worth in score.items():
        fixes = chalkface.json("what-if", tmp_path / "log.csv", "--care", care, "--drives", 2000)["fixes"]
        scores = [worth(fix) for fix in fixes]
        assert scores == sorted(scores, reverse=True)
        assert np.allclose(scores, [fix["score"] for fix in fixes])


def test_the_same_file_gives_the_same_bytes_and_left_handers_mirror(chalkface, tmp_path):
    file_of(tmp_path / "log.csv", 60, 4)
    one = chalkface.run("what-if", tmp_path / "log.csv", "--json").stdout
    assert one and one == chalkface.run("what-if", tmp_path / "log.csv", "--json").stdout
    lines = (tmp_path / "log.csv").read_text().splitlines()
    turned = [lines[0]]
    for line in lines[1:]:
        cells = line.split(",")
        turned.append(",".join([*cells[:3], str(-float(cells[3])), str(-float(cells[4])), *cells[5:]]))
    (tmp_path / "left.csv").write_text("\n".join(turned) + "\n")
    right = chalkface.json("what-if", tmp_path / "log.csv")
    left = chalkface.json("what-if", tmp_path / "left.csv", "--hand", "left")
    assert abs(right["today"]["carry_m"]["estimate"] - left["today"]["carry_m"]["estimate"]) < 0.2
    assert right["fixes"][0]["name"] == left["fixes"][0]["name"]


def test_what_can_not_be_asked_is_refused_with_a_reason(chalkface, tmp_path):
    file_of(tmp_path / "log.csv", 24, 5)
    log = tmp_path / "log.csv"
    assert "fairway width is 0" in chalkface.refused("what-if", log, "--fairway-m", "0")
    assert "size of tightening is 2" in chalkface.refused("what-if", log, "--size", "tighten=2")
    (tmp_path / "empty.csv").write_text("session,head_speed_mps\n")
    assert "no rows below" in chalkface.refused("what-if", tmp_path / "empty.csv")
    (tmp_path / "silent.csv").write_text("session,finish_held\na,yes\nb,no\n")
    assert "no ball has a reading" in chalkface.refused("what-if", tmp_path / "silent.csv")
    assert "number of drives is 0; allowed is 100 to" in chalkface.refused("what-if", log, "--drives", "0")
    assert "trouble line is NaN m" in chalkface.refused("what-if", log, "--trouble", "rightNaN")
    assert ".html, .svg" in chalkface.refused("what-if", log, "--out", tmp_path / "page.gif")
    assert "no student called Nobody" in chalkface.refused("what-if", "Nobody", "--book", books(chalkface, tmp_path))


def books(chalkface, folder):
    """A coach's book without that student."""
    chalkface.json("book", "new", "--role", "coach", "--name", "Coach", "--book", folder / "coach.book")
    chalkface.json("student", "add", "Somebody", "--hand", "right", "--book", folder / "coach.book")
    return folder / "coach.book"


def test_one_ball_or_a_strange_file_calls_no_fix(chalkface, tmp_path):
    (tmp_path / "one.csv").write_text("session,head_speed_mps\na,42\n")
    assert chalkface.json("what-if", tmp_path / "one.csv")["standing"] == "few_balls"
    # Fifty times the same ball, and readings that go against all physics: finite figures all the same.
    same = "\n".join(f"s{n // 10},42,13,0,0,0,0,5,0.001" for n in range(50))
    (tmp_path / "same.csv").write_text("session," + ",".join(DELIVERY) + ",sigma_mm\n" + same + "\n")
    against = "\n".join(f"s{n // 10},{30 + 2 * n},{250 - 5 * n}" for n in range(30))
    (tmp_path / "against.csv").write_text("session,ball_speed_mps,carry_m\n" + against + "\n")
    for name in ("same.csv", "against.csv"):
        found = chalkface.json("what-if", tmp_path / name)
        for fix in found["fixes"]:
            gain = fix["carry_gain_m"]
            assert np.isfinite([gain["low"], gain["estimate"], gain["high"], fix["score"]]).all(), (name, fix)
        assert np.isfinite(found["model"]["sd"]).all() and min(found["model"]["sd"]) > 0, name
