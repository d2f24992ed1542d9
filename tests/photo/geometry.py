"""Where things are: the face's outline, its curved surface, the camera.

The rule: everything here is exact and has no chance in it but the outline's
own; pictures and truth both come from `Camera.project`. Start at `Camera`.

Face frame: x toward the toe, y toward the crown, z out of the face, mm. Pixels
count from the top-left corner of the top-left pixel.
"""

from dataclasses import dataclass

import numpy as np


def depth(x, y, bulge, roll):
    """z of the face at (x, y): an arc of radius `bulge` across, one of `roll` up and down."""
    return np.sqrt(bulge**2 - x * x) - bulge + np.sqrt(roll**2 - y * y) - roll


def normal(x, y, bulge, roll):
    """The outward unit normal, last axis x, y, z."""
    n = np.stack([x / np.sqrt(bulge**2 - x * x), y / np.sqrt(roll**2 - y * y), np.ones_like(x)], -1)
    return n / np.linalg.norm(n, axis=-1, keepdims=True)


@dataclass
class Camera:
    """A pinhole with a little radial distortion, looking at the face.

    `hand` is "right" or "left": of a right-hander's club seen from the front,
    the toe is on the left. `shift` moves the face's centre in the picture, px.
    """

    hand: str
    width: int
    height: int
    focal_px: float
    centre: tuple
    distance_mm: float
    tilt_deg: float
    towards_deg: float
    roll_deg: float
    shift: tuple
    k1: float
    k2: float

    def __post_init__(self):
        self.mirror = np.array([-1.0 if self.hand == "right" else 1.0, 1.0, 1.0])
        tilt, towards, roll = np.radians([self.tilt_deg, self.towards_deg, self.roll_deg])
        out = np.array([np.sin(tilt) * np.cos(towards), np.sin(tilt) * np.sin(towards), np.cos(tilt)])
        self.eye = self.distance_mm * out
        rows = _look(-out)
        # The face's centre goes to the shifted place: turn the camera about its own axes.
        ray = np.array([self.shift[0] / self.focal_px, self.shift[1] / self.focal_px, 1.0])
        rows = _turn(ray / np.linalg.norm(ray), np.array([0.0, 0.0, 1.0])).T @ rows
        c, s = np.cos(roll), np.sin(roll)
        # Roll about the line of sight to the face, so that the shift stays.
        about = ray / np.linalg.norm(ray)
        k = np.array([[0, -about[2], about[1]], [about[2], 0, -about[0]], [-about[1], about[0], 0]])
        self.rows = (np.eye(3) + s * k + (1 - c) * k @ k) @ rows

    def project(self, points):
        """Face-frame points, last axis x, y, z -> pixels, last axis u, v."""
        seen = (np.asarray(points, float) * self.mirror - self.eye) @ self.rows.T
        xy = seen[..., :2] / seen[..., 2:]
        r2 = (xy * xy).sum(-1, keepdims=True)
        return self.focal_px * xy * (1 + self.k1 * r2 + self.k2 * r2 * r2) + np.array(self.centre)

    def rays(self, u, v):
        """Directions through pixels, in the face frame, last axis x, y, z."""
        d = np.stack([(u - self.centre[0]) / self.focal_px, (v - self.centre[1]) / self.focal_px], -1)
        xy = d.copy()
        for _ in range(8):
            r2 = (xy * xy).sum(-1, keepdims=True)
            xy = d / (1 + self.k1 * r2 + self.k2 * r2 * r2)
        seen = np.concatenate([xy, np.ones_like(xy[..., :1])], -1)
        return (seen @ self.rows) * self.mirror

    def on_face(self, u, v, bulge, roll):
        """Where rays through pixels meet the face's surface, continued beyond its edge: x, y in mm."""
        rays, eye = self.rays(u, v), self.eye * self.mirror
        t = -eye[2] / np.minimum(rays[..., 2], -1e-3)
        reach = 0.8 * min(bulge, roll)
        for _ in range(6):
            p = eye + t[..., None] * rays
            x, y = np.clip(p[..., 0], -reach, reach), np.clip(p[..., 1], -reach, reach)
            gap = p[..., 2] - depth(x, y, bulge, roll)
            slope = rays[..., 2] + rays[..., 0] * x / np.sqrt(bulge**2 - x * x)
            slope += rays[..., 1] * y / np.sqrt(roll**2 - y * y)
            t = t - gap / slope
        p = eye + t[..., None] * rays
        return np.clip(p[..., 0], -reach, reach), np.clip(p[..., 1], -reach, reach)


def _look(forward):
    """Rows right, down, forward of a camera that looks along `forward` with the crown up."""
    right = np.cross(forward, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    return np.stack([right, np.cross(forward, right), forward])


def _turn(a, b):
    """The shortest rotation that takes unit vector a to b."""
    axis, c = np.cross(a, b), a @ b
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return np.eye(3) + k + k @ k / (1 + c)


def outline(kind, width, height, rng, wide):
    """A closed face outline of one of five families, (n, 2) in mm, from the toe on toward the crown.

    The centre lines halve each other at the origin and meet the outline at
    (+-width/2, 0) and (0, +-height/2): that is what a calliper reads there.
    `wide` is how far the family may stray, 1 for tuning.
    """
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    c, s = np.cos(angle), np.sin(angle)
    if kind == "quarters":
        # Each quarter is a superellipse of its own.
        n = np.array([rng.uniform(2.0 - 0.2 * wide, 2.7 + 0.5 * wide) for _ in range(4)])
        e = 2 / n[(angle // (np.pi / 2)).astype(int)]
        curve = np.stack([np.sign(c) * np.abs(c) ** e, np.sign(s) * np.abs(s) ** e], -1)
    elif kind == "pear":
        # Tall toward the toe, low at the heel.
        n = rng.uniform(2.1, 2.6 + 0.3 * wide)
        curve = np.stack([np.sign(c) * np.abs(c) ** (2 / n), np.sign(s) * np.abs(s) ** (2 / n)], -1)
        lean = rng.uniform(0.05, 0.22 * wide)
        curve[:, 1] *= 1 + lean * curve[:, 0] - rng.uniform(0, 0.1) * curve[:, 0] ** 2
    elif kind == "bow":
        # A flat sole arc under a higher crown arc, rounded where they meet.
        n = rng.uniform(2.2, 2.8)
        curve = np.stack([np.sign(c) * np.abs(c) ** (2 / n), np.sign(s) * np.abs(s) ** (2 / n)], -1)
        top, bottom = rng.uniform(0.0, 0.15 * wide), rng.uniform(-0.05, 0.12 * wide)
        bend = np.where(curve[:, 1] > 0, top, bottom)
        curve[:, 1] *= 1 - bend * curve[:, 0] ** 2
        curve[:, 1] += rng.uniform(-0.05, 0.05) * wide * (1 - curve[:, 0] ** 2)
    elif kind == "waves":
        # An ellipse with low waves on its radius.
        r = (np.abs(c) ** 2.3 + np.abs(s) ** 2.3) ** (-1 / 2.3)
        for k, most in ((2, 0.03), (3, 0.035), (4, 0.02), (5, 0.01)):
            r *= 1 + most * wide * rng.uniform(-1, 1) * np.cos(k * (angle - rng.uniform(0, 2 * np.pi)))
        curve = np.stack([r * c, r * s], -1)
    else:
        # Through free points: blunt heel, round toe, flattened crown.
        at = np.radians([0, 28, 58, 90, 122, 150, 180, 208, 238, 270, 302, 332])
        r = np.array([1, 1.13, 1.10, 1, 1.08, 1.10, 1, 1.08, 1.06, 1, 1.08, 1.12])
        r = r * (1 + 0.03 * wide * rng.uniform(-1, 1, len(at)))
        k = np.concatenate([at - 2 * np.pi, at, at + 2 * np.pi])
        curve_r = _smooth_through(k, np.tile(r, 3), angle)
        curve = np.stack([curve_r * c, curve_r * s], -1)
    # A small slant: no face's longest line is exactly level.
    slant = np.radians(rng.uniform(-2.0, 2.0) * wide)
    curve[:, 1] *= 0.5
    curve = curve @ np.array([[np.cos(slant), np.sin(slant)], [-np.sin(slant), np.cos(slant)]])
    return _centred(curve, width, height)


def _smooth_through(at, values, where):
    """Catmull-Rom through the points."""
    i = np.clip(np.searchsorted(at, where, side="right") - 1, 1, len(at) - 3)
    t = (where - at[i]) / (at[i + 1] - at[i])
    m0 = (values[i + 1] - values[i - 1]) / (at[i + 1] - at[i - 1]) * (at[i + 1] - at[i])
    m1 = (values[i + 2] - values[i]) / (at[i + 2] - at[i]) * (at[i + 1] - at[i])
    t2, t3 = t * t, t * t * t
    return (
        (2 * t3 - 3 * t2 + 1) * values[i] + (t3 - 2 * t2 + t) * m0 + (3 * t2 - 2 * t3) * values[i + 1] + (t3 - t2) * m1
    )


def crossings(curve, axis, at):
    """Where the closed curve meets the line on which coordinate `axis` is `at`: the other coordinate, sorted."""
    a, b = curve, np.roll(curve, -1, 0)
    hit = (a[:, axis] - at) * (b[:, axis] - at) <= 0
    hit &= a[:, axis] != b[:, axis]
    a, b = a[hit], b[hit]
    t = (at - a[:, axis]) / (b[:, axis] - a[:, axis])
    other = 1 - axis
    return np.sort(a[:, other] + t * (b[:, other] - a[:, other]))


def _centred(curve, width, height):
    centre = curve.mean(0)
    for _ in range(30):
        across, up = crossings(curve, 1, centre[1]), crossings(curve, 0, centre[0])
        centre = np.array([(across[0] + across[-1]) / 2, (up[0] + up[-1]) / 2])
    across, up = crossings(curve, 1, centre[1]), crossings(curve, 0, centre[0])
    return (curve - centre) * [width / (across[-1] - across[0]), height / (up[-1] - up[0])]
