#!/usr/bin/env python3
"""Writes spread.json: ten million machines of four kinds, made by a general library.

Each machine is written down here a second time, in closed form; numpy draws the lots (PCG64) and sorts them, mpmath differentiates with 30
digits, scipy.optimize.fsolve checks the closed form of the linkage on a few machines. Needs numpy, scipy and mpmath:
python3 checks/spread.py > checks/spread.json
"""

import json

import mpmath
import numpy as np
from scipy.optimize import fsolve

MADE = 10_000_000
BLOCK = 1_000_000
SEED = 31
PERCENTILES = [0.00135, 0.025, 0.5, 0.975, 0.99865]


def four_bar(crank, coupler, rocker, ax, ay, bx, by, degrees, m=np):
    """Angle of the rocker, rad: crank about (ax, ay) at so many degrees, rocker about (bx, by), upper assembly."""
    turn = m.radians(degrees)
    px, py = ax + crank * m.cos(turn), ay + crank * m.sin(turn)
    dx, dy = bx - px, by - py
    d2 = dx * dx + dy * dy
    along = (coupler * coupler - rocker * rocker + d2) / (2 * d2)
    across = m.sqrt(coupler * coupler / d2 - along * along)
    kx, ky = px + along * dx - across * dy, py + along * dy + across * dx
    arc = m.atan2 if m is mpmath else m.arctan2
    return arc(ky - by, kx - bx)


def check_four_bar(dims, degrees):
    """The same from the two equations of the loop, by MINPACK."""
    crank, coupler, rocker, ax, ay, bx, by = dims
    pin = np.array([ax, ay]) + crank * np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])

    def closes(x):
        knee = np.array([bx, by]) + rocker * np.array([np.cos(x[0]), np.sin(x[0])])
        return pin + coupler * np.array([np.cos(x[1]), np.sin(x[1])]) - knee

    closed = four_bar(*dims, degrees)
    knee = np.array([bx, by]) + rocker * np.array([np.cos(closed), np.sin(closed)])
    start = [closed + 1e-3, np.arctan2(*(knee - pin)[::-1])]
    found = fsolve(closes, start, xtol=1e-10)
    assert np.abs(closes(found)).max() < 1e-9 and abs(found[0] - closed) < 1e-9, (found, closed)


# name, what it is worked out from, drawn dimensions, tolerances (three deviations), limits of an ask (off the drawn value).
OPEN = [40.0, 120.0, 80.0, 0.0, 0.0, 100.0, 0.0]
TIGHT = [40.0, 103.0, 60.0, 0.0, 0.0, 200.0, 0.0]
MACHINES = [
    ("four-bar", lambda m, *x: four_bar(*x, 40, m), OPEN, [0.15] * 3 + [0.06] * 4, [-0.003, 0.005]),
    ("four-bar-near-dead-centre", lambda m, *x: four_bar(*x, 4, m), TIGHT, [0.3] * 3 + [0.15] * 4, [-0.015, 0.015]),
    # Furthest place of a slider over its crank: crank and rod in line, the guide beside the crank's centre.
    ("furthest-slide", lambda m, r, l, ox, oy: ox + m.sqrt((r + l) ** 2 - oy**2), [10.0, 50.0, 0.0, 8.0],
     [0.05, 0.1, 0.3, 0.3], [-0.15, 0.2]),
    # Height of an arm that points nearly straight up.
    ("clock", lambda m, r, oy, c: oy + r * m.sin(c), [100.0, 0.0, np.radians(89.9)], [0.02, 0.02, np.radians(2.5)],
     [-0.04, 0.03]),
]


def written(name, of, drawn, tolerances, limits):
    rng = np.random.default_rng(SEED)
    drawn, sigma = np.array(drawn), np.array(tolerances) / 3.0
    nominal = float(of(np, *drawn))
    values = np.empty(MADE)
    for first in range(0, MADE, BLOCK):
        dims = drawn[:, None] + sigma[:, None] * rng.standard_normal((len(drawn), BLOCK))
        values[first : first + BLOCK] = of(np, *dims) - nominal
    if name.startswith("four-bar"):
        for k in range(20):
            check_four_bar(drawn + sigma * rng.standard_normal(7), 40 if name == "four-bar" else 4)
    kept = float(np.mean((values >= limits[0]) & (values <= limits[1])))
    mean, deviation = float(values.mean()), float(values.std(ddof=1))
    fourth = float(np.mean((values - mean) ** 4))
    values.sort()
    told = []
    for p in PERCENTILES:
        value = values[round(p * (MADE - 1))]
        # Density there, from the machines next to it; the error of a percentile of one machine follows.
        half = 0.2 * min(p, 1 - p)
        low, high = (values[round((p + s * half) * (MADE - 1))] for s in (-1, 1))
        told.append([float(value), float(np.sqrt(p * (1 - p)) * (high - low) / (2 * half))])
    mpmath.mp.dps = 30
    exact = [mpmath.mpf(float(x)) for x in drawn]
    rates = []
    for k in range(len(exact)):
        one = lambda x, k=k: of(mpmath, *exact[:k], x, *exact[k + 1 :])
        rates.append(float(mpmath.diff(one, exact[k])))
    return {
        "drawn": drawn.tolist(),
        "tolerances": list(tolerances),
        "rates": rates,
        "limits": [float(x) for x in limits],
        "kept": kept,
        "mean": mean,
        "deviation": deviation,
        "deviation_error": float(np.sqrt(max(fourth - deviation**4, 0.0)) / (2 * deviation)),
        "percentiles": told,
    }


SOURCE = (
    "made by checks/spread.py: closed forms, lots and percentiles by numpy, derivatives by mpmath, the linkage checked by "
    "scipy.optimize.fsolve"
)


def main():
    told = []
    for machine in MACHINES:
        case = {
            "id": machine[0] + "-made",
            "source": SOURCE,
            "confidence": "derived",
            "topic": "machines made by drawing lots",
            "inputs": {"machine": machine[0], "made": MADE, "seed": SEED},
            "unit": "sensitivities, mean, deviation, percentiles, share kept",
            "tol": {"kind": "standard errors", "value": 5},
            "shares_below": PERCENTILES,
        }
        told.append(json.dumps(case | written(*machine)))
    print("[" + ",\n".join(told) + "]")


main()
