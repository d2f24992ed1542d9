"""Small rendered pictures of faces with their four handles, for training: the test renderer at a few hundred pixels.

Only seeds for tuning (below 100,000). About 100 ms a picture.

    python core/train/make_faces.py 30000 31000 OUT_DIR/faces_30000.npz
"""

import pathlib
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/photo"))

import cv2
import numpy as np

import render
import scenes
import surroundings
from coat import Sheet
from geometry import Camera, outline
from light import develop

cv2.setNumThreads(1)
SIDE = 560  # every picture is kept in a square of so many pixels
FACE_PX = 150  # about so long is a face, where the square allows


def smaller(scene):
    """The same scene by a sensor with fewer pixels."""
    camera, lens = scene["camera"], scene["lens"]
    focal = camera["film_mm"] / 36
    share = scene["face_mm"][0] * focal / camera["distance_mm"]
    long = max(camera["width"], camera["height"])
    side = min(max(FACE_PX / share, 300), SIDE)
    by = side / long
    camera["width"], camera["height"] = round(camera["width"] * by), round(camera["height"] * by)
    for key in ("blur_px", "motion_px", "denoise"):
        lens[key] *= by
    lens["shot"] *= by * by
    lens["read"] *= by
    lens["sharpen_px"] = max(lens["sharpen_px"] * by, 0.5)
    # Means over pixels hide most of what sharpening does to fine edges.
    lens["sharpen"] *= by
    return by


def coarse_mesh(scene, curve, bulge, roll, whole=surroundings.head_mesh):
    points, dust = whole(scene, curve[::3], bulge, roll)
    keep = [i for i in range(len(points)) if i < 6 or i % 2 == 0 or i == len(points) - 1]
    return points[keep], dust[keep]


def drawn(seed):
    """The seed's scene, one in twelve without powder; nothing for a face that is cut off or seen from too far aside."""
    bare = np.random.default_rng([seed, 5]).random() < 0.08
    scene = scenes.scene(seed, "bad:powder" if bare else None)
    return None if scene["kind"] == "bad" and ({"cut", "tilt"} & set(scene["why"])) else scene


def one(seed):
    """-> picture (h, w, 3) 8-bit RGB, its handles, sizes; nothing for a face that is left out."""
    scene = drawn(seed)
    if scene is None:
        return None
    smaller(scene)
    surroundings.head_mesh, render.draw_head = coarse_mesh, surroundings.draw_head
    render.Sheet = lambda _: Sheet(2)
    picture, truth = render.render(scene)
    h, w = picture.shape[:2]
    film = scene["camera"]["film_mm"] if scene["camera"]["says_film"] else 0.0
    facts = [w, h, *truth["calliper_mm"], film, scene["hand"] == "right", scene["coat"]["thick"] > 0]
    return picture, np.array(truth["handles_px"]), np.array(facts, np.float32)


WHOLE_MESH = surroundings.head_mesh
coarse_mesh.__defaults__ = (WHOLE_MESH,)


def main():
    first, last, out = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    assert last <= scenes.UNSEEN_FROM
    pictures, handles, facts = [], [], []
    for seed in range(first, last):
        got = one(seed)
        if got is None:
            continue
        # JPEG holds them in little memory.
        _, data = cv2.imencode(".jpg", got[0][..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 92])
        pictures.append(data.tobytes())
        handles.append(got[1])
        facts.append(got[2])
    lengths = np.array([len(data) for data in pictures])
    everything = np.frombuffer(b"".join(pictures), np.uint8)
    part = pathlib.Path(out + ".part.npz")
    np.savez(part, pictures=everything, lengths=lengths, handles=np.stack(handles), facts=np.stack(facts))
    part.rename(out)
    print(len(pictures))


if __name__ == "__main__":
    main()
