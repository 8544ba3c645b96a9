"""Distances of prisms whose planes stand square to one another, by OpenCascade: reference for parts of different planes.

python3 checks/across.py > crates/studies/src/clearance/across.json
"""

import json
import math
import random

from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.GProp import GProp_GProps
from OCP.gp import gp_Pnt, gp_Vec


def star(r, count):
    """A simple outline: corners about the origin, by rising angle."""
    return [
        [round(d * math.cos(a), 2), round(d * math.sin(a), 2)]
        for i in range(count)
        for a, d in [(2 * math.pi * (i + 0.6 * r.random()) / count, r.uniform(8, 40))]
    ]


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def turned(r):
    """Three directions square to one another, from a quaternion."""
    q = [r.gauss(0, 1) for _ in range(4)]
    n = math.sqrt(sum(x * x for x in q))
    w, x, y, z = (c / n for c in q)
    return [
        [1 - 2 * (y * y + z * z), 2 * (x * y + w * z), 2 * (x * z - w * y)],
        [2 * (x * y - w * z), 1 - 2 * (x * x + z * z), 2 * (y * z + w * x)],
        [2 * (x * z + w * y), 2 * (y * z - w * x), 1 - 2 * (x * x + y * y)],
    ]


def prism(plane, outline, depth):
    origin, right, up = plane
    n = cross(right, up)
    polygon = BRepBuilderAPI_MakePolygon()
    for x, y in outline:
        polygon.Add(gp_Pnt(*[o + x * a + y * b + depth[0] * c for o, a, b, c in zip(origin, right, up, n)]))
    polygon.Close()
    face = BRepBuilderAPI_MakeFace(polygon.Wire()).Face()
    return BRepPrimAPI_MakePrism(face, gp_Vec(*[(depth[1] - depth[0]) * c for c in n])).Shape()


r = random.Random(31)
cases = []
for _ in range(120):
    e = turned(r)
    # The second looks along a direction of the first, turned about its own normal by any angle.
    a = r.uniform(0, 2 * math.pi)
    d = [math.cos(a) * x + math.sin(a) * y for x, y in zip(e[0], e[1])]
    right = [math.cos(a) * y - math.sin(a) * x for x, y in zip(e[0], e[1])]
    b = r.uniform(0, 2 * math.pi)
    up = e[2]
    right, up = (
        [math.cos(b) * x + math.sin(b) * y for x, y in zip(right, up)],
        [math.cos(b) * y - math.sin(b) * x for x, y in zip(right, up)],
    )
    planes = [
        [[r.uniform(-60, 60) for _ in range(3)], e[0], e[1]],
        [[r.uniform(-60, 60) for _ in range(3)], right, up],
    ]
    assert abs(abs(sum(x * y for x, y in zip(cross(right, up), d))) - 1) < 1e-9
    outlines = [star(r, r.randint(3, 14)) for _ in range(2)]
    depths = [sorted(round(r.uniform(-20, 20), 2) for _ in range(2)) for _ in range(2)]
    solids = [prism(p, o, d) for p, o, d in zip(planes, outlines, depths)]
    common = GProp_GProps()
    BRepGProp.VolumeProperties_s(BRepAlgoAPI_Common(*solids).Shape(), common)
    distance = BRepExtrema_DistShapeShape(*solids).Value()
    cases.append(
        {
            "planes": planes,
            "outlines": outlines,
            "depths": depths,
            "distance": distance,
            "common": common.Mass(),
        }
    )
print(json.dumps({"source": "OpenCascade, through cadquery-ocp", "cases": cases}))
