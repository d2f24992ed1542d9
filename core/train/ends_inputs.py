"""What goes into the network that says where a face's centre lines end, from its outline: `photo/ends.rs` computes the
same.

The rule: the outline's own frame is its middle, the direction in which it is long, and the root of its area; there it
is as far as an oval of 118 x 58 mm would be, so numbers are nearly mm. The toe is on the left, y grows downward as in
the picture. Start at `features`.
"""

import numpy as np

from handle_inputs import proportion
from outline_inputs import RAYS, rays

PLACES = RAYS // 2
USUAL = (118.0, 58.0)
INPUTS = 2 * PLACES + 6 + 16
OUTPUTS = 16  # of four handles: where (2 each), then the logarithms of their standard errors
UNIT = 3.0  # mm: numbers that go in and out are about 1
NOMINAL = np.array([[USUAL[0] / 2, 0], [-USUAL[0] / 2, 0], [0, -USUAL[1] / 2], [0, USUAL[1] / 2]])


def places(width, height):
    """-> lengths to the oval and directions of the places at which an outline is told, one for two rays."""
    far, to = rays(width, height)
    to = to.reshape(-1, 2, 2).sum(1)
    return far.reshape(-1, 2).mean(1), to / np.hypot(*to.T)[:, None]


def area(points):
    x, y = points.T
    return abs((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2


USUAL_FAR, USUAL_TO = places(*USUAL)
USUAL_AREA = area(USUAL_FAR[:, None] * USUAL_TO)


def frame(points):
    """Middle, direction (radians) and pixels a unit of a closed line (second moments of a polygon's area)."""
    x, y = points.T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    cross = x * y2 - x2 * y
    whole = cross.sum() / 2
    middle = np.array([((x + x2) * cross).sum(), ((y + y2) * cross).sum()]) / (6 * whole)
    x, y = (points - middle).T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    cross = x * y2 - x2 * y
    xx = ((x * x + x * x2 + x2 * x2) * cross).sum() / 12 / whole
    yy = ((y * y + y * y2 + y2 * y2) * cross).sum() / 12 / whole
    xy = ((x * y2 + 2 * x * y + 2 * x2 * y2 + x2 * y) * cross).sum() / 24 / whole
    return middle, 0.5 * np.arctan2(2 * xy, xx - yy), np.sqrt(abs(whole) / USUAL_AREA)


def into(points, middle, turn, per):
    """Places in the picture -> in the outline's frame."""
    c, s = np.cos(turn), np.sin(turn)
    return (points - middle) @ np.array([[c, -s], [s, c]]) / per


def features(points, sd, handles, handles_sd, facts):
    """-> INPUTS numbers and the frame; `handles` in the picture and their standard errors (4, 2) in mm."""
    middle, turn, per = frame(points)
    seen = into(points, middle, turn, per)
    angle, r = np.arctan2(-seen[:, 1], -seen[:, 0]), np.hypot(*seen.T)
    order = np.argsort(angle)
    beyond = np.interp(np.arctan2(USUAL_TO[:, 1], USUAL_TO[:, 0]), angle[order], r[order], period=2 * np.pi) - USUAL_FAR
    w, h, film = facts[0], facts[1], facts[4]
    away = middle - np.array([w, h]) / 2
    if film > 0:
        focal = film / 43.2666153 * np.hypot(w, h)
        lens = [*(away / focal), 1.0, np.clip(2 * np.log(per * USUAL[0] / focal) + 2, -2, 2)]
    else:
        lens = [*(away / max(w, h)), 0.0, 0.0]
    off = into(handles, middle, turn, per) - NOMINAL
    out = [beyond / UNIT, np.log(sd), [2 * turn], lens, [proportion(facts[2:4])], off.ravel() / UNIT, np.log(handles_sd).ravel()]
    return np.concatenate(out).astype(np.float32), (middle, turn, per)
