"""Smooth random fields that the renderer is made of. Start at `clouds`."""

import cv2
import numpy as np


def clouds(shape, scale, rng, octaves=3, fall=0.5):
    """A smooth field of mean 0 and SD about 1; `scale` is the largest lump in pixels."""
    total, size, gain, power = np.zeros(shape, np.float32), float(scale), 1.0, 0.0
    for _ in range(octaves):
        h, w = max(2, int(np.ceil(shape[0] / size)) + 3), max(2, int(np.ceil(shape[1] / size)) + 3)
        grid = rng.standard_normal((h, w), np.float32)
        big = cv2.resize(grid, (int(w * size) + 1, int(h * size) + 1), interpolation=cv2.INTER_CUBIC)
        oy, ox = int(rng.integers(0, max(1, int(size)))), int(rng.integers(0, max(1, int(size))))
        big = big[oy : oy + shape[0], ox : ox + shape[1]]
        total += gain * big[: shape[0], : shape[1]]
        power += (0.7 * gain) ** 2
        gain *= fall
        size = max(size / 2.1, 1.0)
    return total / np.float32(np.sqrt(power))


def step(x, lo, hi):
    """0 below lo, 1 above hi, smooth between."""
    t = np.clip((x - lo) / (hi - lo), 0, 1)
    return t * t * (3 - 2 * t)


def srgb_to_linear(rgb):
    return np.power(np.asarray(rgb, np.float32), 2.2)
