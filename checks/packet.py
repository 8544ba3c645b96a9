#!/usr/bin/env python3
"""Writes packet.json: what other libraries read from the packets of the machines in checks/packet (examples as they once stood).

DXF: ezdxf reads and audits every file; circles, arcs and lines by layer as it has them. STEP: OpenCascade (cadquery-ocp) reads every solid,
checks its shell and works out its volume. SVG: svgelements reads the drawing of every part; circles and corners of its views in the part's own
coordinates, by the scale that is written on it. PDF: pdfplumber, true length of the check bars of every sheet, mm, and the circles on the drawing of every plate. Each text is told by its
length and CRC-32, so that a changed file asks for a new run; the PDF's sheets are found by their titles. The packets are written by the program first:

    for e in kinds strap-embosser treadle; do bellcrank packet checks/packet/$e/machine.toml --out papers/$e; done
    python3 checks/packet.py papers > checks/packet.json
"""

import json
import pathlib
import re
import sys
import zlib

import ezdxf
import pdfplumber
import svgelements
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


def factor(text):
    """Paper for one mm of the part."""
    paper, part = re.search(r"scale ([0-9.]+):([0-9.]+)", text).groups()
    return float(paper) / float(part)


def svg(path):
    """The view of a part from the front: circles and the ends of its lines and arcs, mm of the part from its datum, y up."""
    text = path.read_bytes()
    k = factor(text.decode())
    doc = svgelements.SVG.parse(str(path), reify=False, ppi=25.4)
    circles, corners = [], []

    def walk(group, inside):
        for e in group:
            if isinstance(e, svgelements.Group):
                walk(e, inside or e.values.get("class") == "part")
            elif not inside:
                continue
            elif isinstance(e, svgelements.Circle) and "wide" in e.values["class"].split():
                circles.append([float(e.cx) / k, -float(e.cy) / k, float(e.implicit_rx) / k / e.transform.a])
            elif isinstance(e, svgelements.Path) and e.values["class"].split() == ["wide"]:
                corners.extend([p.x / k, -p.y / k] for s in e for p in [s.end] if p is not None)

    walk(doc, False)
    # The view alone: the words beside it and its place on the paper may change.
    view = text.split(b'<g class="part"', 1)[1].split(b">", 1)[1].split(b"</g>", 1)[0]
    return told(view) | {"factor": k, "circles": circles, "corners": corners}


def drawings(doc, names):
    """Circles on the sheet that bears a part's name alone and a scale, mm of the part: centre on the sheet, y up, and diameter."""
    out = {}
    for page in doc.pages:
        text = page.extract_text()
        title = re.search(r"scale [0-9.]+:[0-9.]+", text)
        lines = text.splitlines()
        name = next((n for n in names if any(l == n.replace("-", " ") or l.endswith(" " + n.replace("-", " ")) or l.startswith(n.replace("-", " ") + " scale") or (" " + n.replace("-", " ") + " scale") in l for l in lines)), None)
        if not title or not name or name in out or "template" in text.lower():
            continue
        k = factor(text)
        found = []
        for c in page.curves:
            if abs(c["width"] - c["height"]) < 1e-3 and c["width"] > 1.0 and len(c["pts"]) > 4:
                x, y = (c["x0"] + c["x1"]) / 2.0, (c["top"] + c["bottom"]) / 2.0
                found.append([x * POINT / k, -y * POINT / k, (c["x1"] - c["x0"]) * POINT / k])
        out[name] = {"factor": k, "circles": found}
    return out


def pdf(path, plates):
    """Lengths in mm of the first bar of every sheet, sizes of the sheets, circles of the drawings."""
    bars, sizes = [], []
    with pdfplumber.open(path) as doc:
        found = drawings(doc, plates)
        for page in doc.pages:
            sizes.append([float(page.width) * POINT, float(page.height) * POINT])
            segments = page.lines + page.curves + page.rects
            long = [s["width"] * POINT for s in segments if abs(s["width"] * POINT - 100.0) < 0.5 and s["height"] * POINT < 4.0]
            bars.append(min(long, key=lambda x: abs(x - 100.0)) if long else None)
    return {"bars": bars, "sizes": sizes, "drawings": found}


def main():
    out = {"source": "ezdxf %s, OpenCascade through cadquery-ocp, pdfplumber" % ezdxf.__version__, "examples": {}}
    for folder in sorted(pathlib.Path(sys.argv[1]).iterdir()):
        if not (folder / "packet.pdf").exists():
            continue
        out["examples"][folder.name] = {
            "dxf": {p.name: dxf(p) for p in sorted(folder.glob("*.dxf"))},
            "step": {p.name: step(p) for p in sorted(folder.glob("*.step"))},
            "svg": {p.name: svg(p) for p in sorted(folder.glob("*.svg"))},
            "pdf": pdf(folder / "packet.pdf", [p.stem for p in sorted(folder.glob("*.dxf"))]),
        }
    print(json.dumps(out, indent=1))


main()
