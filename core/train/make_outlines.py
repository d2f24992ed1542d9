"""Outlines of faces as small pictures show them, 180 places each, from the seed alone, without the picture.

Beside them the outline on the face (mm), its bulge and roll, the camera that sees it (where the rows of its frame
point, its place, lens and size, in the frame whose toe is on the left), and the facts of `make_faces.py`.

    python core/train/make_outlines.py 30000 30500 OUT_DIR/outlines_30000.npz          # of pictures, in their order
    python core/train/make_outlines.py 40000 60000 OUT_DIR/shapes_40000.npz bent       # more; every other one bent
"""

import sys

import numpy as np

import make_faces
import render
import scenes
from geometry import _centred, depth, outline


def bent(curve, width, height, rng):
    """The curve with a smooth random share added to its radius, and its centre lines where they then are."""
    angle = np.arctan2(curve[:, 1], curve[:, 0])
    at = np.linspace(-np.pi, np.pi, 12, endpoint=False)
    apart = np.abs((angle[:, None] - at + np.pi) % (2 * np.pi) - np.pi)
    weight = np.exp(-0.5 * (apart / 0.5) ** 2)
    more = (weight * rng.normal(0, 0.03, len(at))).sum(1) / weight.sum(1)
    return _centred(curve * (1 + more[:, None]), width, height)


def one(seed, bend=False):
    """-> outline in the picture, outline on the face, curves, camera, facts; nothing for a face that is left out."""
    scene = make_faces.drawn(seed)
    if scene is None:
        return None
    make_faces.smaller(scene)
    (width, height), bulge, roll = scene["face_mm"], scene["bulge_mm"], scene["roll_mm"]
    curve = outline(scene["outline"], width, height, np.random.default_rng([seed, 11]), scene["wide"])
    if bend and seed % 2:
        curve = bent(curve, width, height, np.random.default_rng([seed, 6]))
    camera = render.camera_of(scene, curve)
    curve = curve[::4]
    seen = camera.project(np.concatenate([curve, depth(curve[:, 0], curve[:, 1], bulge, roll)[:, None]], -1))
    film = scene["camera"]["film_mm"] if scene["camera"]["says_film"] else 0.0
    calliper = [round(v * 2) / 2 for v in scene["face_mm"]]
    facts = [camera.width, camera.height, *calliper, film, scene["hand"] == "right", scene["coat"]["thick"] > 0]
    # Of a left-hander's club: the picture in a mirror.
    if scene["hand"] == "right":
        rows, middle = camera.rows * camera.mirror, camera.centre[0]
    else:
        rows, middle = camera.rows * np.array([[-1], [1], [1]]), camera.width - camera.centre[0]
    eye = camera.eye * camera.mirror
    lens = [camera.focal_px, middle, camera.centre[1], camera.k1, camera.k2]
    return tuple(map(np.float32, (seen, curve, [width, height, bulge, roll], np.concatenate([rows.ravel(), eye, lens]), facts)))


def main():
    first, last, out = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    assert last <= scenes.UNSEEN_FROM
    every = [got for seed in range(first, last) if (got := one(seed, len(sys.argv) > 4)) is not None]
    names = ["outlines", "curves", "faces", "cameras", "facts"]
    np.savez(out, **{name: np.stack(part) for name, part in zip(names, zip(*every))})
    print(len(every))


if __name__ == "__main__":
    main()
