"""Light on the face and what the lens and the phone's pipeline make of it. Start at `Light` and `develop`."""

import cv2
import numpy as np

from beyond import local_tone
from geometry import normal
from noise import clouds, step


class Light:
    """One sun or lamp, and light from all around that is stronger from above."""

    def __init__(self, spec):
        self.spec = spec
        az, el = np.radians(spec["azimuth"]), np.radians(spec["elevation"])
        self.to = np.array([np.sin(az) * np.cos(el), np.sin(el), np.cos(az) * np.cos(el)])
        self.direct = np.array(spec["direct"], np.float32)
        self.around = np.array(spec["around"], np.float32)

    def parts(self, n, view, shine):
        """-> how much direct light, light from around, and mirrored light falls at normals `n`."""
        facing = np.clip(n @ self.to, 0, 1)
        above = 0.72 + 0.28 * n[..., 1]
        v = view / np.linalg.norm(view, axis=-1, keepdims=True)
        half = v + self.to
        half /= np.linalg.norm(half, axis=-1, keepdims=True)
        mirrored = np.clip((n * half).sum(-1), 0, 1) ** shine * (facing > 0)
        return facing, above, mirrored

    def shade(self, n, view, base, gloss, shine):
        """Colour of a surface; `gloss` mirrors light, `base` scatters it."""
        facing, above, mirrored = self.parts(n, view, shine)
        v = view / np.linalg.norm(view, axis=-1, keepdims=True)
        graze = (1 - np.clip((n * v).sum(-1), 0, 1)) ** 5
        sky = (0.03 + 0.5 * graze) * step(n[..., 1], -0.2, 0.8)
        mirror = (mirrored * 2.0)[..., None] * self.direct + sky[..., None] * self.around * 0.6
        return base * (facing[..., None] * self.direct + above[..., None] * self.around) + gloss[..., None] * mirror

    def on_face(self, sheet, camera, bulge, roll, rng):
        """-> direct, around, mirrored light over the map, each (h, w)."""
        step_px = 4
        x = sheet.x[:, ::step_px].astype(float) + np.zeros((sheet.h // step_px, 1))
        y = sheet.y[::step_px].astype(float) + np.zeros((1, sheet.w // step_px))
        n = normal(x, y, bulge, roll)
        view = camera.eye * camera.mirror - np.stack([x, y, np.zeros_like(x)], -1)
        facing, above, mirrored = self.parts(n, view, self.spec["face_shine"])
        # A lamp or window close by is not even over the face.
        facing = facing * np.clip(1 + self.spec["falloff"] * (x * self.to[0] + y * self.to[1]) / 60, 0.2, 2)
        up = lambda a: cv2.resize(a.astype(np.float32), (sheet.w, sheet.h), interpolation=cv2.INTER_LINEAR)
        facing = up(facing)
        for shadow in self.spec["shadows"]:
            c, s = np.cos(shadow["dir"]), np.sin(shadow["dir"])
            d = sheet.x * c + sheet.y * s - shadow["at"]
            bend = (sheet.y * c - sheet.x * s) * shadow["bend"] + shadow["wavy"] * sheet.clouds(25, rng, 2)
            d = d + bend
            soft = shadow["soft"]
            lit = step(d, -soft, soft)
            if shadow["bar"] > 0:
                lit = np.maximum(lit, step(-d - shadow["bar"], -soft, soft))
            facing = facing * (1 - shadow["how"] * (1 - lit))
        return facing, up(above), up(mirrored)


def develop(image, scene, rng):
    """Linear light at the lens -> 8-bit picture: blur, glare, exposure, noise, tone, sharpening."""
    lens, h, w = scene["lens"], *image.shape[:2]
    if lens["blur_px"] > 0.3:
        image = _defocus(image, lens["blur_px"])
    if lens["motion_px"] > 0.5:
        image = _motion(image, lens["motion_px"], lens["motion_dir"])
    v, u = np.mgrid[0:h:8, 0:w:8].astype(np.float32)
    r2 = ((u - w / 2) ** 2 + (v - h / 2) ** 2) / (w * w + h * h) * 4
    veil = np.full_like(r2, lens["veil"])
    up = lambda a: cv2.resize(a, (w, h), interpolation=cv2.INTER_LINEAR)[..., None]
    image = image * up(1 - lens["vignette"] * r2) + up(veil)
    image *= np.array(lens["balance"], np.float32)
    image *= np.float32(lens["gain"])
    image = local_tone(image, scene.get("beyond", {})).astype(np.float32)
    grain = rng.standard_normal(image.shape, np.float32)
    grain *= cv2.sqrt(np.maximum(image, 0) * np.float32(lens["shot"]) + np.float32(lens["read"] ** 2))
    image += grain
    if lens["denoise"] > 0.3:
        image = cv2.GaussianBlur(image, (0, 0), lens["denoise"])
    image = _tone(lens)[np.clip(image * (TONES / 2), 0, TONES - 1).astype(np.uint16)]
    if lens["sharpen"] > 0:
        image += np.float32(lens["sharpen"]) * (image - cv2.GaussianBlur(image, (0, 0), lens["sharpen_px"]))
    # Rounded and held within 0 to 255.
    return cv2.convertScaleAbs(np.maximum(image, 0), alpha=255.0)


TONES = 1 << 14


def _tone(lens):
    """Linear light 0 to 2 -> 0 to 1: a soft shoulder as phones have, then the curve of sRGB (IEC 61966-2-1)."""
    x = np.linspace(0, 2, TONES)
    knee = lens["knee"]
    x = np.where(x > knee, knee + (1 - knee) * (1 - np.exp(-(x - knee) / (1 - knee))), x)
    x = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.power(x, 1 / 2.4) - 0.055)
    return (x + lens["contrast"] * (x - 0.5) * x * (1 - x) * 4).astype(np.float32)


def _defocus(image, radius):
    """A disc for a lens out of focus; wide ones on a smaller picture."""
    if radius < 1.2:
        return cv2.GaussianBlur(image, (0, 0), radius)
    n = int(np.ceil(radius))
    y, x = np.mgrid[-n : n + 1, -n : n + 1]
    disc = np.clip(radius + 0.5 - np.hypot(x, y), 0, 1).astype(np.float32)
    return cv2.GaussianBlur(cv2.filter2D(image, -1, disc / disc.sum()), (0, 0), 0.6)


def _motion(image, length, direction):
    n = int(np.ceil(length / 2)) + 1
    kernel = np.zeros((2 * n + 1, 2 * n + 1), np.float32)
    a = np.array([np.cos(direction), np.sin(direction)]) * length / 2
    ends = [tuple(int(round((n + s * v) * 16)) for v in a) for s in (-1, 1)]
    cv2.line(kernel, *ends, 1.0, 1, cv2.LINE_AA, 4)
    return cv2.filter2D(image, -1, kernel / kernel.sum())


def glare_on(sheet, glare, rng):
    """Light thrown back by a wet or thin coat: a streaky bright patch over the map."""
    c, s = np.cos(glare["turn"]), np.sin(glare["turn"])
    dx, dy = sheet.x - glare["x"], sheet.y - glare["y"]
    a, b = (c * dx + s * dy) / glare["long"], (c * dy - s * dx) / glare["across"]
    patch = np.exp(-0.5 * np.sqrt(a * a + b * b + 1e-6) ** glare["flat"])
    return (
        patch
        * np.clip(1 + glare["streaky"] * clouds((sheet.h, sheet.w), 6 * sheet.per_mm, rng, 3), 0.2, 2)
        * glare["how"]
    )
