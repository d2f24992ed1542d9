"""What the networks before say of pictures, for training the last one: how far their outlines and handles are off.

In the folder with faces_*.npz and outlines_*.npz; COUNT pictures, drawn at random from those that `train_outline.py`
held out first, then from all, each changed at random:

    python core/train/make_ends.py fine.npz outline.npz COUNT OUT.npz
"""

import os
import sys

os.environ.setdefault("XLA_FLAGS", "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1")

import cv2
import jax
import numpy as np

import train_handles
import train_outline
from ends_inputs import places
from handle_inputs import FACE, HIGH, OUTPUTS, WIDE, angle, around, channels, proportion, sampled, to_crop
from outline_inputs import cells, laid, light, offsets, strip
from train_handles import Pictures, changed

LOOKS = [(0.0, 0.0, 0.0, 1.0), (0.02, 0.0, 0.03, 1.03), (-0.02, 0.01, -0.03, 1.03)]  # as photo/keypoints.rs has them
MORE = 1.25


def main():
    fine, outline = ({k: jax.numpy.array(v) for k, v in np.load(name).items()} for name in sys.argv[1:3])
    pictures = Pictures()
    pictures.more()
    curves = train_outline.outlines(pictures)

    @jax.jit
    def see(x):
        y = train_handles.net("fine", fine, x)
        return *train_handles.told(y), y[..., 4 * OUTPUTS].mean((1, 2))[:, None]

    find = jax.jit(lambda x: train_outline.told(train_outline.net(outline, x)))
    rng = np.random.default_rng(8)

    def look(ycc, handles, facts, how):
        centre, turn, length = around(handles)
        centre, turn, length = centre + np.array(how[:2]) * length, turn + how[2], length * how[3]
        matrix = to_crop(centre, turn, length)
        seen, there = sampled(ycc, matrix, (WIDE, HIGH))
        h, w = ycc.shape[:2]
        x = channels(seen, there, [proportion(facts[2:4]), *angle(length, facts[4], w, h)])
        at, sd, powder = (np.asarray(v)[0] for v in see(x[None]))
        back = np.linalg.inv(matrix[:, :2])
        return (at - matrix[:, 2]) @ back.T, sd * facts[2] / FACE * how[3] * MORE, powder[0]

    held = [i for i in range(len(pictures.data)) if i % 25 == 0]
    rest = rng.permutation([i for i in range(len(pictures.data)) if i % 25])
    rows = []
    for n, i in enumerate([*held, *rest][: int(sys.argv[3])]):
        picture, handles, facts = pictures.get(i)
        curve = curves[i].copy()
        if not facts[5]:
            curve[:, 0] = picture.shape[1] - curve[:, 0]
        if n >= len(held):
            picture = changed(picture, rng)
        ycc = cv2.cvtColor(picture, cv2.COLOR_BGR2YCrCb)[..., [0, 2, 1]].astype(np.float32)
        length = np.hypot(*(handles[0] - handles[1]))
        seen = handles + 0.03 * length * rng.normal(0, 1, 2) + 0.02 * length * rng.normal(0, 1, (4, 2))
        for _ in range(2):
            seen, _, _ = look(ycc, seen, facts, LOOKS[0])
        looks = [look(ycc, seen, facts, how) for how in LOOKS]
        seen, sd, powder = (np.mean([one[k] for one in looks], 0) for k in (0, 1, 2))
        matrix = laid(seen, *facts[2:4])
        at, spread = (np.asarray(v)[0] for v in find(strip(ycc, matrix, *facts[2:4])[None]))
        true = offsets(curve, matrix, *facts[2:4]).reshape(-1, 2).mean(1)
        far, to = places(*facts[2:4])
        points = (to * (far + at)[:, None]) @ matrix[:, :2].T + matrix[:, 2]
        exact = laid(handles, *facts[2:4])
        off = (seen - handles) @ np.linalg.inv(exact[:, :2]).T
        rows.append([i, curve, handles, facts, points, at - true, spread, seen, off, sd, powder, light(*cells(ycc, matrix, *facts[2:4]))])
        if n % 100 == 99:
            print(n + 1, flush=True)
    names = ["n", "outlines", "handles", "facts", "points", "wrong", "spread", "seen", "off", "sd", "powder", "light"]
    np.savez(sys.argv[4], **{name: np.array([row[k] for row in rows]) for k, name in enumerate(names)})


if __name__ == "__main__":
    main()
