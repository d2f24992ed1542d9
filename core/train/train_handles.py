"""Trains the networks that propose handles: `coarse` on whole pictures, `fine` on crops about the face.

In the folder with faces_*.npz of make_faces.py:

    python core/train/train_handles.py fine OUT.npz MINUTES [START.npz]
"""

import glob
import os
import sys
import time

os.environ.setdefault("XLA_FLAGS", "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1")

import cv2
import jax
import jax.numpy as jnp
import numpy as np
import optax

from handle_inputs import CELL, FACE, HIGH, OUTPUTS, WIDE, angle, around, channels, proportion, sampled, to_crop, to_square

cv2.setNumThreads(1)
SHAPES = {
    # stem outputs, spreads of the residual layers
    "fine": ((16, 24, 40), (1, 2, 4, 1, 2, 4)),
    "coarse": ((8, 16, 24), (1, 2, 4, 2, 1)),
}
HEAD = 4 * OUTPUTS + 4  # the last four: is there powder, and three spare ones


def init(kind, key):
    stem, spreads = SHAPES[kind]
    keys = iter(jax.random.split(key, 20))
    normal = lambda shape, fan, gain=1.0: gain * np.sqrt(2 / fan) * jax.random.normal(next(keys), shape)
    p, before = {}, 8
    for i, out in enumerate(stem):
        p[f"s{i}w"], p[f"s{i}b"] = normal((4, 4, before, out), 16 * before), jnp.zeros(out)
        before = out
    for i in range(len(spreads)):
        p[f"d{i}w"], p[f"d{i}b"] = normal((3, 3, before, before), 9 * before, 0.5), jnp.zeros(before)
    p["hw"], p["hb"] = normal((1, 1, before, HEAD), before, 0.1), jnp.zeros(HEAD)
    return p


def conv(x, w, b, stride=1, spread=1):
    pad = "SAME" if stride == 1 else ((1, 1), (1, 1))
    out = jax.lax.conv_general_dilated(
        x, w, (stride, stride), pad, rhs_dilation=(spread, spread), dimension_numbers=("NHWC", "HWIO", "NHWC")
    )
    return out + b


def net(kind, p, x):
    stem, spreads = SHAPES[kind]
    for i in range(len(stem)):
        x = jax.nn.relu(conv(x, p[f"s{i}w"], p[f"s{i}b"], 2))
    for i, spread in enumerate(spreads):
        x = x + jax.nn.relu(conv(x, p[f"d{i}w"], p[f"d{i}b"], 1, spread))
    return conv(x, p["hw"], p["hb"])


def mixtures(y):
    """Weights (logarithm), centres and spreads (pixels) of every cell's normal curve: (n, cells, 4, ...)."""
    n, h, w, _ = y.shape
    parts = y[..., : 4 * OUTPUTS].reshape(n, h * w, 4, OUTPUTS)
    cx = jnp.tile((jnp.arange(w) + 0.5) * CELL, h)[None, :, None]
    cy = jnp.repeat((jnp.arange(h) + 0.5) * CELL, w)[None, :, None]
    weight = jax.nn.log_softmax(parts[..., 0], axis=1)
    at = jnp.stack([cx + CELL * parts[..., 1], cy + CELL * parts[..., 2]], -1)
    spread = jnp.exp(jnp.clip(parts[..., 3:], -2.5, 3.5))
    return weight, at, spread


def told(y):
    """Mean and standard errors of each handle: (n, 4, 2) each."""
    weight, at, spread = mixtures(y)
    w = jnp.exp(weight)[..., None]
    mean = (w * at).sum(1)
    return mean, jnp.sqrt((w * (spread**2 + (at - mean[:, None]) ** 2)).sum(1))


def loss(kind, p, x, handles, powder):
    y = net(kind, p, x)
    weight, at, spread = mixtures(y)
    off = (handles[:, None] - at) / spread
    density = weight - 0.5 * (off**2).sum(-1) - jnp.log(spread).sum(-1)
    nll = -jax.scipy.special.logsumexp(density, axis=1).sum(-1)
    mean = (jnp.exp(weight)[..., None] * at).sum(1)
    far = jnp.minimum(jnp.abs(mean - handles), 30.0).sum((1, 2))
    logit = y[..., 4 * OUTPUTS].mean((1, 2))
    seen = optax.sigmoid_binary_cross_entropy(logit, powder)
    return (nll + 0.1 * far + 0.5 * seen).mean()


class Pictures:
    """Pictures as JPEG bytes, decoded when they are needed; all with the toe on the left."""

    def __init__(self):
        self.files, self.data = set(), []

    def more(self):
        for name in sorted(glob.glob("faces_*.npz")):
            if name in self.files or "part" in name:
                continue
            self.files.add(name)
            z = np.load(name)
            ends = np.cumsum(z["lengths"])
            every = z["pictures"]
            for i, end in enumerate(ends):
                self.data.append((every[end - z["lengths"][i] : end], z["handles"][i], z["facts"][i]))
        return len(self.data)

    def get(self, i):
        data, handles, facts = self.data[i]
        picture = cv2.imdecode(data, cv2.IMREAD_COLOR)
        handles = handles.copy()
        if not facts[5]:
            picture, handles[:, 0] = picture[:, ::-1], picture.shape[1] - handles[:, 0]
        return np.ascontiguousarray(picture), handles, facts


def changed(picture, rng):
    """Other colours, light and noise."""
    if rng.random() < 0.25:
        picture = picture[..., rng.permutation(3)]
    x = np.arange(256) / 255
    tables = [255 * np.clip(x ** np.exp(rng.normal(0, 0.12)) * rng.uniform(0.75, 1.2), 0, 1) for _ in range(3)]
    same = tables[0]
    mix = rng.uniform(0, 1)
    table = np.stack([(1 - mix) * same + mix * t for t in tables], -1).round().astype(np.uint8)[:, None, :]
    picture = cv2.LUT(np.ascontiguousarray(picture), table.reshape(256, 1, 3))
    if rng.random() < 0.3:
        picture = cv2.GaussianBlur(picture, (0, 0), rng.uniform(0.3, 1.6))
    if rng.random() < 0.3:
        # Something lies there.
        h, w = picture.shape[:2]
        for _ in range(rng.integers(1, 4)):
            a, b = rng.uniform(0, [w, h]), rng.uniform(0.02, 0.2, 2) * w
            box = cv2.boxPoints((tuple(map(float, a)), tuple(map(float, b)), float(rng.uniform(0, 180))))
            cv2.fillConvexPoly(picture, np.int32(box), tuple(map(float, rng.uniform(0, 255, 3))))
    return picture


def sample(kind, picture, handles, facts, rng, jitter=True):
    h, w = picture.shape[:2]
    if kind == "fine":
        centre, turn, length = around(handles)
        if jitter:
            big = rng.random() < 0.5
            centre = centre + rng.normal(0, 0.05 if big else 0.01, 2) * length
            turn += rng.normal(0, 0.09 if big else 0.02)
            length *= np.exp(rng.normal(0, 0.08 if big else 0.015))
        matrix, size = to_crop(centre, turn, length), (WIDE, HIGH)
    else:
        matrix, size, length = to_square(w, h), (WIDE, WIDE), 0.4 * max(w, h)
        if jitter:
            k, a = np.exp(rng.normal(0, 0.15)), rng.normal(0, 0.1)
            m = k * np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
            middle, move = np.array([WIDE / 2, WIDE / 2]), rng.normal(0, 8, 2)
            matrix = np.column_stack([m @ matrix[:, :2], m @ (matrix[:, 2] - middle) + middle + move])
    ycc, there = sampled(picture, matrix, size)
    ycc = cv2.cvtColor(ycc / 255, cv2.COLOR_BGR2YCrCb)
    # Brightness and differences as JFIF has them (ITU-R BT.601, full range).
    ycc = np.stack([255 * ycc[..., 0], 128 + 255 * (ycc[..., 2] - 0.5), 128 + 255 * (ycc[..., 1] - 0.5)], -1)
    if jitter:
        ycc[..., 0] += rng.normal(0, 1, ycc.shape[:2]) * rng.exponential(2)
    known = (0.0, 0.0)
    if kind == "fine":
        film = facts[4] * (np.exp(rng.normal(0, 0.02)) if jitter else 1)
        known = angle(length, film, w, h)
        if jitter and rng.random() < 0.3:
            known = (0.0, 0.0)
    shape = proportion(facts[2:4]) if kind == "fine" else 0.0
    return channels(ycc, there, [shape, *known]), handles @ matrix[:, :2].T + matrix[:, 2], facts[6]


def main():
    kind, out, minutes = sys.argv[1], sys.argv[2], float(sys.argv[3])
    pictures, rng = Pictures(), np.random.default_rng(1 if kind == "fine" else 2)
    print(pictures.more(), "pictures", flush=True)
    p = init(kind, jax.random.PRNGKey(3))
    if len(sys.argv) > 4:
        p = {k: jnp.array(v) for k, v in np.load(sys.argv[4]).items()}
    held = [i for i in range(len(pictures.data)) if i % 25 == 0]
    checks = [sample(kind, *pictures.get(i), np.random.default_rng(i), kind == "fine") for i in held]
    checks = [jnp.array(np.stack([c[k] for c in checks])) for k in range(3)]
    optimiser = optax.inject_hyperparams(optax.adamw)(learning_rate=1e-3, weight_decay=1e-3)
    state, mean = optimiser.init(p), p

    @jax.jit
    def step(p, state, mean, x, handles, powder, decay):
        value, slope = jax.value_and_grad(lambda p: loss(kind, p, x, handles, powder))(p)
        norm = optax.global_norm(slope)
        slope = jax.tree.map(lambda g: g * jnp.minimum(1, 5 / (norm + 1e-9)), slope)
        change, state = optimiser.update(slope, state, p)
        p = optax.apply_updates(p, change)
        return p, state, jax.tree.map(lambda m, v: decay * m + (1 - decay) * v, mean, p), value

    look = jax.jit(lambda p, x: (*told(net(kind, p, x)), net(kind, p, x)[..., 4 * OUTPUTS].mean((1, 2))))
    started = last = time.time()
    it, losses, batch = 0, [], 16
    while (share := (time.time() - started) / (60 * minutes)) < 1:
        some = [i for i in rng.integers(0, len(pictures.data), 2 * batch) if i % 25 != 0][:batch]
        drawn = [pictures.get(i) for i in some]
        drawn = [sample(kind, changed(picture, rng), handles, facts, rng) for picture, handles, facts in drawn]
        x, handles, powder = (np.stack([d[k] for d in drawn]) for k in range(3))
        rate = ((1.5e-3 if len(sys.argv) > 4 else 2.5e-3) * 0.5 * (1 + np.cos(np.pi * share)) + 1e-5) * min(1, (it + 1) / 150)
        state.hyperparams["learning_rate"] = jnp.array(rate)
        p, state, mean, value = step(p, state, mean, x, handles, powder, jnp.array(min(0.998, it / (it + 10))))
        it += 1
        losses.append(float(value))
        if time.time() - last > 100:
            last = time.time()
            at, spread, powder = look(mean, checks[0])
            mm = np.asarray(jnp.linalg.norm(at - checks[1], axis=-1)) * (118 / FACE if kind == "fine" else 1)
            worst = mm.max(1)
            z = np.abs(np.asarray((at - checks[1]) / spread))
            right = np.mean((np.asarray(powder) > 0) == (np.asarray(checks[2]) > 0.5))
            print(
                f"{(last - started) / 60:.1f} min, {it}, loss {np.mean(losses):.3f}; each {np.median(mm, 0).round(2)},"
                f" worst {np.median(worst):.2f} p90 {np.percentile(worst, 90):.2f}, under 2.5 {np.mean(worst < 2.5):.3f},"
                f" beyond 2 sd {np.mean(z > 2):.3f}, powder {right:.3f}, {len(pictures.data)} pictures",
                flush=True,
            )
            losses = []
            np.savez(out, **{k: np.asarray(v) for k, v in mean.items()})
            # More may have been made meanwhile; indices and held ones stay.
            pictures.more()
    np.savez(out, **{k: np.asarray(v) for k, v in mean.items()})


if __name__ == "__main__":
    main()
