#!/usr/bin/env python3
"""Writes cutting.json: random cut lists, and the least length to buy and the fewest bars by a mixed-integer solver (HiGHS through scipy).

First the bought length is made least, then, with that length, the count of bars. Every piece costs a kerf, the last cut of a bar may run off
its end. Needs numpy and scipy: python3 checks/cutting.py > checks/cutting.json
"""

import json

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp


def solve(pieces, rack, sold, kerf):
    n = len(pieces)
    bars = [(length, 0.0) for length in rack] + [(l, l) for l in sold for _ in range(n)]
    m = len(bars)
    size = n * m + m
    rows, low, high = [], [], []
    for i in range(n):
        row = np.zeros(size)
        row[i * m : (i + 1) * m] = 1.0
        rows.append(row), low.append(1.0), high.append(1.0)
    for b, (length, _) in enumerate(bars):
        row = np.zeros(size)
        for i in range(n):
            row[i * m + b] = pieces[i] + kerf
        row[n * m + b] = -(length + kerf)
        rows.append(row), low.append(-np.inf), high.append(1e-9)
    cost = np.zeros(size)
    cost[n * m :] = [price for _, price in bars]
    count = np.zeros(size)
    count[n * m :] = 1.0

    def best(objective, extra):
        constraints = [LinearConstraint(np.array(rows), low, high)] + extra
        found = milp(objective, constraints=constraints, integrality=np.ones(size), bounds=Bounds(0, 1),
                     options={"mip_rel_gap": 0.0})
        assert found.success, found.message
        return found.fun

    bought = best(cost, [])
    fewest = best(count, [LinearConstraint(cost, -np.inf, bought + 1e-6)])
    return bought, fewest


def main():
    rng = np.random.default_rng(7)
    cases = []
    while len(cases) < 30:
        n = int(rng.integers(3, 8))
        pieces = [float(x) for x in np.round(rng.uniform(40.0, 620.0, n), 1)]
        rack = [float(x) for x in np.round(rng.uniform(200.0, 700.0, int(rng.integers(0, 3))), 0)]
        sold = [[500.0, 1000.0], [650.0, 1000.0], [1000.0]][int(rng.integers(0, 3))]
        if max(pieces) > max(sold):
            continue
        kerf = float(rng.choice([1.0, 1.5, 2.0]))
        bought, fewest = solve(pieces, rack, sold, kerf)
        cases.append({"pieces": pieces, "rack": rack, "sold": sold, "kerf": kerf, "bought": round(bought, 6), "bars": round(fewest)})
    print(json.dumps({"source": "scipy.optimize.milp (HiGHS)", "cases": cases}, indent=1))


main()
