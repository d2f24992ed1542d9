"""Renders pictures of powdered driver faces, with what is true in them beside each.

The rule: a picture is its seed; nothing else decides a byte of it (on one
build of numpy and OpenCV). Start at `render`; README.md has the format.

    python tests/photo/render.py --seeds 1:401 --into DIR [--jobs 2]
"""

import argparse
import io
import json
import multiprocessing
import pathlib

import cv2
import numpy as np
from PIL import Image

import scenes
from coat import Sheet, paint
from geometry import Camera, depth, outline
from light import Light, develop, glare_on
from surroundings import draw_head, ground

TURNED = {
    1: lambda a: a,
    2: np.fliplr,
    3: lambda a: a[::-1, ::-1],
    4: np.flipud,
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: np.rot90(a, 1),
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: np.rot90(a, -1),
}


def camera_of(scene, curve):
    """The camera, placed so that the whole face is in the picture (or is cut off, where that is the point)."""
    c, (bulge, roll) = scene["camera"], (scene["bulge_mm"], scene["roll_mm"])
    rim = np.concatenate([curve, depth(curve[:, 0], curve[:, 1], bulge, roll)[:, None]], -1)
    w, h = c["width"], c["height"]
    focal = c["film_mm"] / 36.0 * max(w, h)
    middle = (w * (0.5 + c["off_axis"][0]), h * (0.5 + c["off_axis"][1]))

    def at(distance, shift):
        return Camera(
            scene["hand"],
            w,
            h,
            focal,
            middle,
            distance,
            c["tilt_deg"],
            c["towards_deg"],
            c["roll_deg"],
            shift,
            c["k1"],
            c["k2"],
        )

    distance = c["distance_mm"]
    for _ in range(60):
        seen = at(distance, (0, 0)).project(rim)
        low, high = seen.min(0), seen.max(0)
        edge = 0.015 * max(w, h)
        room = np.array([w, h]) - (high - low) - 2 * edge
        if (room > 0).all():
            break
        distance *= 1.04
    spare_low, spare_high = -(low - edge), np.array([w, h]) - edge - high
    # Mostly near the middle: people aim.
    shift = np.array([(lo + hi) / 2 + (hi - lo) / 2 * s**3 for lo, hi, s in zip(spare_low, spare_high, c["shift"])])
    camera = at(distance, tuple(shift))
    if scene["kind"] == "bad" and "cut" in scene["why"]:
        # Push the face over the nearest edge in some direction.
        part, where = c["cut"]
        size = high - low
        push = np.array([np.cos(where), np.sin(where)])
        axis = int(abs(push[1]) * size[0] > abs(push[0]) * size[1])
        side = np.sign(push[axis]) or 1.0
        target = shift.copy()
        target[axis] = [w, h][axis] - high[axis] + part * size[axis] if side > 0 else -low[axis] - part * size[axis]
        camera = at(distance, tuple(target))
    return camera


def render(scene):
    """-> upright picture (h, w, 3) 8-bit RGB, and what is true in it."""
    rng = np.random.default_rng([scene["seed"], 11])
    width, height = scene["face_mm"]
    bulge, roll = scene["bulge_mm"], scene["roll_mm"]
    curve = outline(scene["outline"], width, height, rng, scene["wide"])
    camera = camera_of(scene, curve)
    w, h = camera.width, camera.height
    fine = camera.focal_px / camera.distance_mm  # pixels in a mm
    sheet = Sheet(10 if fine > 7 else 7)
    light = Light(scene["light"])

    albedo, bare, mask, far = paint(scene, curve, sheet, rng)
    facing, above, mirrored = light.on_face(sheet, camera, bulge, roll, rng)
    face = albedo * (facing[..., None] * light.direct + above[..., None] * light.around)
    gloss = scene["light"]["face_gloss"]
    face += (mirrored * np.minimum(facing * 2, 1) * (0.04 + bare) * gloss)[..., None] * light.direct
    white = float(np.percentile(face.mean(-1)[mask > 0.5], 85))
    for glare in scene["glare"]:
        face += (
            (glare_on(sheet, glare, rng) * white)[..., None]
            * (light.direct + light.around)
            / (light.direct + light.around).mean()
        )
    # The rim turns away from the light.
    face *= (1 - 0.35 * np.exp(-np.clip(far, 0, 9) / 0.5))[..., None]
    ratio = sheet.per_mm / fine
    layer = np.dstack([face, mask])
    if ratio > 1:
        layer = cv2.GaussianBlur(layer, (0, 0), 0.42 * ratio)

    image = ground(scene["background"], (h, w), max(6.0, 6.0 * fine), rng.uniform(0.6, 5.0) * w / 1600, rng)
    image *= light.around + light.direct * np.float32(0.25 + 0.6 * rng.uniform())
    cover = draw_head(image, camera, scene, curve, bulge, roll, light, 1.0)
    if scene["lighting"] != "overcast":
        # The head's shadow on what is behind it.
        move = np.float32([[1, 0, -light.to[0] * camera.mirror[0] * 20 * fine], [0, 1, light.to[1] * 20 * fine]])
        shadow = cv2.GaussianBlur(cv2.warpAffine(cover, move, (w, h)), (0, 0), 2.5 * fine)
        image *= (1 - 0.6 * shadow * (1 - cover))[..., None]
    image = cv2.GaussianBlur(image, (0, 0), max(0.8, 0.25 * fine))
    _overlay(image, layer, sheet, camera, curve, bulge, roll)

    seen = image.mean(-1)[::4, ::4]
    lens = scene["lens"]
    # Exposed for the middle, but not so that powder in the light is lost.
    aim = 0.5 * white + 0.5 * max(white, float(np.percentile(seen, 96)))
    lens["gain"] = float(lens["exposure"] / aim * 2 ** min(lens["ev"], 0.25) / np.mean(lens["balance"]))
    return develop(image, scene, rng), _truth(scene, camera, curve)


def _overlay(image, layer, sheet, camera, curve, bulge, roll):
    """Puts the face where its rays meet it; the map from pixels to mm is smooth, so it is traced on a coarse grid."""
    h, w = image.shape[:2]
    rim = camera.project(np.concatenate([curve, depth(curve[:, 0], curve[:, 1], bulge, roll)[:, None]], -1))
    coarse = 8
    # Whole coarse cells around the face.
    (u0, v0), (u1, v1) = rim.min(0) // coarse - 1, rim.max(0) // coarse + 2
    u0, v0, u1, v1 = max(int(u0), 0), max(int(v0), 0), min(int(u1), w // coarse), min(int(v1), h // coarse)
    u, v = (np.arange(u0 - 1, u1 + 1) + 0.5) * coarse, (np.arange(v0 - 1, v1 + 1) + 0.5) * coarse
    x, y = camera.on_face(*np.meshgrid(u, v), bulge, roll)
    at = sheet.pixels(np.stack([x, y], -1)).astype(np.float32)
    at = cv2.resize(at, (at.shape[1] * coarse, at.shape[0] * coarse), interpolation=cv2.INTER_LINEAR)
    at = np.ascontiguousarray(at[coarse:-coarse, coarse:-coarse])
    got = cv2.remap(layer, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    part = image[v0 * coarse : v1 * coarse, u0 * coarse : u1 * coarse]
    part += got[..., 3:] * (got[..., :3] - part)


def _truth(scene, camera, curve):
    bulge, roll = scene["bulge_mm"], scene["roll_mm"]
    lift = lambda p: np.concatenate([p, depth(p[..., 0], p[..., 1], bulge, roll)[..., None]], -1)
    a, b = scene["face_mm"][0] / 2, scene["face_mm"][1] / 2
    handles = camera.project(lift(np.array([[-a, 0], [a, 0], [0, b], [0, -b]])))
    marks = [
        {
            "x_mm": round(m["x"], 3),
            "y_mm": round(m["y"], 3),
            "diameter_mm": round(m["diameter"], 2),
            "contrast": round(m["contrast"], 3),
            "smear_mm": round(m["smear"], 2),
            "u": round(float(p[0]), 2),
            "v": round(float(p[1]), 2),
        }
        for m, p in zip(
            scene["marks"],
            camera.project(lift(np.array([[m["x"], m["y"]] for m in scene["marks"]] or np.zeros((0, 2))))),
        )
    ]
    return {
        "seed": scene["seed"],
        "set": scene["set"],
        "kind": scene["kind"],
        "why": scene["why"],
        "hand": scene["hand"],
        "width_px": camera.width,
        "height_px": camera.height,
        "orientation": scene["camera"]["orientation"],
        "handles_px": np.round(handles, 3).tolist(),
        "face_mm": np.round(scene["face_mm"], 3).tolist(),
        "calliper_mm": [round(v * 2) / 2 for v in scene["face_mm"]],
        "bulge_mm": round(bulge, 2),
        "roll_mm": round(roll, 2),
        "marks": marks,
        "lighting": scene["lighting"],
        "background": scene["background"],
        "outline": scene["outline"],
        "outline_px": np.round(camera.project(lift(curve[::15])), 2).tolist(),
        "pose": {
            "focal_px": round(camera.focal_px, 3),
            "centre_px": np.round(camera.centre, 3).tolist(),
            "k1": camera.k1,
            "k2": camera.k2,
            "distance_mm": round(camera.distance_mm, 2),
            "tilt_deg": round(camera.tilt_deg, 3),
            "towards_deg": round(camera.towards_deg, 3),
            "roll_deg": round(camera.roll_deg, 3),
            "eye_mm": np.round(camera.eye * camera.mirror, 3).tolist(),
            "mm_to_camera": (camera.rows * camera.mirror).round(8).tolist(),
        },
    }


def encode(picture, scene, kind="jpeg"):
    """The bytes of the file, turned as the phone was held, with EXIF saying so."""
    orientation = scene["camera"]["orientation"]
    stored = Image.fromarray(np.ascontiguousarray(TURNED[orientation](picture)))
    exif = Image.Exif()
    exif[0x0112] = orientation
    if scene["camera"]["says_film"]:
        exif.get_ifd(0x8769)[0xA405] = int(round(scene["camera"]["film_mm"]))
    out = io.BytesIO()
    if kind == "png":
        stored.save(out, "PNG", exif=exif)
    else:
        stored.save(out, "JPEG", quality=scene["lens"]["quality"], subsampling=2, exif=exif)
    return out.getvalue()


def write(seed, into, kind=None, full=None):
    cv2.setNumThreads(1)
    scene = scenes.scene(seed, kind, full)
    picture, truth = render(scene)
    png = seed % 25 == 7
    name = f"{seed:06d}.{'png' if png else 'jpg'}"
    (into / name).write_bytes(encode(picture, scene, "png" if png else "jpeg"))
    truth = {"file": name} | truth
    (into / f"{seed:06d}.json").write_text(json.dumps(truth))
    return name


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--seeds", required=True, help="FROM:TO, TO left out; below 100000 for tuning, from there unseen")
    ask.add_argument("--into", type=pathlib.Path, required=True)
    ask.add_argument("--kind", help="single, several, none, hard[:why+why], bad[:why]; else as the seed has it")
    ask.add_argument("--full", action="store_true", help="12 megapixels")
    ask.add_argument("--jobs", type=int, default=2)
    given = ask.parse_args()
    given.into.mkdir(parents=True, exist_ok=True)
    first, last = map(int, given.seeds.split(":"))
    work = [(seed, given.into, given.kind, given.full or None) for seed in range(first, last)]
    with multiprocessing.Pool(given.jobs) as pool:
        pool.starmap(write, work, chunksize=4)


if __name__ == "__main__":
    main()
