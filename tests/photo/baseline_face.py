"""The OpenCV pipeline's proposal of handles: where is the face, and how does it lie?

Nothing here knows the renderer. Start at `propose`.
"""

import cv2
import numpy as np

BULGE = ROLL = 305.0


def surface(x, y):
    return np.sqrt(BULGE**2 - x * x) - BULGE + np.sqrt(ROLL**2 - y * y) - ROLL


def face_points(face_mm, hand):
    a, b = face_mm[0] / 2, face_mm[1] / 2
    p = np.array([[-a, 0.0], [a, 0.0], [0.0, b], [0.0, -b]])
    p = np.column_stack([p, surface(p[:, 0], p[:, 1])])
    p[:, 0] *= -1 if hand == "right" else 1
    return p


def propose(picture, hand, face_mm=(118.0, 58.0), film=None):
    """Handles: the best bright oval over many thresholds, then a face's outline laid on its edge.

    The outline is a superellipse on the curved surface, seen by a camera that
    most likely looks at it squarely; soft priors on tilt and roll.
    """
    scale = 480 / max(picture.shape[:2])
    small = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    small = cv2.bilateralFilter(small, 7, 30, 3)
    lab = cv2.cvtColor(small, cv2.COLOR_BGR2LAB).astype(np.float32)
    colour = np.hypot(lab[..., 1] - 128, lab[..., 2] - 128)
    slope = cv2.magnitude(cv2.Sobel(lab[..., 0], cv2.CV_32F, 1, 0), cv2.Sobel(lab[..., 0], cv2.CV_32F, 0, 1))
    h, w = colour.shape
    oval = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7))
    best = None
    for channel in (lab[..., 0] - 1.2 * colour, lab[..., 0], -colour):
        for level in np.percentile(channel, (30, 40, 50, 60, 70, 75, 80, 84, 88, 91, 94, 96, 98)):
            mask = cv2.morphologyEx((channel > level).astype(np.uint8), cv2.MORPH_OPEN, oval)
            mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, oval)
            shapes, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
            for shape in shapes:
                area = cv2.contourArea(shape)
                if not 0.006 * h * w < area < 0.5 * h * w or len(shape) < 40:
                    continue
                hull = cv2.convexHull(shape)
                solid = area / cv2.contourArea(hull)
                (cx, cy), (da, db), angle = cv2.fitEllipse(shape)
                aspect = max(da, db) / (min(da, db) + 1e-6)
                if solid < 0.86 or not 1.15 < aspect < 3.6:
                    continue
                at = shape[:, 0]
                inner = (at[:, 0] > 2) & (at[:, 1] > 2) & (at[:, 0] < w - 3) & (at[:, 1] < h - 3)
                edge = float(np.median(slope[at[:, 1], at[:, 0]])) * inner.mean()
                merit = (
                    np.log(edge + 1)
                    + 6 * np.log(solid)
                    - 0.8 * abs(np.log(aspect / 2.0))
                    + 0.25 * np.log(area)
                    - 8 * (1 - inner.mean())
                )
                if best is None or merit > best[0]:
                    best = (merit, hull, (cx, cy), (da, db), angle)
    if best is None:
        return None
    _, hull, centre, (da, db), angle = best
    pose = lay_outline(
        hull, centre, max(da, db), angle if da > db else angle + 90, hand, face_mm, film, small.shape, lab[..., 0]
    )
    seen, _ = cv2.projectPoints(face_points(face_mm, hand), *pose, None)
    return seen[:, 0] / scale


def lay_outline(hull, centre, length, angle, hand, face_mm, film, shape, light):
    h, w = shape[:2]
    f = film / 36 * max(h, w) if film else 1.05 * max(h, w)
    lens = np.array([[f, 0, w / 2], [0, f, h / 2], [0, 0, 1]])
    t = np.arange(72) * 2 * np.pi / 72
    a, b, e = face_mm[0] / 2, face_mm[1] / 2, 2 / 2.3
    x, y = a * np.sign(np.cos(t)) * np.abs(np.cos(t)) ** e, b * np.sign(np.sin(t)) * np.abs(np.sin(t)) ** e
    points = np.column_stack([x, y, surface(x, y)])
    edge = np.full((h, w), 255, np.uint8)
    cv2.polylines(edge, [hull], True, 0, 1)
    away = cv2.distanceTransform(edge, cv2.DIST_L2, 5)
    far = f * face_mm[0] / length
    roll = np.radians((angle + 90) % 180 - 90)
    c, s = np.cos(roll), np.sin(roll)
    turn, _ = cv2.Rodrigues(np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ np.diag([1.0, -1.0, -1.0]))
    p = np.concatenate([turn.ravel(), (centre[0] - w / 2) * far / f, (centre[1] - h / 2) * far / f, [far]], None)

    def miss(p):
        seen, _ = cv2.projectPoints(points, p[:3], p[3:], lens, None)
        seen = seen.astype(np.float32)
        d = cv2.remap(away, seen[..., 0], seen[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).ravel()
        d = d / np.sqrt(1 + d / 3)
        m, _ = cv2.Rodrigues(p[:3])
        eye = -m.T @ p[3:]
        tilt = np.arccos(np.clip(eye[2] / np.linalg.norm(eye), -1, 1))
        lean = np.arctan2(m[1, 0], m[0, 0])
        return np.concatenate([d, [4 * tilt / 0.25, 4 * lean / 0.15]])

    lam, r = 1e-2, miss(p)
    for _ in range(25):
        steps = np.array([1e-3] * 3 + [0.05, 0.05, 0.3])
        jac = np.column_stack([(miss(p + d) - miss(p - d)) / (2 * s) for d, s in zip(np.diag(steps), steps)])
        hess = jac.T @ jac
        step = -np.linalg.solve(hess + lam * np.diag(np.diag(hess)), jac.T @ r)
        trial = miss(p + step)
        if trial @ trial < r @ r:
            done = r @ r - trial @ trial < 1e-3 * (r @ r)
            p, r, lam = p + step, trial, lam / 3
            if done:
                break
        else:
            lam *= 5
    return p[:3], p[3:], lens
