"""Trains the network that finds the face's outline in strips about four handles.

In the folder with faces_*.npz of make_faces.py and outlines_*.npz of make_outlines.py:

    python core/train/train_outline.py OUT.npz MINUTES_OF_THE_PROCESSOR [START.npz]
"""

import os
import sys
import time

os.environ.setdefault("XLA_FLAGS", "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1")

import cv2
import jax
import jax.numpy as jnp
import numpy as np
import optax

from outline_inputs import CELL, CELLS, INPUTS, OUTPUTS, RAYS, ROUND, laid, offsets, strip
from train_handles import Pictures, changed, conv

DEPTH, SPREADS = 24, (1, 2, 4, 8, 1, 2, 4)


def init(key):
    keys = iter(jax.random.split(key, 20))
    normal = lambda shape, fan, gain=1.0: gain * np.sqrt(2 / fan) * jax.random.normal(next(keys), shape)
    p = {"s0w": normal((4, 4, INPUTS, DEPTH), 16 * INPUTS), "s0b": jnp.zeros(DEPTH)}
    for i in range(len(SPREADS)):
        p[f"d{i}w"], p[f"d{i}b"] = normal((3, 3, DEPTH, DEPTH), 9 * DEPTH, 0.5), jnp.zeros(DEPTH)
    p["hw"], p["hb"] = normal((1, 1, DEPTH, OUTPUTS), DEPTH, 0.1), jnp.zeros(OUTPUTS)
    return p


def net(p, x):
    x = jax.nn.relu(conv(x, p["s0w"], p["s0b"], 2))
    for i, spread in enumerate(SPREADS):
        x = x + jax.nn.relu(conv(x, p[f"d{i}w"], p[f"d{i}b"], 1, spread))
    x = conv(x, p["hw"], p["hb"])
    return x[:, :, ROUND // 2 : -ROUND // 2]


def mixtures(y):
    """Logarithm of weight, centre and spread (mm beyond the oval) of every cell: (n, cells, columns) each."""
    weight = jax.nn.log_softmax(y[..., 0], 1)
    middle = (jnp.arange(CELLS // 2) + 0.5 - CELLS / 4)[:, None]
    return weight, 2 * CELL * (middle + y[..., 1]), 2 * CELL * jnp.exp(jnp.clip(y[..., 2], -3, 2.5))


def told(y):
    """Mean and standard error of each column: (n, columns) each."""
    weight, at, spread = mixtures(y)
    w = jnp.exp(weight)
    mean = (w * at).sum(1)
    return mean, jnp.sqrt((w * (spread**2 + (at - mean[:, None]) ** 2)).sum(1))


def loss(p, x, far):
    weight, at, spread = mixtures(net(p, x))
    density = weight - 0.5 * ((far[:, None] - at) / spread) ** 2 - jnp.log(spread)
    mean = (jnp.exp(weight) * at).sum(1)
    return (-jax.scipy.special.logsumexp(density, axis=1) + 0.1 * jnp.abs(mean - far)).mean()


def outlines(pictures):
    """The outlines of `Pictures`' pictures, with the toe on the left, in their order."""
    every = [np.load(name.replace("faces", "outlines"))["outlines"] for name in sorted(pictures.files)]
    return np.concatenate(every)


def moved(handles, size, rng):
    """Handles as the networks before would be off: together and each by itself, now and then far."""
    k = size / 118 * (3.0 if rng.random() < 0.15 else 1.0)
    return handles + k * (rng.normal(0, 1.2, 2) + rng.normal(0, 1.5, (4, 2)))


def sample(picture, handles, facts, outline, rng):
    """-> the strip and two rays' mean of how far the outline lies beyond the oval."""
    calliper = facts[2:4]
    matrix = laid(moved(handles, np.hypot(*(handles[0] - handles[1])), rng), *calliper)
    ycc = cv2.cvtColor(picture, cv2.COLOR_BGR2YCrCb)[..., [0, 2, 1]].astype(np.float32)
    x = strip(ycc, matrix, *calliper)
    x[..., 0] += rng.normal(0, 0.02) + rng.normal(0, rng.exponential(0.03), x.shape[:2])
    far = offsets(outline, matrix, *calliper)
    return x, far.reshape(-1, 2).mean(1)


def main():
    out, minutes = sys.argv[1], float(sys.argv[2])
    pictures, rng = Pictures(), np.random.default_rng(4)
    pictures.more()
    curves = outlines(pictures)
    assert len(curves) == len(pictures.data)

    def get(i, rng, change=True):
        picture, handles, facts = pictures.get(i)
        curve = curves[i].copy()
        if not facts[5]:
            curve[:, 0] = picture.shape[1] - curve[:, 0]
        return sample(changed(picture, rng) if change else picture, handles, facts, curve, rng)

    p = init(jax.random.PRNGKey(5))
    if len(sys.argv) > 3:
        p = {k: jnp.array(v) for k, v in np.load(sys.argv[3]).items()}
    held = [i for i in range(len(pictures.data)) if i % 25 == 0][:160]
    checks = [np.stack(c) for c in zip(*(get(i, np.random.default_rng(i), False) for i in held))]
    optimiser = optax.inject_hyperparams(optax.adamw)(learning_rate=1e-3, weight_decay=1e-3)
    state, mean = optimiser.init(p), p

    @jax.jit
    def step(p, state, mean, x, far, decay):
        value, slope = jax.value_and_grad(loss)(p, x, far)
        norm = optax.global_norm(slope)
        slope = jax.tree.map(lambda g: g * jnp.minimum(1, 5 / (norm + 1e-9)), slope)
        change, state = optimiser.update(slope, state, p)
        p = optax.apply_updates(p, change)
        return p, state, jax.tree.map(lambda m, v: decay * m + (1 - decay) * v, mean, p), value

    look = jax.jit(lambda p, x: told(net(p, x)))
    started = last = time.process_time()
    it, losses, batch = 0, [], 12
    while (share := (time.process_time() - started) / (60 * minutes)) < 1:
        some = [i for i in rng.integers(0, len(pictures.data), 2 * batch) if i % 25 != 0][:batch]
        x, far = (np.stack(c) for c in zip(*(get(i, rng) for i in some)))
        rate = (3e-3 * 0.5 * (1 + np.cos(np.pi * share)) + 1e-5) * min(1, (it + 1) / 100)
        state.hyperparams["learning_rate"] = jnp.array(rate)
        p, state, mean, value = step(p, state, mean, x, far, jnp.array(min(0.997, it / (it + 10))))
        it += 1
        losses.append(float(value))
        if time.process_time() - last > 45 or time.process_time() - started >= 60 * minutes:
            last = time.process_time()
            at, spread = look(mean, checks[0])
            off = np.asarray(at) - checks[1]
            z = np.abs(off / np.asarray(spread))
            print(
                f"{(last - started) / 60:.1f} min, {it}, loss {np.mean(losses):.3f};"
                f" off median {np.median(np.abs(off)):.2f} p90 {np.percentile(np.abs(off), 90):.2f} mean {off.mean():.2f},"
                f" a face's mean square {np.median(np.sqrt((off**2).mean(1))):.2f}, beyond 2 sd {np.mean(z > 2):.3f}",
                flush=True,
            )
            losses = []
            np.savez(out, **{k: np.asarray(v) for k, v in mean.items()})


if __name__ == "__main__":
    main()
