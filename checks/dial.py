#!/usr/bin/env python3
"""Writes dial.json: a four-bar with known errors, read with noise, and what a general least-squares library makes of it.

The machine is written down here a second time, in closed form; numpy makes the noise, scipy.optimize.least_squares (Levenberg-Marquardt of
MINPACK) fits it and its Jacobian gives the bands. Needs numpy and scipy: python3 checks/dial.py > checks/dial.json
"""

import json

import numpy as np
from scipy.optimize import least_squares

# Crank, rod, rocker; the two frame holes right and up. A tolerance is three deviations.
DRAWN = np.array([40.0, 120.0, 80.0, 0.0, 0.0, 100.0, 0.0])
NAMES = [
    "crank: centre distance crank-centre to crank-pin",
    "rod coupler: length",
    "rocker: centre distance rocker-centre to knee",
    "frame: crank-centre, right",
    "frame: crank-centre, up",
    "frame: rocker-centre, right",
    "frame: rocker-centre, up",
]
SCALE = np.array([0.06, 0.15, 0.06, 0.06, 0.06, 0.06, 0.06]) / 3.0
# Deviations of one reading: half of what is written as 95 of 100.
ANGLE = np.radians(0.02) / 2.0
HEIGHT = 0.01 / 2.0
PLACES = [float(d) for d in range(10, 171, 10)]
# How surely the protractor of the crank was put on: a deviation, rad.
PUT_ON = np.radians(0.5) / 2.0


def pose(dims, degrees):
    """Angle of the rocker in rad and height of the knee, open assembly."""
    crank, rod, rocker, ax, ay, bx, by = dims
    turn = np.radians(degrees)
    pin = np.array([ax + crank * np.cos(turn), ay + crank * np.sin(turn)])
    pivot = np.array([bx, by])
    to = pivot - pin
    d = np.hypot(*to)
    along = (rod**2 - rocker**2 + d**2) / (2.0 * d)
    across = np.sqrt(rod**2 - along**2)
    u = to / d
    knee = pin + along * u + across * np.array([-u[1], u[0]])
    return np.arctan2(knee[1] - by, knee[0] - bx), knee[1]


def model(x):
    """What the instruments show: angles up and down with an unknown zero and backlash, then true heights; the crank stands further by a shift."""
    dims, zero, lost = DRAWN + SCALE * x[:7], x[7], x[8]
    shift = np.degrees(PUT_ON * x[9]) if len(x) > 9 else 0.0
    found = [pose(dims, d + shift) for d in PLACES]
    angles = [a + zero + half * lost for a, _ in found for half in (0.5, -0.5)]
    return np.array(angles), np.array([h for _, h in found])


def case(name, seed, shifted):
    rng = np.random.default_rng(seed)
    truth = np.concatenate([rng.normal(size=7), [np.radians(-3.4), np.radians(0.11)], [1.3] if shifted else []])
    angles, heights = model(truth)
    # As an instrument is read: to a thousandth of a degree and of a millimetre.
    angles = np.radians(np.round(np.degrees(angles + ANGLE * rng.normal(size=angles.size)), 3))
    heights = np.round(heights + HEIGHT * rng.normal(size=heights.size), 3)

    def residuals(x):
        a, h = model(x)
        return np.concatenate([(a - angles) / ANGLE, (h - heights) / HEIGHT, x[:7], x[9:]])

    start = np.zeros(truth.size)
    start[7] = np.radians(-3.0)
    found = least_squares(residuals, start, jac="3-point", method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    deviations = np.sqrt(np.diag(covariance))
    shown = np.degrees(angles).reshape(-1, 2)
    told = {
        "id": name,
        "source": f"made by checks/dial.py: the four-bar in closed form, numpy's noise of seed {seed}, scipy.optimize.least_squares (MINPACK lmder/lmdif)",
        "confidence": "derived",
        "topic": "machine fitted to readings",
        "inputs": {"machine": "four-bar", "readings": "17 angles up and down, 17 heights"},
        "unit": "errors, bands, backlash, zero, sum of squares",
        "tol": {"kind": "rel", "value": 1e-5},
        "angles_deg": [[p, round(u, 3), round(d, 3)] for p, (u, d) in zip(PLACES, shown.tolist())],
        "heights_mm": [[p, h] for p, h in zip(PLACES, heights.tolist())],
        "off_mm": dict(zip(NAMES, (SCALE * found.x[:7]).tolist())),
        "plus_minus_mm": dict(zip(NAMES, (2.0 * SCALE * deviations[:7]).tolist())),
        "zero_rad": found.x[7],
        "backlash_rad": [found.x[8], 2.0 * deviations[8]],
        "sum": 2.0 * found.cost,
        "true_off_mm": dict(zip(NAMES, (SCALE * truth[:7]).tolist())),
    }
    if shifted:
        told["drive_zero_deg"] = 0.5
        told["shift_rad"] = [PUT_ON * found.x[9], 2.0 * PUT_ON * deviations[9]]
    lines = [f"  {json.dumps(key)}: {json.dumps(value)}" for key, value in told.items()]
    return "{\n" + ",\n".join(lines) + "\n}"


print("[" + ", ".join([case("four-bar-dialled-in", 20, False), case("four-bar-with-a-protractor-put-on", 21, True)]) + "]")
