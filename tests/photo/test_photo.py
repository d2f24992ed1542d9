"""Reading strike marks from pictures, against rendered truth and against OpenCV.

The pictures beside this file are a small share of what `tests/long` renders
anew: unseen seeds for the figures, a few tuning ones. Start at the goals in
`evaluate.py`; where a figure here stands below its goal, that is what is
reached today on these pictures, and `tests/long` prints both.
"""

import json
import pathlib

import cv2
import numpy as np
from PIL import Image, ImageOps

import bad_files
import baseline as by_opencv
import render
import scenes
from costs import run
from evaluate import handles_text, summary
from geometry import depth

HERE = pathlib.Path(__file__).resolve().parent


def ask(program, path, *words):
    """What the program says, with its exit code and its peak memory in bytes."""
    return run([program, "photo", path, *words, "--json"])


def answer(program, path, truth, *words):
    face = "{:g}x{:g}".format(*truth["calliper_mm"])
    done = ask(
        program, path, "--face", face, "--hand", truth["hand"], "--handles", handles_text(truth["handles_px"]), *words
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)[0]


def unseen(rows):
    return [row for row in rows if row["seed"] >= scenes.UNSEEN_FROM]


def a_single(kept):
    return next(t for t in kept if t["kind"] == "single" and t["file"].endswith("jpg") and t["width_px"] == 1600)


# The renderer, against other programs.


def test_truth_is_where_opencv_projects_it(kept):
    # cv2.projectPoints with the camera that the picture states: an independent pinhole with distortion.
    for truth in kept:
        pose, mirror = truth["pose"], np.diag([-1.0 if truth["hand"] == "right" else 1.0, 1, 1])
        a, b = truth["face_mm"][0] / 2, truth["face_mm"][1] / 2
        flat = np.array([[-a, 0.0], [a, 0], [0, b], [0, -b]] + [[m["x_mm"], m["y_mm"]] for m in truth["marks"]])
        points = np.column_stack([flat, depth(flat[:, 0], flat[:, 1], truth["bulge_mm"], truth["roll_mm"])])
        turn = np.array(pose["mm_to_camera"])
        lens = np.array(
            [[pose["focal_px"], 0, pose["centre_px"][0]], [0, pose["focal_px"], pose["centre_px"][1]], [0, 0, 1]]
        )
        rotation, _ = cv2.Rodrigues(turn @ mirror)
        seen, _ = cv2.projectPoints(
            points @ mirror, rotation, -turn @ pose["eye_mm"], lens, np.array([pose["k1"], pose["k2"], 0, 0])
        )
        told = truth["handles_px"] + [[m["u"], m["v"]] for m in truth["marks"]]
        assert np.abs(seen[:, 0] - told).max() < 0.05, truth["file"]


def test_upright_sizes_are_those_that_pillow_and_opencv_see(kept):
    for truth in kept:
        path = HERE / "pictures" / truth["file"]
        upright = ImageOps.exif_transpose(Image.open(path))
        assert upright.size == (truth["width_px"], truth["height_px"])
        assert cv2.imread(str(path)).shape[:2] == (truth["height_px"], truth["width_px"])


def test_a_picture_is_its_seed(kept):
    truth = a_single(kept)
    _, again = render.render(scenes.scene(truth["seed"]))
    told = json.loads((HERE / "pictures" / truth["file"]).with_suffix(".json").read_text())
    assert json.loads(json.dumps(again)) == {key: value for key, value in told.items() if key != "file"}


def test_unseen_pictures_differ_from_tuning_ones_in_seed_and_range():
    tune, other = [scenes.scene(s) for s in range(1, 200)], [scenes.scene(s) for s in range(100_000, 100_200)]
    assert {s["background"] for s in other} - {s["background"] for s in tune} == {"floor"}
    assert {s["outline"] for s in other} - {s["outline"] for s in tune} == {"waves"}
    assert not any("beyond" in s for s in tune) and any(s["beyond"] for s in other)


def test_the_kept_pictures_stay_small():
    assert sum(path.stat().st_size for path in (HERE / "pictures").iterdir()) < 13e6


# Marks and handles, against what is true. Figures that stand below the goal of `GOALS` say so.


def test_a_clear_mark_is_found_to_a_millimetre(read):
    got = summary(unseen(read))["single"]
    assert got["found"] == 100
    # The goals; reached on these twelve: 0.32 and 0.68.
    assert got["median"] <= 0.6
    assert got["p90"] <= 1.2
    assert got["false"] == 0


def test_several_marks_are_found_and_few_are_made_up(read):
    got = summary(unseen(read))["several"]
    assert got["found"] >= 95
    # Goal 3 %; reached 2.6.
    assert got["false"] <= 5.5


def test_hard_pictures_are_read_mostly(read):
    got = summary(unseen(read))["hard"]
    assert got["found"] >= 85
    # Goal 8 %; reached on these ten: none.
    assert got["false"] <= 7


def test_a_face_without_a_mark_mostly_has_none(read):
    # Goal 95 % of the pictures; reached on these five: four.
    assert summary(unseen(read))["none"]["clean"] >= 80


def test_stated_errors_cover_the_true_places(read):
    assert summary(unseen(read))["all"]["cover"] >= 90


def test_proposed_handles_are_a_start_for_dragging(read):
    # Goal: 90 % of the accepted pictures within 2.5 mm at all four; reached 50 %, half of them within 2.4 mm at
    # the worst of the four. How a face is tilted and how its outline leans look alike.
    got = summary(unseen(read))["all"]
    assert got["handles"] >= 42
    assert got["handles_median"] <= 3


def test_bad_pictures_are_refused_and_good_ones_accepted(read):
    got = summary(unseen(read))["all"]
    assert got["refused"] >= 90
    assert got["accepted_given"] >= 95
    # With handles of its own it isn't sure of some: reached 83.
    assert got["accepted"] >= 80


def test_as_many_marks_are_found_as_by_the_opencv_pipeline(read, baseline):
    both = {row["seed"] for row in baseline}
    ours, theirs = summary([row for row in read if row["seed"] in both]), summary(baseline)
    for kind in ("single", "several", "hard"):
        assert ours[kind]["found"] >= theirs[kind]["found"]
    # Half of the marks at most as far off (0.77 mm by OpenCV when the baseline was kept).
    assert ours["all"]["median"] <= theirs["all"]["median"]
    assert ours["all"]["cover"] > theirs["all"]["cover"]


# The flattening, against cv2.


def as_cv2(told):
    """The program's camera in cv2's words."""
    pose = told["pose"]
    lens = np.array([[pose["focal_px"], 0, pose["centre"]["x"]], [0, pose["focal_px"], pose["centre"]["y"]], [0, 0, 1]])
    rotation, _ = cv2.Rodrigues(np.array(pose["rotation"]))
    return rotation, np.array(pose["translation_mm"]), lens, -1.0 if pose["toe_left"] else 1.0


def grid(truth, mirror):
    a, b = truth["calliper_mm"][0] / 2, truth["calliper_mm"][1] / 2
    x, y = np.meshgrid(np.linspace(-a, a, 25), np.linspace(-b, b, 13))
    x, y = x.ravel(), y.ravel()
    return np.column_stack([mirror * x, y, depth(x, y, 305.0, 305.0)])


def test_the_mapping_is_that_of_opencv_to_a_tenth_of_a_pixel(program, kept):
    for truth in [t for t in kept if t["kind"] != "bad"][:20]:
        told = answer(program, HERE / "pictures" / truth["file"], truth)
        rotation, move, lens, mirror = as_cv2(told)
        # Marks: the program's own pixels against cv2.projectPoints.
        for mark in told["marks"]:
            x, y = mark["x_mm"], mark["y_mm"]
            seen, _ = cv2.projectPoints(
                np.array([[mirror * x, y, depth(x, y, 305.0, 305.0)]]), rotation, move, lens, None
            )
            assert np.abs(seen.ravel() - [mark["u_px"], mark["v_px"]]).max() < 0.1
        # The whole face: the pose that cv2.solvePnP finds at this focal length.
        corners = by_opencv.face_points(truth["calliper_mm"], truth["hand"])
        _, r, t = cv2.solvePnP(
            corners,
            np.array(truth["handles_px"]),
            lens,
            None,
            rotation.copy(),
            move.copy(),
            True,
            cv2.SOLVEPNP_ITERATIVE,
        )
        ours, _ = cv2.projectPoints(grid(truth, mirror), rotation, move, lens, None)
        theirs, _ = cv2.projectPoints(grid(truth, mirror), r, t, lens, None)
        assert np.abs(ours - theirs).max() < 0.1, truth["file"]


def test_the_face_laid_flat_is_that_of_cv2_remap_to_a_tenth_of_a_pixel(program, kept, tmp_path):
    tried = 0
    for truth in [t for t in kept if t["kind"] in ("several", "hard") and max(t["width_px"], t["height_px"]) <= 1700]:
        path, out = HERE / "pictures" / truth["file"], tmp_path / "flat.png"
        told = answer(program, path, truth, "--flat", out)
        ours = cv2.imread(str(out), cv2.IMREAD_GRAYSCALE).astype(np.float32)
        rotation, move, lens, mirror = as_cv2(told)
        h, w = ours.shape
        theirs = np.zeros_like(ours)
        light = cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2GRAY)
        ends = np.zeros((4, h * w, 2))
        for k, (du, dv) in enumerate([(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)]):
            x, y = np.meshgrid((np.arange(w) + du) / 2 - w / 4, h / 4 - (np.arange(h) + dv) / 2)
            x, y = x.ravel(), y.ravel()
            points = np.column_stack([mirror * x, y, depth(x, y, 305.0, 305.0)])
            seen = cv2.projectPoints(points, rotation, move, lens, None)[0][:, 0]
            ends[k] = seen
            at = (seen - 0.5).astype(np.float32).reshape(h, w, 2)
            theirs += cv2.remap(light, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE) / 4
        inside = ((ends > 1) & (ends < [truth["width_px"] - 1, truth["height_px"] - 1])).all((0, 2)).reshape(h, w)
        inside[:2] = inside[-2:] = inside[:, :2] = inside[:, -2:] = False
        # How far one has to be moved to lie on the other, by least squares on the slopes of the light.
        right, down = cv2.Sobel(theirs, cv2.CV_32F, 1, 0) / 8, cv2.Sobel(theirs, cv2.CV_32F, 0, 1) / 8
        slopes = np.column_stack([right[inside], down[inside]])
        shift, *_ = np.linalg.lstsq(slopes, (ours - theirs)[inside], rcond=None)
        # A cell is half a millimetre.
        per_mm = truth["pose"]["focal_px"] / truth["pose"]["distance_mm"]
        assert np.abs(shift).max() / 2 * per_mm < 0.1, (truth["file"], shift)
        assert np.abs(ours - theirs)[inside].mean() < 1.0, truth["file"]
        tried += 1
    assert tried >= 10


# The same picture in other wrappings.


def test_a_turned_picture_gives_the_same_marks(program, kept, tmp_path):
    truth = a_single(kept)
    upright = np.array(ImageOps.exif_transpose(Image.open(HERE / "pictures" / truth["file"])).convert("RGB"))
    first = None
    for orientation, turn in render.TURNED.items():
        exif = Image.Exif()
        exif[0x0112] = orientation
        path = tmp_path / f"turned{orientation}.png"
        Image.fromarray(np.ascontiguousarray(turn(upright))).save(path, exif=exif, compress_level=1)
        told = answer(program, path, truth)
        places = [(m["x_mm"], m["y_mm"]) for m in told["marks"]]
        first = first or places
        assert places and np.allclose(places, first, atol=1e-6), orientation


def test_a_mirrored_picture_of_the_other_hand_has_the_same_marks(program, kept, tmp_path):
    truth = a_single(kept)
    upright = ImageOps.exif_transpose(Image.open(HERE / "pictures" / truth["file"])).convert("RGB")
    plain, flipped = tmp_path / "plain.png", tmp_path / "flipped.png"
    upright.save(plain, compress_level=1), ImageOps.mirror(upright).save(flipped, compress_level=1)
    one = answer(program, plain, truth)["marks"]
    other = truth | {
        "hand": "left" if truth["hand"] == "right" else "right",
        "handles_px": [[truth["width_px"] - u, v] for u, v in truth["handles_px"]],
    }
    two = answer(program, flipped, other)["marks"]
    assert len(one) == len(two)
    for a, b in zip(one, two):
        assert np.hypot(a["x_mm"] - b["x_mm"], a["y_mm"] - b["y_mm"]) < 0.05


def test_handles_moved_a_little_move_the_marks_as_little(program, kept):
    truth = a_single(kept)
    path = HERE / "pictures" / truth["file"]
    first = answer(program, path, truth)["marks"]
    moved = answer(program, path, truth | {"handles_px": [[u + 1.5, v + 1.0] for u, v in truth["handles_px"]]})["marks"]
    assert len(first) == len(moved)
    per_mm = truth["pose"]["focal_px"] / truth["pose"]["distance_mm"]
    for a, b in zip(first, moved):
        assert np.hypot(a["x_mm"] - b["x_mm"], a["y_mm"] - b["y_mm"]) < 2.5 * np.hypot(1.5, 1.0) / per_mm


def test_the_same_bytes_give_the_same_answer(program, kept):
    truth = a_single(kept)
    path = HERE / "pictures" / truth["file"]
    assert answer(program, path, truth) == answer(program, path, truth)


# Files and handles that are no good.


def test_what_is_no_picture_is_refused_in_words_and_in_little_memory(program, kept, tmp_path):
    good = (HERE / "pictures" / a_single(kept)["file"]).read_bytes()
    for name, (data, refused) in bad_files.every(good).items():
        path = tmp_path / name
        path.write_bytes(data)
        done = ask(program, path, "--face", "118x58", "--handles", "120,240 520,240 320,140 320,340", "--hand", "left")
        assert done.returncode in (0, 1), f"{name}: {done.returncode} {done.stderr}"
        assert "panicked" not in done.stderr, name
        assert done.peak < 120e6, f"{name}: {done.peak / 1e6:.0f} MB"
        if refused:
            assert done.returncode == 1, f"{name} was taken for a picture: {done.stdout[:300]}"
        if done.returncode == 1:
            assert len(done.stderr.split()) > 4, name


def test_a_heic_is_told_what_to_do_with(program, tmp_path):
    path = tmp_path / "photo.heic"
    path.write_bytes(bad_files.HEIC)
    done = ask(program, path)
    assert done.returncode == 1
    assert "JPEG" in done.stderr


def test_handles_that_fix_no_face_are_refused_in_words(program, kept):
    truth = a_single(kept)
    path = HERE / "pictures" / truth["file"]
    for what, handles in bad_files.bad_handles(truth["width_px"], truth["height_px"]).items():
        done = ask(program, path, "--face", "118x58", "--hand", "left", "--handles", handles)
        assert done.returncode in (1, 2), f"{what}: {done.returncode} {done.stdout[:200]}"
        assert "panicked" not in done.stderr and len(done.stderr.split()) > 4, what


def test_the_wrong_hand_is_told(program, kept):
    truth = a_single(kept)
    other = "left" if truth["hand"] == "right" else "right"
    done = ask(
        program, HERE / "pictures" / truth["file"], "--hand", other, "--handles", handles_text(truth["handles_px"])
    )
    assert done.returncode == 1 and "hand" in done.stderr
