"""What is around the face: the head's body, the hosel, the ground behind.

Start at `ground` and `draw_head`.
"""

import cv2
import numpy as np

from geometry import depth
from noise import clouds, srgb_to_linear, step


def ground(kind, shape, scale, blur, rng):
    """A background in linear light, about 0.02 to 0.9; `scale` is pixels in a centimetre there, `blur` in pixels."""
    h, w = shape
    # Made at up to 1000 pixels across and blown up: it lies behind the focus.
    shrink = max(1.0, max(h, w) / 1000)
    h, w, scale = int(h / shrink) + 1, int(w / shrink) + 1, scale / shrink
    picture = {"grass": _grass, "mat": _mat, "towel": _towel, "bag": _bag}.get(kind, _floor)(h, w, scale, rng)
    lump = 1 + 0.12 * clouds((h, w), max(h, w) / 3, rng, 2)
    picture = np.clip(picture * lump[..., None], 0.003, 1).astype(np.float32)
    picture = cv2.GaussianBlur(picture, (0, 0), max(0.5, blur / shrink))
    return cv2.resize(picture, (shape[1], shape[0]), interpolation=cv2.INTER_LINEAR)


def _grass(h, w, scale, rng):
    tone = srgb_to_linear([rng.uniform(0.22, 0.42), rng.uniform(0.36, 0.55), rng.uniform(0.12, 0.26)])
    image = np.empty((h, w, 3), np.float32)
    image[:] = tone * 0.35
    length = scale * rng.uniform(1.0, 4.0)
    count = int(min(9000, 10 * h * w / (length * max(1.0, 0.18 * scale))))
    x, y = rng.uniform(-20, w + 20, count), rng.uniform(-20, h + 20, count)
    lean = rng.normal(np.pi / 2, 0.5, count)
    reach = length * rng.uniform(0.4, 1.2, count)
    shade = rng.uniform(0.45, 1.7, count)
    dry = rng.uniform(0, 1, count) < 0.12
    for i in range(count):
        colour = tone * shade[i] * ([1.6, 1.25, 1.1] if dry[i] else [1, 1, 1])
        end = (int((x[i] + reach[i] * np.cos(lean[i])) * 8), int((y[i] - reach[i] * np.sin(lean[i])) * 8))
        thick = max(1, int(scale * 0.2 * shade[i]))
        cv2.line(image, (int(x[i] * 8), int(y[i] * 8)), end, tuple(map(float, colour)), thick, cv2.LINE_AA, 3)
    return image


def _mat(h, w, scale, rng):
    tone = srgb_to_linear([rng.uniform(0.1, 0.35), rng.uniform(0.35, 0.5), rng.uniform(0.15, 0.3)])
    fibre = rng.standard_normal((h, w), np.float32)
    fibre = cv2.GaussianBlur(fibre, (0, 0), max(0.6, 0.06 * scale), sigmaY=max(0.8, 0.15 * scale))
    fibre /= fibre.std()
    image = tone * np.clip(1 + 0.35 * fibre, 0.2, 2.5)[..., None]
    if rng.uniform() < 0.5:
        # A rubber edge or the floor beside it.
        y = np.arange(h)[:, None] + np.arange(w)[None] * rng.uniform(-0.3, 0.3) - h * rng.uniform(0.5, 0.9)
        image = np.where((y > 0)[..., None], srgb_to_linear([0.2, 0.2, 0.22]), image)
    return image


def _towel(h, w, scale, rng):
    tone = srgb_to_linear(
        [
            [0.9, 0.9, 0.88],
            [0.35, 0.42, 0.6],
            [0.55, 0.55, 0.57],
            [0.7, 0.2, 0.2],
            [0.15, 0.15, 0.17],
            [0.8, 0.75, 0.62],
        ][rng.integers(6)]
    )
    loops = rng.standard_normal((h, w), np.float32)
    loops = cv2.GaussianBlur(loops, (0, 0), max(0.7, 0.08 * scale))
    loops /= loops.std()
    folds = clouds((h, w), scale * rng.uniform(3, 9), rng, 3)
    folds = cv2.GaussianBlur(folds, (0, 0), max(1.0, 0.3 * scale))
    slope = cv2.Sobel(folds, cv2.CV_32F, 1, 1, ksize=3)
    slope /= slope.std() + 1e-6
    return tone * np.clip(1 + 0.12 * loops + 0.16 * slope, 0.15, 1.4)[..., None]


def _bag(h, w, scale, rng):
    tone = srgb_to_linear(
        [[0.12, 0.12, 0.13], [0.2, 0.22, 0.3], [0.45, 0.1, 0.1], [0.85, 0.85, 0.85], [0.3, 0.3, 0.3]][rng.integers(5)]
    )
    weave = rng.standard_normal((h, w), np.float32)
    image = tone * (1 + 0.08 * weave + 0.2 * clouds((h, w), scale * 6, rng, 3))[..., None]
    for _ in range(rng.integers(1, 5)):
        a, b = rng.uniform(0, [w, h], 2), rng.uniform(0, [w, h], 2)
        d = (b - a) / (np.linalg.norm(b - a) + 1e-6) * 2 * max(w, h)
        ends = tuple(map(int, a - d)), tuple(map(int, a + d))
        strap = srgb_to_linear(rng.uniform(0.05, 0.9, 3) * [1, 1, 1])
        cv2.line(image, *ends, tuple(map(float, strap)), max(2, int(scale * rng.uniform(0.2, 2.5))), cv2.LINE_AA)
        cv2.line(image, *ends, tuple(map(float, tone * 0.3)), max(1, int(scale * 0.1)), cv2.LINE_AA)
    return image


def _floor(h, w, scale, rng):
    """Boards, paving or gravel; not among the tuning pictures."""
    tone = srgb_to_linear(
        [[0.62, 0.48, 0.33], [0.6, 0.6, 0.58], [0.42, 0.4, 0.38], [0.75, 0.72, 0.66]][rng.integers(4)]
    )
    speck = clouds((h, w), max(3.0, scale * rng.uniform(0.2, 1.0)), rng, 4, 0.8)
    image = tone * np.clip(1 + 0.25 * speck, 0.2, 2)[..., None]
    pitch = scale * rng.uniform(6, 20)
    y = (np.arange(h)[:, None] + np.arange(w)[None] * rng.uniform(-0.6, 0.6)) % pitch
    return image * (1 - 0.75 * (y < scale * 0.3))[..., None]


def head_mesh(scene, curve, bulge, roll):
    """Rings of the head from the face's rim back to the tail: points (rings, n, 3) and powder there."""
    head = scene["head"]
    ring = curve[::6].copy()
    rim = depth(ring[:, 0], ring[:, 1], bulge, roll)
    up = np.clip(ring[:, 1] / np.abs(ring[:, 1]).max(), -1, 1)
    rings, dust = [], []
    edge = head["edge_mm"]
    for t in np.concatenate([np.linspace(0, 1, 6), 1 + np.linspace(0.03, 1, 26) ** 1.3]):
        if t <= 1:
            # The rounded rim: a quarter circle outward and back.
            a = t * np.pi / 2
            grow, back = edge * np.sin(a), edge * (1 - np.cos(a))
            d = ring / (np.linalg.norm(ring, axis=1, keepdims=True) + 1e-6)
            xy, z = ring + d * grow, rim - back
        else:
            s = t - 1
            d = ring / (np.linalg.norm(ring, axis=1, keepdims=True) + 1e-6)
            base = ring + d * edge
            swell = (
                1
                + head["swell"] * np.sin(np.pi * min(1, s * 1.6) * 0.5)
                - (1 + head["swell"]) * max(0, s - 0.35) ** 2 / 0.46
            )
            lift = np.where(up > 0, head["crown"] * np.sin(np.pi * s) * up, 0) - head["drop"] * s * (up < 0) * up
            xy = base * max(swell, 0.02)
            xy = xy + np.stack([np.zeros_like(lift), lift], -1)
            z = rim - edge - head["length_mm"] * s
        rings.append(np.concatenate([xy, z[:, None]], -1))
        dust.append(
            np.where(up > 0.1, head["dust_up"], head["dust_down"]) * np.exp(-max(0, t - 0.4) * head["dust_fall"])
        )
    return np.array(rings), np.array(dust, np.float32)


def draw_head(image, camera, scene, curve, bulge, roll, light, scale):
    """Paints the hosel and the head's body over `image` (linear light); -> where it painted, 0..1."""
    cover = np.zeros(image.shape[:2], np.float32)
    head, coat = scene["head"], scene["coat"]
    paint, sole = srgb_to_linear(head["colour"]), srgb_to_linear(head["sole"])
    powder = srgb_to_linear(coat["powder"])
    points, dust = head_mesh(scene, curve, bulge, roll)
    _hosel(image, cover, camera, scene, curve, light, scale)
    screen = camera.project(points) * scale
    nxt = np.roll(points, -1, 1)
    middle = (points[:-1] + points[1:] + nxt[:-1] + nxt[1:]) / 4
    across = np.cross(nxt[:-1] - points[:-1] + 1e-6, points[1:] - points[:-1])
    n = across / (np.linalg.norm(across, axis=-1, keepdims=True) + 1e-9)
    eye = camera.eye * camera.mirror
    view = eye - middle
    away = np.linalg.norm(view, axis=-1)
    view = view / away[..., None]
    n = np.where(((n * (middle - np.array([0, 0, -60]))).sum(-1) < 0)[..., None], -n, n)
    upness = step(middle[..., 1], -4, 4)[..., None]
    base = sole * (1 - upness) + paint * upness
    d = ((dust[:-1] + dust[1:]) / 2)[..., None]
    base = base * (1 - d) + powder * d
    colour = light.shade(n, view, base, head["gloss"] * (1 - d[..., 0]), head["shine"])
    order = np.argsort(-away.ravel())
    count = points.shape[1]
    for flat in order:
        i, j = divmod(int(flat), count)
        if (n[i, j] * view[i, j]).sum() < -0.05:
            continue
        k = (j + 1) % count
        quad = np.array([screen[i, j], screen[i, k], screen[i + 1, k], screen[i + 1, j]])
        quad = np.round(quad * 16).astype(np.int32)
        cv2.fillConvexPoly(image, quad, tuple(map(float, colour[i, j])), cv2.LINE_8, 4)
        cv2.fillConvexPoly(cover, quad, 1.0, cv2.LINE_8, 4)
    return cover


def _hosel(image, cover, camera, scene, curve, light, scale):
    head = scene["head"]
    heel = curve[:, 0].min()
    foot = np.array([heel + head["hosel_in"], head["hosel_y"], -head["hosel_back"]])
    lie = np.radians(head["lie_deg"])
    axis = np.array([-np.cos(lie), np.sin(lie), 0.0])
    eye = camera.eye * camera.mirror
    parts = [(0, 38, 7.5, head["colour"]), (38, 52, 6.8, [0.04, 0.04, 0.04]), (52, 320, 4.6, head["shaft"])]
    for start, end, radius, tone in parts:
        tone = srgb_to_linear(tone)
        view = eye - (foot + axis * start)
        view /= np.linalg.norm(view)
        side = np.cross(axis, view)
        side /= np.linalg.norm(side)
        front = np.cross(side, axis)
        for strip in range(10):
            a0, a1 = np.pi * (strip / 10 - 0.5), np.pi * ((strip + 1) / 10 - 0.5)
            am = (a0 + a1) / 2
            n = (side * np.sin(am) + front * np.cos(am))[None]
            colour = light.shade(n, view[None], tone[None], np.array([head["gloss"]]), head["shine"])[0]
            corner = [
                foot + axis * t + radius * side * np.sin(a) for t, a in ((start, a0), (start, a1), (end, a1), (end, a0))
            ]
            quad = np.round(camera.project(np.array(corner)) * scale * 16).astype(np.int32)
            cv2.fillConvexPoly(image, quad, tuple(map(float, colour)), cv2.LINE_8, 4)
            cv2.fillConvexPoly(cover, quad, 1.0, cv2.LINE_8, 4)
