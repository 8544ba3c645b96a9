#!/usr/bin/env python3
"""Writes packet.json: what other libraries read from the packets of the machines in checks/packet (examples as they once stood).

DXF: ezdxf reads and audits every file; circles, arcs and lines by layer as it has them. STEP: OpenCascade (cadquery-ocp) reads every solid,
checks its shell and works out its volume. PDF: pdfplumber, true length of the check bar of every sheet, mm. Each text is told by its length and CRC-32, so that a changed file asks for a new run. The packets are written by the program first:

    for e in strap-embosser treadle; do bellcrank packet checks/packet/$e/machine.toml --out papers/$e; done
    python3 checks/packet.py papers > checks/packet.json
"""

import json
import pathlib
import sys
import zlib

import ezdxf
import pdfplumber
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS

POINT = 25.4 / 72.0


def told(text):
    return {"bytes": len(text), "crc": zlib.crc32(text)}


def dxf(path):
    text = path.read_bytes()
    doc = ezdxf.readfile(path)
    audit = doc.audit()
    found = []
    for e in doc.modelspace():
        kind, layer = e.dxftype(), e.dxf.layer
        if kind == "CIRCLE":
            found.append([kind, layer, e.dxf.center.x, e.dxf.center.y, e.dxf.radius])
        elif kind == "ARC":
            found.append([kind, layer, e.dxf.center.x, e.dxf.center.y, e.dxf.radius, e.dxf.start_angle, e.dxf.end_angle])
        elif kind == "LINE" and layer == "CUT":
            found.append([kind, layer, e.dxf.start.x, e.dxf.start.y, e.dxf.end.x, e.dxf.end.y])
    return told(text) | {"errors": len(audit.errors), "fixes": len(audit.fixes), "found": found}


def step(path):
    text = path.read_bytes()
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone, path
    reader.TransferRoots()
    shape = reader.OneShape()
    solids = TopExp_Explorer(shape, TopAbs_SOLID)
    count = 0
    while solids.More():
        count += 1
        solids.Next()
    shells, closed = TopExp_Explorer(shape, TopAbs_SHELL), True
    while shells.More():
        closed = closed and shells.Current().Closed()
        shells.Next()
    props = GProp_GProps()
    volume = getattr(BRepGProp, "VolumeProperties_s", None) or BRepGProp.VolumeProperties
    volume(shape, props)
    return told(text) | {
        "solids": count,
        "closed": bool(closed),
        "valid": bool(BRepCheck_Analyzer(shape).IsValid()),
        "volume": props.Mass(),
    }


def pdf(path):
    """Lengths in mm of the first bar of every sheet, and sizes of the sheets."""
    bars, sizes = [], []
    with pdfplumber.open(path) as doc:
        for page in doc.pages:
            sizes.append([float(page.width) * POINT, float(page.height) * POINT])
            segments = page.lines + page.curves + page.rects
            long = [s["width"] * POINT for s in segments if abs(s["width"] * POINT - 100.0) < 0.5 and s["height"] * POINT < 4.0]
            bars.append(min(long, key=lambda x: abs(x - 100.0)) if long else None)
    return {"bars": bars, "sizes": sizes}


def main():
    out = {"source": "ezdxf %s, OpenCascade through cadquery-ocp, pdfplumber" % ezdxf.__version__, "examples": {}}
    for folder in sorted(pathlib.Path(sys.argv[1]).iterdir()):
        if not (folder / "packet.pdf").exists():
            continue
        out["examples"][folder.name] = {
            "dxf": {p.name: dxf(p) for p in sorted(folder.glob("*.dxf"))},
            "step": {p.name: step(p) for p in sorted(folder.glob("*.step"))},
            "pdf": pdf(folder / "packet.pdf"),
        }
    print(json.dumps(out, indent=1))


main()
