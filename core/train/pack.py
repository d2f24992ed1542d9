"""Writes trained weights as core/src/face/photo/net.rs reads them: 16 bits each, one scale a layer.

    python core/train/pack.py marks WEIGHTS.npz core/src/face/photo/marks.net
    python core/train/pack.py fine WEIGHTS.npz core/src/face/photo/fine.net       # or coarse, outline, ends, powder
"""

import struct
import sys

import numpy as np

# Name of each layer, its stride, the spread of its kernel, and what follows: 0 negative ones become 0, 1 the same
# added to what went in, 2 nothing.
STEM = [("s0", 2, 1, 0), ("s1", 2, 1, 0), ("s2", 2, 1, 0)]
LAYERS = {
    "marks": [("a", 1, 1, 0), ("b", 2, 1, 0)]
    + [(f"d{n}", 1, spread, 1) for n, spread in enumerate((1, 2, 4, 4, 2, 1))]
    + [("h", 1, 1, 2)],
    "fine": STEM + [(f"d{n}", 1, spread, 1) for n, spread in enumerate((1, 2, 4, 1, 2, 4))] + [("h", 1, 1, 2)],
    "outline": STEM[:1] + [(f"d{n}", 1, spread, 1) for n, spread in enumerate((1, 2, 4, 8, 1, 2, 4))] + [("h", 1, 1, 2)],
    "ends": [("i", 1, 1, 0)] + [(f"d{n}", 1, 1, 1) for n in range(2)] + [("h", 1, 1, 2)],
    "powder": [("i", 1, 1, 0), ("d0", 1, 1, 1), ("h", 1, 1, 2)],
    "coarse": STEM + [(f"d{n}", 1, spread, 1) for n, spread in enumerate((1, 2, 4, 2, 1))] + [("h", 1, 1, 2)],
}


def layer(w, b, stride, spread, then):
    k, _, i, o = w.shape
    scale = max(np.abs(w).max(), 1e-9) / 32767
    head = bytes([k, stride, spread, i, o, then]) + struct.pack("<f", scale)
    return head + np.round(w / scale).astype("<i2").tobytes() + b.astype("<f4").tobytes()


def main():
    kind, weights, into = sys.argv[1:]
    q = np.load(weights)
    out = b"".join(layer(q[n + "w"], q[n + "b"], stride, spread, then) for n, stride, spread, then in LAYERS[kind])
    open(into, "wb").write(out)
    print(len(out))


if __name__ == "__main__":
    main()
