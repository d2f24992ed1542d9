"""What only unseen pictures have: things on a face, and a phone's doings, that no tuning picture shows.

The rule: drawn from a chance of its own, so that nothing here changes a
tuning picture. Start at `draw`.
"""

import cv2
import numpy as np

from noise import clouds, srgb_to_linear, step


def draw(seed, face, marks):
    """Which of these a picture has; each in about one picture of six."""
    rng = np.random.default_rng([seed, 13])
    u = rng.uniform
    half_w, half_h = face[0] / 2, face[1] / 2
    got = {}
    if u() < 0.18:
        got["milled"] = {
            "how": u(0.05, 0.3),
            "pitch": u(0.8, 1.8),
            "x": u(-150, 150),
            "y": float(rng.choice([-1, 1])) * u(60, 250),
        }
    if u() < 0.18:
        got["spatter"] = {"how": u(0.15, 0.5), "size": u(1.2, 3.0)}
    if u() < 0.12:
        got["blades"] = [
            {
                "x": u(-1, 1) * half_w,
                "y": u(-1, 0.3) * half_h,
                "turn": u(0.8, 2.3),
                "bend": u(-0.02, 0.02),
                "width": u(1.2, 3.0),
                "length": u(15, 45),
                "tone": [u(0.2, 0.5), u(0.35, 0.6), u(0.1, 0.25)],
            }
            for _ in range(rng.integers(1, 3))
        ]
    if u() < 0.15:
        a = u(0, 2 * np.pi)
        got["wipe"] = {
            "x": half_w * 0.9 * np.cos(a),
            "y": half_h * 0.9 * np.sin(a),
            "turn": a + u(-0.7, 0.7),
            "width": u(7, 12),
            "length": u(10, 28),
            "how": u(0.25, 0.6),
            "fingers": int(rng.integers(1, 4)),
        }
    if u() < 0.2:
        got["badge"] = {
            "x": float(rng.choice([-1, 1])) * u(0.5, 0.8) * half_w,
            "y": u(-0.3, 0.6) * half_h,
            "size": u(3, 7),
            "corners": int(rng.choice([3, 4, 6, 40])),
            "turn": u(0, 6),
            "hollow": bool(u() < 0.5),
            "colour": [[0.05] * 3, [0.8, 0.1, 0.1], [0.95] * 3][rng.integers(3)],
        }
    if u() < 0.35:
        got["local"] = {"how": u(0.15, 0.5), "size": u(0.03, 0.12)}
    for mark in marks:
        if u() < 0.15:
            mark["core"] = u(0.25, 0.55)
        if u() < 0.2:
            # A ball with shallow dimples of two sizes.
            mark["uneven_dimples"] = u(0.3, 0.8)
    return got


def on_metal(base, beyond, sheet):
    """An emblem on the bare face."""
    badge = beyond.get("badge")
    if badge:
        a = badge["turn"] + np.arange(badge["corners"]) * 2 * np.pi / badge["corners"]
        points = np.stack([badge["x"] + badge["size"] * np.cos(a), badge["y"] + badge["size"] * np.sin(a)], -1)
        mask = np.zeros((sheet.h, sheet.w), np.float32)
        fixed = [np.round(sheet.pixels(points) * 16).astype(np.int32)]
        if badge["hollow"]:
            cv2.polylines(mask, fixed, True, 1.0, max(1, int(0.9 * sheet.per_mm)), cv2.LINE_AA, 4)
        else:
            cv2.fillPoly(mask, fixed, 1.0, cv2.LINE_AA, 4)
        base += mask[..., None] * (srgb_to_linear(badge["colour"]) - base)
    return base


def on_powder(thick, beyond, sheet, rng):
    """Milling lines, droplets of a spitting can, a wipe of fingers."""
    if milled := beyond.get("milled"):
        r = np.hypot(sheet.x - milled["x"], sheet.y - milled["y"])
        thick = thick * (1 + milled["how"] * np.sin(2 * np.pi * r / milled["pitch"]))
    if spatter := beyond.get("spatter"):
        lump = clouds((sheet.h, sheet.w), spatter["size"] * sheet.per_mm, rng, 1)
        thick = thick * (1 + spatter["how"] * (2 * step(lump, 0.2, 1.0) - 0.6))
    if wipe := beyond.get("wipe"):
        c, s = np.cos(wipe["turn"]), np.sin(wipe["turn"])
        a, b = (
            c * (sheet.x - wipe["x"]) + s * (sheet.y - wipe["y"]),
            c * (sheet.y - wipe["y"]) - s * (sheet.x - wipe["x"]),
        )
        rough = 1.2 * sheet.clouds(5, rng, 2)
        within = step(a + rough, -wipe["length"] - 1, -wipe["length"] + 2)
        across = np.abs(b + rough) / (wipe["width"] * wipe["fingers"] / 2)
        ribs = 0.75 + 0.25 * np.cos(2 * np.pi * b / wipe["width"])
        thick = thick * (1 - wipe["how"] * within * ribs * (1 - step(across, 0.85, 1.1)))
    return thick


def over(albedo, beyond, sheet):
    """Grass that sticks to the face."""
    for blade in beyond.get("blades", []):
        c, s = np.cos(blade["turn"]), np.sin(blade["turn"])
        a, b = (
            c * (sheet.x - blade["x"]) + s * (sheet.y - blade["y"]),
            c * (sheet.y - blade["y"]) - s * (sheet.x - blade["x"]),
        )
        b = b + blade["bend"] * a * a
        wide = blade["width"] / 2 * np.sqrt(np.clip(1 - (a / blade["length"]) ** 2, 0, 1))
        mask = step(wide - np.abs(b), -0.1, 0.15) * (np.abs(a) < blade["length"])
        tone = srgb_to_linear(blade["tone"]) * (0.8 + 0.3 * np.exp(-(b**2) / 0.1))[..., None]
        albedo = albedo * (1 - mask[..., None]) + tone * mask[..., None]
    return albedo


def local_tone(image, beyond):
    """Dark regions lifted and bright ones held back, as phones do for wide ranges of light."""
    local = beyond.get("local")
    if not local:
        return image
    h, w = image.shape[:2]
    small = cv2.resize(image.mean(-1), (max(8, w // 8), max(8, h // 8)), interpolation=cv2.INTER_AREA)
    base = cv2.GaussianBlur(np.log(small + 0.02), (0, 0), local["size"] * max(small.shape))
    gain = np.exp(-local["how"] * (base - base.mean()))
    return image * cv2.resize(np.clip(gain, 0.4, 2.2), (w, h), interpolation=cv2.INTER_LINEAR)[..., None]
