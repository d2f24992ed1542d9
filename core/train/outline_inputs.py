"""What goes into the network that finds the face's outline: `photo/outline.rs` computes the same.

The rule: four handles lay an oval in the picture (the nearest map of straight lines to straight and parallel ones to
parallel ones); what is seen along rays from its centre through the oval, some way to both sides of it, is a strip of
one column a ray. The toe is on the left (other pictures are mirrored). Start at `strip`.
"""

import cv2
import numpy as np

RAYS, ROUND, CELLS = 96, 16, 32  # columns; so many of them again at both ends, since a ray has neighbours on both sides; rows
CELL = 0.75  # mm along a ray
POWER = 2.3  # of the oval: an outline between an ellipse and a rectangle (photo/coat.rs)
INPUTS = 6  # brightness, two colours, where along the ray, where round the face (2)
OUTPUTS = 3  # of a cell: how likely the outline is there, where, how sure


def oval(width, height):
    """-> (RAYS, 2): places on the oval in the face frame, mm, from the toe on toward the crown."""
    a = (np.arange(RAYS) + 0.5) * 2 * np.pi / RAYS
    c, s = np.cos(a), np.sin(a)
    bent = lambda v: np.sign(v) * np.abs(v) ** (2 / POWER)
    return np.stack([width / 2 * bent(c), height / 2 * bent(s)], -1)


def laid(handles, width, height):
    """2x3: mm of the face frame -> picture, by least squares over heel, toe, crown, sole."""
    heel, toe, crown, sole = handles
    middle = np.mean(handles, 0)
    return np.column_stack([(toe - heel) / width, (crown - sole) / height, middle])


def rays(width, height):
    """-> (RAYS,) lengths of the oval's rays and (RAYS, 2) their directions."""
    at = oval(width, height)
    far = np.hypot(*at.T)
    return far, at / far[:, None]


def cells(ycc, matrix, width, height):
    """(CELLS, RAYS, 3) of a picture of brightness and two colours under `laid`'s map, and where there is picture."""
    far, to = rays(width, height)
    sums, there = 0, 0
    # Each cell is the mean of two places along the ray by four across.
    nxt, before = np.roll(to * far[:, None], -1, 0), np.roll(to * far[:, None], 1, 0)
    side = (nxt - before) / 2
    for along in (-0.25, 0.25):
        r = far[:, None] + (np.arange(CELLS) + 0.5 + along - CELLS / 2) * CELL
        for across in (-0.375, -0.125, 0.125, 0.375):
            at = to[:, None] * r[..., None] + across * side[:, None] * (r / far[:, None])[..., None]
            px = at @ matrix[:, :2].T + matrix[:, 2]
            u, v = np.float32(px[..., 0].T - 0.5), np.float32(px[..., 1].T - 0.5)
            sums = sums + cv2.remap(ycc, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
            h, w = ycc.shape[:2]
            there = there + ((u > -0.5) & (v > -0.5) & (u < w - 0.5) & (v < h - 0.5))
    return sums / 8, there > 4


def light(seen, there):
    """Nine numbers that tell powder from bare metal: of cells within the oval and beyond it, brightness and colours."""
    y = seen[..., 0]
    within, beyond = slice(4, 12), slice(20, 28)
    parts = []
    for rows in (within, beyond):
        some = there[rows]
        mean = [seen[rows][..., k][some].mean() if some.any() else 128.0 for k in range(3)]
        spread = np.sqrt(((y[rows][some] - mean[0]) ** 2).mean()) if some.any() else 0.0
        parts += [mean[0] / 64 - 2, (mean[1] - 128) / 16, (mean[2] - 128) / 16, spread / 32]
    steps = np.abs(np.diff(y[within], axis=1))[there[within][:, 1:] & there[within][:, :-1]]
    return np.array([*parts, steps.mean() / 8 if len(steps) else 0.0], np.float32)


def strip(ycc, matrix, width, height):
    """(CELLS, RAYS + 2 ROUND, INPUTS): what the network sees."""
    seen, there = cells(ycc, matrix, width, height)
    _, to = rays(width, height)
    out = np.zeros((CELLS, RAYS, INPUTS), np.float32)
    y = seen[..., 0]
    if there.any():
        mean = y[there].mean()
        spread = np.sqrt(((y[there] - mean) ** 2).mean())
        out[..., 0] = np.where(there, (y - mean) / (spread + 8), 0)
        out[..., 1:3] = np.where(there[..., None], (seen[..., 1:] - 128) / 32, 0)
    out[..., 3] = ((np.arange(CELLS) + 0.5) / (CELLS / 2) - 1)[:, None]
    out[..., 4:6] = to
    return np.concatenate([out[:, -ROUND:], out, out[:, :ROUND]], 1)


def offsets(outline, matrix, width, height):
    """How far along each ray the outline (places in the picture) lies beyond the oval, mm."""
    far, to = rays(width, height)
    mm = (outline - matrix[:, 2]) @ np.linalg.inv(matrix[:, :2]).T
    angle, r = np.arctan2(mm[:, 1], mm[:, 0]), np.hypot(*mm.T)
    order = np.argsort(angle)
    return np.interp(np.arctan2(to[:, 1], to[:, 0]), angle[order], r[order], period=2 * np.pi) - far
