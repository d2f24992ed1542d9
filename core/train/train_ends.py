"""Trains the network that says where a face's centre lines end, from the outline and the handles of those before it.

    python core/train/train_ends.py ROWS_OF_make_rows.npz OUT.npz MINUTES_OF_THE_PROCESSOR
"""

import os
import sys
import time

os.environ.setdefault("XLA_FLAGS", "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1")

import jax
import jax.numpy as jnp
import numpy as np
import optax

from ends_inputs import INPUTS, OUTPUTS, UNIT

WIDE, LAYERS = 128, 2
BATCH, OWN = 512, 24  # of a batch's rows so many are pictures' own


def init(key):
    keys = iter(jax.random.split(key, 8))
    normal = lambda shape, gain: gain * np.sqrt(2 / shape[0]) * jax.random.normal(next(keys), shape)
    p = {"iw": normal((INPUTS, WIDE), 1.0), "ib": jnp.zeros(WIDE)}
    for n in range(LAYERS):
        p[f"d{n}w"], p[f"d{n}b"] = normal((WIDE, WIDE), 0.5), jnp.zeros(WIDE)
    p["hw"], p["hb"] = normal((WIDE, OUTPUTS), 0.1), jnp.zeros(OUTPUTS)
    return p


def net(p, x):
    x = jax.nn.relu(x @ p["iw"] + p["ib"])
    for n in range(LAYERS):
        x = x + jax.nn.relu(x @ p[f"d{n}w"] + p[f"d{n}b"])
    x = x @ p["hw"] + p["hb"]
    return UNIT * x[:, :8], jnp.clip(x[:, 8:], -2.5, 2.5)


def loss(p, x, y):
    at, sure = net(p, x)
    off = (y - at) / jnp.exp(sure)
    # Student's t of five degrees: a few that are lost don't rule.
    return (3 * jnp.log1p(off**2 / 5) + sure).sum(1).mean() + 0.1 * jnp.abs(y - at).sum(1).mean()


def main():
    rows, out, minutes = np.load(sys.argv[1]), sys.argv[2], float(sys.argv[3])
    rows, rng = {k: rows[k] for k in rows.files}, np.random.default_rng(9)
    held, good = rows["held"], np.flatnonzero(~rows["held"])
    checks = [rows["own_x"][held], rows["own_y"][held], rows["per"][held], rows["before"][held]]
    print(len(rows["x"]), "rows,", len(good), "pictures,", held.sum(), "held out", flush=True)
    p = init(jax.random.PRNGKey(6))
    optimiser = optax.inject_hyperparams(optax.adamw)(learning_rate=1e-3, weight_decay=2e-2)
    state, mean = optimiser.init(p), p

    @jax.jit
    def step(p, state, mean, x, y, decay):
        value, slope = jax.value_and_grad(loss)(p, x, y)
        change, state = optimiser.update(slope, state, p)
        p = optax.apply_updates(p, change)
        return p, state, jax.tree.map(lambda m, v: decay * m + (1 - decay) * v, mean, p), value

    started = last = time.process_time()
    it, losses = 0, []
    while (share := (time.process_time() - started) / (60 * minutes)) < 1:
        a, b = rng.integers(0, len(rows["x"]), BATCH - OWN), rng.choice(good, OWN)
        x, y = (np.concatenate([rows[k][a], rows["own_" + k][b]]) for k in ("x", "y"))
        rate = 2e-3 * 0.5 * (1 + np.cos(np.pi * share)) + 1e-5
        state.hyperparams["learning_rate"] = jnp.array(rate)
        p, state, mean, value = step(p, state, mean, x, y, jnp.array(min(0.998, it / (it + 10))))
        it += 1
        losses.append(float(value))
        if time.process_time() - last > 20 or time.process_time() - started >= 60 * minutes:
            last = time.process_time()
            report(mean, *checks)
            print(f"{(last - started) / 60:.1f} min, {it}, loss {np.mean(losses):.3f}", flush=True)
            losses = []
            np.savez(out, **{k: np.asarray(v)[None, None] if v.ndim == 2 else np.asarray(v) for k, v in mean.items()})


def report(p, x, y, per, before):
    at, sure = (np.asarray(v) for v in net(p, jnp.array(x)))
    off = (at - y).reshape(-1, 4, 2) * per[:, None, None]
    sd = np.exp(sure).reshape(-1, 4, 2)
    mm = np.hypot(off[..., 0], off[..., 1])
    worst, say = mm.max(1), np.hypot(sd[..., 0], sd[..., 1]).max(1)
    before = np.hypot(*np.moveaxis(before, -1, 0)).max(1)
    order = np.argsort(say)
    share = [f"{100 * np.mean(worst[order[: int(len(order) * q)]] < 2.5):.0f}" for q in (0.5, 0.6, 0.7, 0.8, 1)]
    print(
        f"held: before {100 * np.mean(before < 2.5):.0f} % within 2.5, worst median {np.median(before):.2f}; now"
        f" {100 * np.mean(worst < 2.5):.0f} %, median {np.median(worst):.2f}; each along {np.median(np.abs(off[..., 0]), 0).round(2)}"
        f" across {np.median(np.abs(off[..., 1]), 0).round(2)}; of the surest 50, 60, 70, 80, 100 %: {share};"
        f" z {np.sqrt(np.mean((off / sd) ** 2)):.2f}"
    )


if __name__ == "__main__":
    main()
