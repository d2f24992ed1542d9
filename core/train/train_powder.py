"""Trains the network that says whether a face is coated, from what `fine` says of powder and the light about the oval.

    python core/train/train_powder.py ends_of_pictures.npz OUT.npz
"""

import os
import sys

os.environ.setdefault("XLA_FLAGS", "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1")

import jax
import jax.numpy as jnp
import numpy as np
import optax

WIDE = 16


def net(p, x):
    x = jax.nn.relu(x @ p["iw"] + p["ib"])
    return ((x + jax.nn.relu(x @ p["d0w"] + p["d0b"])) @ p["hw"] + p["hb"])[:, 0]


def main():
    bank, out = np.load(sys.argv[1]), sys.argv[2]
    x = np.column_stack([bank["powder"] / 4, bank["light"]]).astype(np.float32)
    y, held = (bank["facts"][:, 6] > 0).astype(np.float32), bank["n"] % 25 == 0
    k = jax.random.split(jax.random.PRNGKey(7), 3)
    p = {
        "iw": 0.4 * jax.random.normal(k[0], (x.shape[1], WIDE)),
        "ib": jnp.zeros(WIDE),
        "d0w": 0.2 * jax.random.normal(k[1], (WIDE, WIDE)),
        "d0b": jnp.zeros(WIDE),
        "hw": 0.1 * jax.random.normal(k[2], (WIDE, 1)),
        "hb": jnp.zeros(1),
    }
    optimiser = optax.adamw(optax.cosine_decay_schedule(5e-3, 3000), weight_decay=1e-2)
    state, rng, some = optimiser.init(p), np.random.default_rng(3), np.flatnonzero(~held)

    @jax.jit
    def step(p, state, x, y):
        loss = lambda p: optax.sigmoid_binary_cross_entropy(net(p, x), y).mean()
        change, state = optimiser.update(jax.grad(loss)(p), state, p)
        return optax.apply_updates(p, change), state

    for _ in range(3000):
        n = rng.choice(some, 256)
        # A little noise, since bare faces are few.
        p, state = step(p, state, x[n] + rng.normal(0, 0.05, x[n].shape).astype(np.float32), y[n])
    for name, part in (("learned", ~held), ("held out", held)):
        for what, said in (("before", bank["powder"][part]), ("now", np.asarray(net(p, x[part])))):
            bare, coated = said[y[part] == 0], np.sort(said[y[part] == 1])
            told = [f"{share:g} % {100 * np.mean(bare < coated[int(share / 100 * len(coated))]):.0f}" for share in (0.5, 1, 2, 4)]
            at = [f"{t:g}: {100 * np.mean(bare < t):.0f} / {100 * np.mean(coated < t):.1f}" for t in (0, 0.5, 1, 1.5)]
            print(f"{name}, {what}: of {len(bare)} bare told, where of {len(coated)} coated ones so many are refused: {told}; below {at}")
    np.savez(out, **{k: np.asarray(v)[None, None] if v.ndim == 2 else np.asarray(v) for k, v in p.items()})


if __name__ == "__main__":
    main()
