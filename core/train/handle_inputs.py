"""What goes into the two networks that propose handles, and what comes out: `photo/keypoints.rs` computes the same.

The rule: the toe is on the left (other pictures are mirrored); the picture's brightness is taken off its mean and
divided by its spread. Start at `crop`.
"""

import cv2
import numpy as np

WIDE, HIGH, CELL = 128, 96, 8  # the fine network's crop and the coarse one's square (WIDE x WIDE), pixels; a cell
FACE = 90.0  # so long is a face in the crop, heel to toe
OUTPUTS = 5  # numbers of each handle in a cell: how likely, where (2), how sure (2)


def around(handles):
    """Centre, direction from toe to heel (radians) and length of what four handles span."""
    heel, toe = handles[0], handles[1]
    along = heel - toe
    return handles.mean(0), float(np.arctan2(along[1], along[0])), float(np.hypot(*along))


def to_crop(centre, turn, length):
    """2x3: picture -> crop."""
    k = FACE / length
    c, s = np.cos(turn) * k, np.sin(turn) * k
    a = np.array([[c, s], [-s, c]])
    return np.column_stack([a, np.array([WIDE / 2, HIGH / 2]) - a @ centre])


def to_square(width, height):
    """2x3: picture -> the coarse network's square."""
    k = WIDE / max(width, height)
    return np.array([[k, 0, (WIDE - k * width) / 2], [0, k, (WIDE - k * height) / 2]])


def sampled(picture, matrix, size):
    """The picture under a map, each pixel the mean of n x n places; 1 where there is picture."""
    k = np.sqrt(abs(np.linalg.det(matrix[:, :2])))
    n = int(np.clip(np.ceil(1 / k), 1, 6))
    fine = matrix * n
    # cv2 counts from the first pixel's middle, we from its corner.
    fine[:, 2] += fine[:, :2] @ [0.5, 0.5] - 0.5
    big = (size[0] * n, size[1] * n)
    seen = cv2.warpAffine(picture, fine, big, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    h, w = picture.shape[:2]
    there = cv2.warpAffine(np.full((h, w), 255, np.uint8), fine, big, flags=cv2.INTER_NEAREST)
    if n > 1:
        seen, there = (cv2.resize(a, size, interpolation=cv2.INTER_AREA) for a in (seen, there))
    return seen.astype(np.float32), (there > 127)


def channels(ycc, there, facts):
    """8 numbers a pixel: brightness, two colours, where (2), proportion, is the lens known, the angle that a face fills."""
    h, w = ycc.shape[:2]
    y = ycc[..., 0]
    mean = y[there].mean()
    spread = np.sqrt(((y[there] - mean) ** 2).mean())
    out = np.zeros((h, w, 8), np.float32)
    out[..., 0] = np.where(there, (y - mean) / (spread + 8), 0)
    out[..., 1:3] = np.where(there[..., None], (ycc[..., 1:] - 128) / 32, 0)
    out[..., 3] = (np.arange(w) + 0.5)[None, :] / (WIDE / 2) - 1
    out[..., 4] = (np.arange(h) + 0.5)[:, None] / (WIDE / 2) - h / WIDE
    out[..., 5:] = facts
    return out


def proportion(calliper):
    return 10 * (calliper[1] / calliper[0] - 0.49)


def angle(length, film, width, height):
    """Is the lens known, and the logarithm of the angle that the face fills."""
    if film <= 0:
        return 0.0, 0.0
    focal = film / 43.2666153 * np.hypot(width, height)
    return 1.0, float(np.clip(2 * np.log(length / focal) + 2, -2, 2))
