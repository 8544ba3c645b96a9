"""Distances of outlines by GEOS, through Shapely: reference for the clearance of moving parts.

python3 checks/clearance.py > crates/studies/src/clearance/reference.json
"""

import json
import math
import random

import shapely
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon


def star(r, count):
    """A simple outline: corners about the origin, by rising angle."""
    return [
        [round(d * math.cos(a), 2), round(d * math.sin(a), 2)]
        for i in range(count)
        for a, d in [(2 * math.pi * (i + 0.6 * r.random()) / count, r.uniform(8, 40))]
    ]


r = random.Random(20)
cases = []
for _ in range(120):
    outlines = [star(r, r.randint(3, 24)) for _ in range(2)]
    stands = [[round(r.uniform(-70, 70), 2), round(r.uniform(-70, 70), 2), round(r.uniform(-3, 3), 3)] for _ in range(2)]
    placed = [
        translate(rotate(Polygon(o), s[2], origin=(0, 0), use_radians=True), s[0], s[1])
        for o, s in zip(outlines, stands)
    ]
    a, b = placed
    depth = 0.0
    if a.intersects(b):
        for one, two in [(a, b), (b, a)]:
            for corner in one.exterior.coords:
                p = shapely.Point(corner)
                if two.contains(p):
                    depth = max(depth, p.distance(two.exterior))
    cases.append(
        {
            "outlines": outlines,
            "stands": stands,
            "distance": a.distance(b),
            "meet": bool(a.intersects(b)),
            "depth": depth,
        }
    )
print(json.dumps({"source": f"Shapely {shapely.__version__} (GEOS)", "cases": cases}))
