"""Which pictures there are: every figure of a picture, drawn from its seed.

The rule: seeds below 100,000 are for tuning, those from there on are unseen:
other seeds, and wider ranges (`wide`, 1 for tuning). Start at `scene`.
"""

import numpy as np

import beyond

UNSEEN_FROM = 100_000
KINDS = (("single", 0.26), ("several", 0.26), ("hard", 0.24), ("none", 0.09), ("bad", 0.15))
HARD = ("glare", "shadow", "faint", "tilt", "overlap")
BAD = ("tilt", "blur", "glare", "powder", "cut")
SIZES = [(1600, 1200)] * 9 + [(2016, 1512), (2592, 1944)]
FULL = (4032, 3024)


def scene(seed, kind=None, full=None):
    """Every figure of picture `seed`; `kind` and `full` (12 megapixels) ask for a certain sort."""
    rng = np.random.default_rng([seed, 7])
    unseen = seed >= UNSEEN_FROM
    wide = 1.35 if unseen else 1.0
    u = rng.uniform
    drawn = rng.choice([k for k, _ in KINDS], p=[p for _, p in KINDS])
    kind, why = (kind or drawn), []
    if ":" in kind:
        kind, why = kind.split(":")[0], kind.split(":")[1].split("+")
    elif kind == "hard":
        why = list(rng.choice(HARD, 1 if u() < 0.7 else 2, replace=False))
    elif kind == "bad":
        why = [str(rng.choice(BAD))]
    face = [u(111 - 7 * (wide - 1) * 3, 123 + 12 * (wide - 1)), u(52 - 12 * (wide - 1), 62 + 10 * (wide - 1))]
    families = ["quarters", "pear", "bow", "free"] + (["waves", "waves"] if unseen else [])
    light = str(rng.choice(["sun", "overcast", "indoor"], p=[0.4, 0.35, 0.25]))
    coat = _coat(u, rng, wide, face, "powder" in why and kind == "bad")
    s = {
        "seed": int(seed),
        "set": "unseen" if unseen else "tune",
        "kind": kind,
        "why": [str(w) for w in why],
        "hand": "right" if u() < 0.75 else "left",
        "face_mm": face,
        "outline": str(rng.choice(families)),
        "wide": wide,
        "bulge_mm": float(np.clip(rng.normal(305, 14 * wide), 250, 370)),
        "roll_mm": float(np.clip(rng.normal(305, 18 * wide), 240, 380)),
        "background": str(rng.choice(["grass", "mat", "towel", "bag"] + (["floor", "floor"] if unseen else []))),
        "lighting": light,
        "coat": coat,
        "head": _head(u, rng, coat),
        "light": _light(light, u, rng, kind, why, wide),
    }
    s["glare"] = _glare(u, rng, kind, why, wide, light)
    s["marks"] = _marks(u, rng, kind, why, wide, face)
    if "glare" in why and kind == "hard":
        _onto_a_mark(s, u)
    s["camera"] = _camera(u, rng, kind, why, wide, full)
    s["lens"] = _lens(u, rng, kind, why, wide, light, s["camera"])
    if unseen:
        s["beyond"] = beyond.draw(seed, face, s["marks"])
    return s


def _coat(u, rng, wide, face, none):
    metal = list(np.clip(u(0.16, 0.52) + rng.normal(0, 0.015, 3), 0.08, 0.6))
    powder = list(
        np.clip(u(0.88, 0.96) + np.array([0.01, 0.0, -0.01 - 0.03 * u()]) + rng.normal(0, 0.006, 3), 0.8, 0.99)
    )
    lines = None
    if u() < 0.75:
        lines = {
            "pitch": u(3.8, 6.5),
            "from": u(0, 4),
            "width": u(0.5, 1.2),
            "gap": u(0, 55),
            "middle": u(-3, 3),
            "slope": u(-0.4, 0.4),
            "inset": u(3, 9),
            "colour": list(rng.choice([[0.9] * 3, [0.1] * 3, metal])) if u() < 0.6 else metal,
        }
    half_w, half_h = face[0] / 2, face[1] / 2
    bare = []
    for _ in range(rng.poisson(1.6 * wide)):
        # Small ones anywhere, long ones (a finger, grass) near the rim.
        small = u() < 0.7
        a, r = u(0, 2 * np.pi), (u(0.1, 0.95) if small else u(0.75, 1.0))
        bare.append(
            {
                "x": half_w * r * np.cos(a),
                "y": half_h * r * np.sin(a),
                "turn": u(0, np.pi),
                "long": u(0.8, 3.2) if small else u(4, 10),
                "across": u(0.7, 2.2) if small else u(1.5, 4.5),
                "how": u(0.4, 1.0),
                "soft": u(0.1, 0.5),
            }
        )
    drips = []
    if u() < 0.35 * wide:
        for _ in range(rng.integers(1, 4)):
            drips.append(
                {
                    "x": u(-0.85, 0.85) * half_w,
                    "top": u(-0.3, 1.0) * half_h,
                    "length": u(6, 26),
                    "width": u(1.0, 2.8),
                    "bend": u(-0.4, 0.4),
                    "how": u(0.4, 1.8) if u() < 0.6 else -u(0.3, 0.75),
                }
            )
    missed = []
    if u() < 0.2 * wide:
        a = u(0, 2 * np.pi)
        missed.append(
            {
                "x": 0.8 * half_w * np.cos(a),
                "y": 0.8 * half_h * np.sin(a),
                "dir": a,
                "how": u(0.3, 0.85),
                "soft": u(4, 14),
            }
        )
    return {
        "metal": metal,
        "powder": powder,
        "thick": 0.0 if none else u(1.0, 2.6),
        "uneven": u(0.05, 0.25 * wide),
        "lump_mm": u(12, 40),
        "passes": u(0, 0.15),
        "pass_deg": u(-30, 30),
        "pass_mm": u(12, 30),
        "phase": u(0, 6),
        "edge": u(0.05, 0.9),
        "edge_mm": u(1.0, 5.0 * wide),
        "missed": missed,
        "drips": drips,
        "bare": bare,
        "grain": u(0.05, 0.3 * wide),
        "brushed": u(0, 0.5) if u() < 0.5 else 0.0,
        "lines": lines,
        "line_depth": u(0, 0.6),
    }


def _head(u, rng, coat):
    none = coat["thick"] == 0
    tones = [
        [0.05, 0.05, 0.06],
        [0.14, 0.14, 0.15],
        [0.25, 0.26, 0.28],
        [0.08, 0.12, 0.3],
        [0.4, 0.06, 0.07],
        [0.05, 0.2, 0.18],
    ]
    return {
        "colour": list(np.array(tones[rng.integers(len(tones))]) * u(0.8, 1.2)),
        "sole": [u(0.06, 0.45)] * 3,
        "gloss": u(0.02, 0.5),
        "shine": float(u(20, 200)),
        "edge_mm": u(1.0, 3.5),
        "swell": u(0.02, 0.16),
        "crown": u(2, 10),
        "drop": u(2, 10),
        "length_mm": u(95, 120),
        "hosel_in": u(-2, 7),
        "hosel_y": u(2, 14),
        "hosel_back": u(9, 16),
        "lie_deg": u(54, 62),
        "shaft": [u(0.05, 0.4)] * 3,
        "dust_up": 0.0 if none else u(0, 0.7),
        "dust_down": 0.0 if none else u(0, 0.6),
        "dust_fall": u(0.8, 8),
    }


def _light(light, u, rng, kind, why, wide):
    shadows = []
    if light == "sun":
        spec = {
            "direct": list(np.array([1.0, 0.95, 0.86]) * u(0.7, 1.0)),
            "around": list(np.array([0.85, 0.95, 1.12]) * u(0.16, 0.4)),
        }
        spec |= {"azimuth": u(-65, 65), "elevation": u(5, 65), "falloff": 0.0}
    elif light == "overcast":
        spec = {"direct": [u(0.05, 0.25)] * 3, "around": list(np.array([0.96, 1.0, 1.05]) * u(0.6, 0.8))}
        spec |= {"azimuth": u(-60, 60), "elevation": u(20, 80), "falloff": 0.0}
    else:
        warm = np.array([1.0, u(0.72, 0.88), u(0.42, 0.68)])
        spec = {"direct": list(warm * u(0.3, 0.8)), "around": list(warm * u(0.2, 0.5))}
        spec |= {"azimuth": u(-60, 60), "elevation": u(-5, 75), "falloff": u(-0.1, 0.35)}
    hard_shadow = kind == "hard" and "shadow" in why
    if hard_shadow and light != "sun":
        # A hand or the phone close by shades a lamp or half the sky, too.
        spec["direct"] = list(np.array(spec["direct"]) + 0.5 * np.array(spec["around"]))
    if hard_shadow or (light == "sun" and u() < 0.25):
        for _ in range(1 if u() < 0.75 else 2):
            a = u(0, 2 * np.pi)
            shadows.append(
                {
                    "dir": a,
                    "at": u(-22, 22) if hard_shadow else u(15, 45) * -1,
                    "soft": u(0.8, 6) if light == "sun" else u(3, 10),
                    "how": u(0.55, 1.0),
                    "bar": u(6, 30) if u() < 0.35 else 0.0,
                    "bend": u(-0.15, 0.15),
                    "wavy": u(0, 1.5 * wide),
                }
            )
    spec |= {
        "shadows": shadows,
        "face_shine": float(u(8, 60)),
        "face_gloss": u(0.0, 0.5) if light == "sun" else u(0, 0.3),
    }
    return spec


def _glare(u, rng, kind, why, wide, light):
    if kind == "bad" and "glare" in why:
        return [
            {
                "x": u(-8, 8),
                "y": u(-6, 6),
                "turn": u(-0.6, 0.6),
                "long": u(17, 30),
                "across": u(13, 22),
                "flat": u(2, 4),
                "streaky": u(0, 0.15),
                "how": u(2.2, 5.0),
            }
        ]
    if kind == "hard" and "glare" in why:
        return [
            {
                "x": u(-40, 40),
                "y": u(-18, 18),
                "turn": u(0, np.pi),
                "long": u(5, 16),
                "across": u(3, 8),
                "flat": u(1.3, 3),
                "streaky": u(0, 0.4 * wide),
                "how": u(0.3, 1.5),
            }
        ]
    if light == "sun" and u() < 0.3:
        return [
            {
                "x": u(-55, 55),
                "y": u(-28, 28),
                "turn": u(0, np.pi),
                "long": u(4, 20),
                "across": u(3, 8),
                "flat": u(1, 2),
                "streaky": u(0, 0.3),
                "how": u(0.03, 0.25),
            }
        ]
    return []


def _onto_a_mark(s, u):
    """Glare that counts lies over a part of a mark, not over its middle."""
    for glare, mark in zip(s["glare"], s["marks"]):
        a, r = u(0, 2 * np.pi), mark["diameter"] * u(0.35, 0.7)
        glare["x"], glare["y"] = mark["x"] + r * np.cos(a), mark["y"] + r * np.sin(a)


def _marks(u, rng, kind, why, wide, face):
    count = {
        "single": 1,
        "none": 0,
        "several": rng.integers(2, 7),
        "hard": rng.integers(1, 5),
        "bad": rng.integers(1, 4),
    }[kind]
    if kind == "hard" and "overlap" in why:
        count = max(2, count)
    middle = rng.normal(0, [7, 4]) * wide
    marks = []
    for i in range(count):
        faint = kind == "hard" and "faint" in why and (i == 0 or u() < 0.6)
        contrast = u(0.10, 0.22) if faint else u(0.28, 0.75)
        d = u(18, 28)
        for attempt in range(200):
            x, y = rng.normal(middle, [16, 8])
            room = np.hypot(x / (face[0] / 2 - 7), y / (face[1] / 2 - 5)) < 1
            gaps = [np.hypot(x - m["x"], y - m["y"]) / ((d + m["diameter"]) / 2) for m in marks]
            least = 0.88
            if kind == "hard" and "overlap" in why:
                least = 0.38
                if i == 1:
                    room = room and gaps[0] < 0.8
            if room and all(g > least for g in gaps):
                break
        else:
            continue
        marks.append(
            {
                "x": float(x),
                "y": float(y),
                "diameter": d,
                "contrast": contrast,
                "soft": u(0.8, 3.5),
                "dome": u(0, 0.45),
                "oval": u(0, 0.06 * wide),
                "ragged": u(0, 0.06 * wide),
                "turn": u(0, np.pi),
                "patchy": u(0, 0.3 * wide),
                "dimples": u(0.2, 0.9) if u() < 0.7 else 0.0,
                "pitch": rng.normal(4.0, 0.2),
                "grid": u(0, 2),
                "off": [u(), u()],
                "smear": u(1, 3) if u() < 0.35 else 0.0,
                "smear_dir": u(0, 2 * np.pi),
                "tail": bool(u() < 0.5),
                "rim": u(0, 0.15) if u() < 0.4 else 0.0,
            }
        )
    return marks


def _camera(u, rng, kind, why, wide, full):
    size = SIZES[rng.integers(len(SIZES))]
    drawn_full = u() < 0.05
    size = FULL if (full if full is not None else drawn_full) else size
    zoom = 2.0 if u() < 0.6 else (u(1.2, 1.8) if wide > 1 and u() < 0.3 else 1.0)
    film = zoom * u(23.5, 28.5)
    if kind == "bad" and "tilt" in why:
        tilt = u(52, 66)
    elif kind == "hard" and "tilt" in why:
        tilt = u(25, 35)
    else:
        tilt = 26 * np.sqrt(u())
    portrait = u() < 0.3 and zoom < 1.5
    # Of the upright picture; how it is stored is another matter.
    w, h = (size[1], size[0]) if portrait else size
    return {
        "width": w,
        "height": h,
        "film_mm": film,
        "zoom": zoom,
        "distance_mm": u(250, 500),
        "tilt_deg": float(tilt),
        "towards_deg": u(0, 360),
        "roll_deg": float(np.clip(rng.normal(0, 7 * wide), -20, 20)),
        "shift": [u(-1, 1), u(-1, 1)],
        "cut": [u(0.12, 0.4), u(0, 2 * np.pi)],
        "off_axis": list(rng.normal(0, 0.006, 2)),
        "k1": rng.normal(0, 0.012 * wide),
        "k2": rng.normal(0, 0.004 * wide),
        "orientation": int(rng.choice([1, 6, 8, 3, 2, 5], p=[0.5, 0.25, 0.1, 0.11, 0.02, 0.02])),
        "says_film": bool(u() < 0.6),
    }


def _lens(u, rng, kind, why, wide, light, camera):
    fine = max(camera["width"], camera["height"]) / 1600
    lamp = light == "indoor"
    shot = u(4e-4, 1.5e-3) if lamp else u(5e-5, 4e-4)
    # Warm light is not wholly corrected.
    balance = [1.0, u(1.0, 1.25), u(1.0, 1.7)] if lamp else [u(0.94, 1.06), 1.0, u(0.94, 1.06)]
    blur, motion = fine * u(0.3, 1.3), (u(0.5, 3.0) * fine if u() < 0.25 else 0.0)
    if kind == "bad" and "blur" in why:
        blur, motion = (fine * u(11, 18), 0.0) if u() < 0.6 else (fine * 1.0, fine * u(34, 60))
    return {
        "blur_px": blur,
        "motion_px": motion,
        "motion_dir": u(0, np.pi),
        "veil": u(0, 0.03 * wide),
        "vignette": u(0, 0.18),
        "balance": balance,
        "exposure": u(0.5, 0.85),
        "ev": rng.normal(0, 0.25 * wide),
        "shot": shot * wide,
        "read": u(0.001, 0.004),
        "denoise": u(0, 0.9) * min(fine, 1.5),
        "knee": u(0.75, 0.95),
        "contrast": u(0, 0.15),
        "sharpen": u(0, 0.9),
        "sharpen_px": u(0.8, 1.6),
        "quality": int(u(72, 96)),
    }
