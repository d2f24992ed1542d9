"""The face's surface as a map in millimetres: metal, powder, marks.

The rule: a mark takes powder off, nothing is painted dark; what is under the
powder shows through where it is thin. Start at `paint`.
"""

import cv2
import numpy as np

import beyond
from noise import clouds, srgb_to_linear, step

SPAN_X, SPAN_Y = 78.0, 50.0  # the map reaches this far from the centre, mm
OPACITY = 1.6  # of one unit of thickness


class Sheet:
    """The grid of the map: `x` toward the toe grows to the right, `y` toward the crown upward."""

    def __init__(self, per_mm):
        self.per_mm = per_mm
        self.w, self.h = int(2 * SPAN_X * per_mm), int(2 * SPAN_Y * per_mm)
        self.x = ((np.arange(self.w, dtype=np.float32) + 0.5) / per_mm - SPAN_X)[None, :]
        self.y = (SPAN_Y - (np.arange(self.h, dtype=np.float32) + 0.5) / per_mm)[:, None]

    def pixels(self, points):
        """Face points -> map coordinates, (0, 0) the centre of the first pixel."""
        p = np.asarray(points, np.float64)
        return np.stack([(p[..., 0] + SPAN_X) * self.per_mm - 0.5, (SPAN_Y - p[..., 1]) * self.per_mm - 0.5], -1)

    def clouds(self, scale_mm, rng, octaves=3, fall=0.5):
        return clouds((self.h, self.w), scale_mm * self.per_mm, rng, octaves, fall)

    def inside(self, curve):
        """1 inside the outline, 0 outside, and mm from the outline (positive inside)."""
        mask = np.zeros((self.h, self.w), np.uint8)
        cv2.fillPoly(mask, [np.round(self.pixels(curve) * 256).astype(np.int32)], 255, cv2.LINE_AA, 8)
        hard = (mask > 127).astype(np.uint8)
        far = cv2.distanceTransform(hard, cv2.DIST_L2, 5) - cv2.distanceTransform(1 - hard, cv2.DIST_L2, 5)
        return mask.astype(np.float32) / 255, far / self.per_mm


def paint(scene, curve, sheet, rng):
    """-> albedo (h, w, 3), bare 0..1 (how much metal shows), outline mask, mm from the outline."""
    coat = scene["coat"]
    mask, far = sheet.inside(curve)
    metal, groove = _metal(coat, sheet, far, rng)
    extra = scene.get("beyond", {})
    metal = beyond.on_metal(metal, extra, sheet)
    thick = beyond.on_powder(_thickness(coat, sheet, far, rng), extra, sheet, rng)
    thick *= 1 - coat["line_depth"] * groove
    for mark in scene["marks"]:
        thick *= 1 - _removed(mark, coat, sheet, rng)
    grain = 1 + coat["grain"] * cv2.GaussianBlur(
        rng.standard_normal((sheet.h, sheet.w), np.float32) * sheet.per_mm, (0, 0), max(0.12 * sheet.per_mm, 0.6)
    )
    thick = thick * np.clip(grain, 0.2, 2.0)
    cover = (1 - np.exp(-OPACITY * thick))[..., None]
    powder = srgb_to_linear(coat["powder"]) * (1 + 0.02 * sheet.clouds(12, rng, 2))[..., None]
    albedo = beyond.over(metal * (1 - cover) + powder * cover, extra, sheet)
    return albedo, 1 - cover[..., 0], mask, far


def _metal(coat, sheet, far, rng):
    """Bare face: brushed or plain, with score lines painted or sunk."""
    base = np.broadcast_to(srgb_to_linear(coat["metal"]), (sheet.h, sheet.w, 3)).copy()
    if coat["brushed"] > 0:
        streak = cv2.GaussianBlur(rng.standard_normal((sheet.h, sheet.w), np.float32), (0, 0), 12, sigmaY=0.7)
        base *= np.clip(1 + coat["brushed"] * streak[..., None] * 4, 0.3, 2)
    groove = np.zeros((sheet.h, sheet.w), np.float32)
    lines = coat["lines"]
    if lines:
        half = lines["width"] / 2
        y = sheet.y - lines["from"]
        near = np.abs(y - np.round(y / lines["pitch"]) * lines["pitch"])
        groove = 1 - step(near, half - 0.1, half + 0.15)
        along = np.abs(sheet.x - lines["middle"])
        inner = lines["gap"] / 2 + lines["slope"] * np.abs(sheet.y)
        groove = groove * step(along, inner - 0.3, inner + 0.3) * step(far, lines["inset"] - 0.3, lines["inset"] + 0.3)
        paint = srgb_to_linear(lines["colour"])
        base = base * (1 - groove[..., None]) + paint * groove[..., None]
    return base, groove


def _thickness(coat, sheet, far, rng):
    """Powder before any hit: sprayed in passes, thin at the edge, with drips and bare spots."""
    thick = coat["thick"] * np.exp(coat["uneven"] * sheet.clouds(coat["lump_mm"], rng, 3))
    angle = np.radians(coat["pass_deg"])
    along = sheet.x * np.cos(angle) + sheet.y * np.sin(angle)
    thick = thick * (1 + coat["passes"] * np.sin(2 * np.pi * along / coat["pass_mm"] + coat["phase"]))
    ragged = far + 1.2 * sheet.clouds(9, rng, 3)
    thick = thick * (coat["edge"] + (1 - coat["edge"]) * step(ragged, -0.5, coat["edge_mm"]))
    for spot in coat["missed"]:
        # A side that the can didn't reach.
        d = (sheet.x - spot["x"]) * np.cos(spot["dir"]) + (sheet.y - spot["y"]) * np.sin(spot["dir"])
        thick = thick * (1 - spot["how"] * step(d + 1.5 * sheet.clouds(14, rng, 2), 0, spot["soft"]))
    for drip in coat["drips"]:
        dx = sheet.x - drip["x"] - drip["bend"] * (sheet.y - drip["top"]) ** 2 / 100
        end = drip["top"] - drip["length"]
        body = step(sheet.y, end - 0.5, end + 1.5) * (1 - step(sheet.y, drip["top"] - 2, drip["top"] + 3))
        w = drip["width"] * (0.8 + 0.5 * np.exp(-((sheet.y - end) ** 2) / 8))
        lobe = np.exp(-(dx**2) / (2 * (w / 2.5) ** 2)) * body
        rim = np.exp(-((np.abs(dx) - w * 0.8) ** 2) / 0.25) * body
        thick = thick * np.clip(1 + drip["how"] * lobe + 0.4 * abs(drip["how"]) * rim, 0.02, 6)
    for spot in coat["bare"]:
        a = np.cos(spot["turn"]) * (sheet.x - spot["x"]) + np.sin(spot["turn"]) * (sheet.y - spot["y"])
        b = -np.sin(spot["turn"]) * (sheet.x - spot["x"]) + np.cos(spot["turn"]) * (sheet.y - spot["y"])
        r = np.sqrt((a / spot["long"]) ** 2 + (b / spot["across"]) ** 2)
        r = r * (1 + 0.18 * sheet.clouds(3, rng, 2))
        thick = thick * (1 - spot["how"] * (1 - step(r, 1 - spot["soft"], 1 + spot["soft"])))
    return np.maximum(thick, 0.0)


def _removed(mark, coat, sheet, rng):
    """How much of the powder a hit took off, 0..1 over the map.

    The truth of a mark is the centre of its round contact. A smear drags
    powder along with it: evenly about the centre, or as a weaker tail.
    """
    pad = mark["diameter"] * 0.8 + mark["smear"] + 4
    x0, y0 = sheet.pixels([mark["x"] - pad, mark["y"] + pad]).astype(int)
    x1, y1 = sheet.pixels([mark["x"] + pad, mark["y"] - pad]).astype(int) + 1
    x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, sheet.w), min(y1, sheet.h)
    dx, dy = sheet.x[:, x0:x1] - np.float32(mark["x"]), sheet.y[y0:y1] - np.float32(mark["y"])
    c, s = np.cos(mark["turn"]), np.sin(mark["turn"])
    a, b = (c * dx + s * dy) * (1 + mark["oval"] / 2), (c * dy - s * dx) * (1 - mark["oval"] / 2)
    r = np.sqrt(a * a + b * b)
    angle = np.arctan2(b, a)
    radius = mark["diameter"] / 2 * np.ones_like(r)
    for k in (3, 4, 5, 7):
        radius = radius * (1 + mark["ragged"] / k * np.cos(k * angle + mark["turn"] * k * 1.7))
    soft = mark["soft"]
    body = 1 - step(r, radius - soft, radius + soft)
    # Pressure falls from the middle outward.
    body = body * (1 - mark["dome"] * np.clip(r / radius, 0, 1.2) ** 2)
    if mark["dimples"] > 0:
        # Dimples keep their powder, more so where the pressure is less.
        pitch = mark["pitch"]
        t, q = mark["grid"], mark["off"]
        gx, gy = (np.cos(t) * dx + np.sin(t) * dy) / pitch + q[0], (np.cos(t) * dy - np.sin(t) * dx) / pitch + q[1]
        d = np.full_like(r, 9.0)
        for ox in (0.0, 0.5):
            hx, hy = gx + ox, gy / np.sqrt(3) + ox
            d = np.minimum(d, np.hypot(hx - np.round(hx), (hy - np.round(hy)) * np.sqrt(3)))
        dot = 1 - step(d, 0.30, 0.42)
        if "uneven_dimples" in mark:
            dot = dot * (1 - mark["uneven_dimples"] * (np.round(gx) + np.round(gy) + mark["turn"] * 10) % 2 * 0.5)
        body = body * (1 - mark["dimples"] * dot * (0.35 + 0.65 * np.clip(r / radius, 0, 1) ** 2))
    if "core" in mark:
        # A middle pressed so hard that the powder stayed, flattened.
        body = body * (1 - mark["core"] * (1 - step(r / radius, 0.25, 0.6)))
    if mark["smear"] > 0:
        body = _dragged(body, mark, sheet.per_mm)
    patchy = 1 + mark["patchy"] * clouds(body.shape, 5 * sheet.per_mm, rng, 3)
    body = body * np.clip(patchy, 0.2, 1.8)
    # Powder pushed out makes a thin rim.
    rim = mark["rim"] * np.exp(-((r - radius - soft * 0.8) ** 2) / 1.2)
    removed = np.zeros((sheet.h, sheet.w), np.float32)
    removed[y0:y1, x0:x1] = _taken(mark["contrast"] * body, coat) - rim
    return removed


def _taken(darker, coat):
    """The part of a coat of usual thickness that has to go for it to send back `darker` less light."""
    metal, powder = (float(srgb_to_linear(coat[key]).mean()) for key in ("metal", "powder"))
    thick = max(coat["thick"], 1e-3)
    before = metal + (powder - metal) * (1 - np.exp(-OPACITY * thick))
    cover = np.clip((before * (1 - darker) - metal) / (powder - metal), 0.02, 1 - np.exp(-OPACITY * thick))
    return np.clip(1 + np.log(1 - cover) / OPACITY / thick, 0, 0.98)


def _dragged(body, mark, per_mm):
    n = max(3, int(mark["smear"] * per_mm) | 1)
    size = 2 * n + 1
    kernel = np.zeros((size, size), np.float32)
    end = (n + n * np.cos(mark["smear_dir"]), n - n * np.sin(mark["smear_dir"]))
    if mark["tail"]:
        fixed = lambda p: tuple(int(round(v * 16)) for v in p)
        cv2.line(kernel, fixed((n, n)), fixed(end), 1.0, 1, cv2.LINE_AA, 4)
        dragged = cv2.filter2D(body, -1, kernel[::-1, ::-1] / kernel.sum())
        return np.maximum(body, 0.6 * dragged)
    half = 0.5
    start = (n - half * n * np.cos(mark["smear_dir"]), n + half * n * np.sin(mark["smear_dir"]))
    end = (n + half * n * np.cos(mark["smear_dir"]), n - half * n * np.sin(mark["smear_dir"]))
    fixed = lambda p: tuple(int(round(v * 16)) for v in p)
    cv2.line(kernel, fixed(start), fixed(end), 1.0, 1, cv2.LINE_AA, 4)
    return cv2.filter2D(body, -1, kernel / kernel.sum())
