"""Rows that the last network of the handles learns from: any shape, seen by any camera, with any picture's errors; and
the pictures' own.

In a folder with shapes_*.npz of make_outlines.py and what make_ends.py made:

    python core/train/make_rows.py ends_of_pictures.npz COUNT OUT.npz
"""

import glob
import sys

import numpy as np

from ends_inputs import NOMINAL, PLACES, UNIT, USUAL, USUAL_AREA, USUAL_FAR, USUAL_TO, features, into
from outline_inputs import POWER, RAYS


def row(points, sd, seen, seen_sd, handles, facts):
    x, frame = features(points, sd, seen, seen_sd, facts)
    return x, ((into(handles, *frame) - NOMINAL).ravel()).astype(np.float32), facts[2] / USUAL[0]


def between(angle, r, at):
    """r at angles `at` (n, k), between the angles (n, m) where it is known, around the circle."""
    order = np.argsort(angle, 1)
    angle, r = np.take_along_axis(angle, order, 1), np.take_along_axis(r, order, 1)
    turn = 2 * np.pi
    angle = np.concatenate([angle[:, -1:] - turn, angle, angle[:, :1] + turn], 1)
    r = np.concatenate([r[:, -1:], r, r[:, :1]], 1)
    nxt = np.clip((angle[:, None] <= at[..., None]).sum(-1), 1, angle.shape[1] - 1)
    take = lambda v, i: np.take_along_axis(v, i, 1)
    a, b = take(angle, nxt - 1), take(angle, nxt)
    t = (at - a) / np.maximum(b - a, 1e-9)
    return take(r, nxt - 1) * (1 - t) + take(r, nxt) * t


def project(cameras, points, faces):
    x, y = points[..., 0], points[..., 1]
    b, r = faces[:, None, 2], faces[:, None, 3]
    z = np.sqrt(b * b - x * x) - b + np.sqrt(r * r - y * y) - r
    rows, eye, lens = cameras[:, :9].reshape(-1, 3, 3), cameras[:, 9:12], cameras[:, 12:]
    seen = np.einsum("nij,nkj->nki", rows, np.stack([x, y, z], -1) - eye[:, None])
    xy = seen[..., :2] / seen[..., 2:]
    r2 = (xy * xy).sum(-1, keepdims=True)
    lens = lens[:, None]
    return lens[..., :1] * xy * (1 + lens[..., 3:4] * r2 + lens[..., 4:5] * r2 * r2) + lens[..., 1:3]


def seen_so(curves, faces, sizes, cameras, views, error):
    """Rows of outlines on faces, seen by cameras with the errors of pictures: what goes in and what is true."""
    wrong, spread, off, off_sd = error
    w, h = sizes[:, :1], sizes[:, 1:]
    half = faces[:, :2] / 2
    zero = np.zeros(len(half))
    ends = np.stack([np.stack(p, -1) for p in ((-half[:, 0], zero), (half[:, 0], zero), (zero, half[:, 1]), (zero, -half[:, 1]))], 1)
    line, ends = project(cameras, curves, faces), project(cameras, ends, faces)
    # `laid`, `offsets` and `places` of many at once.
    heel, toe, crown, sole = np.moveaxis(ends, 1, 0)
    matrix, middle = np.stack([(toe - heel) / w, (crown - sole) / h], -1), ends.mean(1)
    mm = np.einsum("nij,nkj->nki", np.linalg.inv(matrix), line - middle[:, None])
    bent = lambda v: np.sign(v) * np.abs(v) ** (2 / POWER)
    a = (np.arange(RAYS) + 0.5) * 2 * np.pi / RAYS
    on = np.stack([w / 2 * bent(np.cos(a)), h / 2 * bent(np.sin(a))], -1)
    far = np.hypot(on[..., 0], on[..., 1])
    to = on / far[..., None]
    r = between(np.arctan2(mm[..., 1], mm[..., 0]), np.hypot(mm[..., 0], mm[..., 1]), np.arctan2(to[..., 1], to[..., 0]))
    to = to.reshape(len(to), PLACES, 2, 2).sum(2)
    to /= np.linalg.norm(to, axis=-1, keepdims=True)
    r = r.reshape(len(r), PLACES, 2).mean(2) + wrong
    points = np.einsum("nij,nkj->nki", matrix, to * r[..., None]) + middle[:, None]
    before = ends + np.einsum("nij,nkj->nki", matrix, off)
    # `features` of many at once.
    area, centre, _ = moments(points)
    inner = points - centre[:, None]
    _, _, second = moments(inner)
    turn = 0.5 * np.arctan2(2 * second[:, 1], second[:, 0] - second[:, 2])
    per = np.sqrt(np.abs(area) / USUAL_AREA)
    c, s = np.cos(turn), np.sin(turn)
    turned = np.stack([np.stack([c, s], -1), np.stack([-s, c], -1)], 1) / per[:, None, None]
    inward = lambda p: np.einsum("nij,nkj->nki", turned, p - centre[:, None])
    q = inward(points)
    at = np.broadcast_to(np.arctan2(USUAL_TO[:, 1], USUAL_TO[:, 0]), (len(q), PLACES))
    beyond = between(np.arctan2(-q[..., 1], -q[..., 0]), np.hypot(q[..., 0], q[..., 1]), at) - USUAL_FAR
    away = centre - views[:, :2] / 2
    focal = views[:, 2] / 43.2666153 * np.hypot(views[:, 0], views[:, 1])
    known = focal > 0
    away = away / np.where(known, focal, views[:, :2].max(1))[:, None]
    fills = np.clip(2 * np.log(per * USUAL[0] / np.where(known, focal, 1)) + 2, -2, 2)
    x = [beyond / UNIT, np.log(spread), 2 * turn[:, None], away, known[:, None], np.where(known, fills, 0)[:, None], 10 * (h / w - 0.49)]
    x += [(inward(before) - NOMINAL).reshape(-1, 8) / UNIT, np.log(off_sd).reshape(-1, 8)]
    return np.concatenate(x, 1).astype(np.float32), (inward(ends) - NOMINAL).reshape(-1, 8).astype(np.float32)


def moments(points):
    x, y = points[..., 0], points[..., 1]
    x2, y2 = np.roll(x, -1, 1), np.roll(y, -1, 1)
    cross = x * y2 - x2 * y
    whole = cross.sum(1) / 2
    first = np.stack([((x + x2) * cross).sum(1), ((y + y2) * cross).sum(1)], -1) / (6 * whole[:, None])
    second = [x * x + x * x2 + x2 * x2, (x * y2 + 2 * x * y + 2 * x2 * y2 + x2 * y) / 2, y * y + y * y2 + y2 * y2]
    return whole, first, np.stack([(part * cross).sum(1) for part in second], -1) / (12 * whole[:, None])


def mixed(b, what, stated, good, n, rng):
    """Errors of two other pictures, mixed, as large as those of `n` say; so what is stated tells nothing of one picture.

    Without this a network learns each picture's errors by heart from its stated ones.
    """
    one, other = rng.choice(good, (2, len(n)))
    shape = (len(n),) + (1,) * (b[stated].ndim - 1)
    turn = rng.uniform(0, 2 * np.pi, shape)
    share = lambda m: b[what][m] / b[stated][m]
    k = np.exp(rng.normal(0, 0.2, shape))
    said = k * b[stated][n] * np.exp(rng.normal(0, 0.05, b[stated][n].shape))
    return [(np.cos(turn) * share(one) + np.sin(turn) * share(other)) * said, said]


def main():
    bank, count, out = np.load(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    b, rng = {k: bank[k] for k in bank.files}, np.random.default_rng(9)
    files = [np.load(name) for name in sorted(glob.glob("shapes_*.npz"))]
    s = {k: np.concatenate([z[k] for z in files]) for k in files[0].files}
    names = ("points", "spread", "seen", "sd", "handles", "facts")
    own = [row(*(b[k][n] for k in names)) for n in range(len(b["n"]))]
    held = b["n"] % 25 == 0
    good, made = np.flatnonzero(~held), []
    for _ in range(count // 512):
        i, j = rng.integers(0, len(s["facts"]), (2, 512))
        n = rng.choice(good, 512)
        views = s["facts"][j][:, [0, 1, 4]] * np.stack([np.ones(512), np.ones(512), rng.random(512) > 0.2], -1)
        error = mixed(b, "wrong", "spread", good, n, rng) + mixed(b, "off", "sd", good, n, rng)
        curves, faces, cameras = (s[k][m].astype(float) for k, m in (("curves", i), ("faces", i), ("cameras", j)))
        made.append(seen_so(curves[:, ::2], faces, s["facts"][i][:, 2:4], cameras, views, error))
    x, y = (np.concatenate(part) for part in zip(*made))
    own_x, own_y, per = (np.stack(part) for part in zip(*own))
    np.savez(out, x=x, y=y, own_x=own_x, own_y=own_y, per=per, held=held, before=b["off"])
    print(len(x))


if __name__ == "__main__":
    main()
