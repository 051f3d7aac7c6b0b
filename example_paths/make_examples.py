"""Write the example routes and their jobs: a municipal ice rink, invented for this project.

Run it from anywhere: ``python example_paths/make_examples.py [FOLDER]``. It writes the same
routes every time, into this folder unless another one is named.
"""

from __future__ import annotations

import sys
from math import acos, atan2, cos, degrees, sin, sqrt, tan
from pathlib import Path

Point = tuple[float, float, float]

# Overhead feeder, in inches: panel in the machine room, over the lobby, down to the chiller.
FEEDER = [
    (0.0, 0.0, 83.0),
    (0.0, 0.0, 197.0),
    (348.0, 0.0, 197.0),
    (348.0, 300.0, 197.0),
    (408.0, 400.0, 232.0),
    (408.0, 660.0, 232.0),
    (648.0, 900.0, 232.0),
    (1236.0, 900.0, 232.0),
    (1236.0, 900.0, 47.0),
    (1236.0, 1020.0, 47.0),
]
FEEDER_RADIUS = 24.0
FEEDER_BOXES = (
    ("PANEL", "Panel P1", FEEDER[0]),
    ("PULL_BOX", "Box A", (348.0, 210.0, 197.0)),
    ("PULL_BOX", "Box B", (900.0, 900.0, 232.0)),
    ("EQUIPMENT", "Chiller 2", FEEDER[-1]),
)

# Riser, in feet: lighting panel on the ground, rolled offsets round a beam, roof, condenser.
RISER = [
    (0.0, 0.0, 4.0),
    (0.0, 0.0, 12.0),
    (14.0, 0.0, 12.0),
    (16.5, 1.2, 13.9),
    (28.0, 1.2, 13.9),
    (28.0, 1.2, 58.0),
    (28.0, 26.0, 58.0),
    (29.4, 28.4, 56.6),
    (29.4, 45.0, 56.6),
    (29.4, 45.0, 31.0),
    (44.0, 45.0, 31.0),
]
RISER_FITTINGS = {
    0: ("panel", "Panel L1"),
    10: ("equipment", "Condenser 1"),
}

# Training yard, in feet: seven bends on a frame outdoors, pulled without boxes and with two.
YARD = [
    (0.0, 0.0, 5.0),
    (0.0, 0.0, 2.0),
    (40.0, 0.0, 2.0),
    (40.0, 30.0, 2.0),
    (80.0, 30.0, 2.0),
    (80.0, 60.0, 2.0),
    (125.0, 60.0, 2.0),
    (125.0, 60.0, 5.0),
]
YARD_BOXES = [((40.0, 15.0, 2.0), "Box A"), ((80.0, 45.0, 2.0), "Box B")]

FEEDER_JOB = """\
title = "Ice rink chiller feeder"
units = "us"

[drawing]
layers = ["E-RACEWAY*"]
start = "Panel P1"

[drawing.fittings]
"PANEL" = "panel"
"PULL_BOX" = "pull box"
"EQUIPMENT" = "equipment"

[raceway]
type = "EMT"
trade_size = "2"

[[conductors]]
count = 3
size = "4/0"
insulation = "THHN"
metal = "copper"
insulation_class = "600 V power"

[pull]
friction = { low = 0.20, expected = 0.35, high = 0.50 }
attachment = "pulling eye"
line_working_load = "400 lbf"
puller_capacity = "1000 lbf"

[limits]
rules = "nec-2023"
sidewall_pressure = "500 lbf/ft"

[[fittings]]
name = "Box A"
passage = "refeed"

[[fittings]]
name = "Box B"
passage = "refeed"
"""

RISER_JOB = """\
title = "Ice rink riser to the roof"
units = "us"

[raceway]
type = "RMC"
trade_size = "1-1/2"

[[conductors]]
count = 4
size = "2"
insulation = "XHHW-2"
metal = "copper"

[pull]
friction = { low = 0.15, expected = 0.30, high = 0.45 }
attachment = "basket grip"

[limits]
rules = "nec-2023"
sidewall_pressure = "500 lbf/ft"

[[fittings]]
name = "Roof box"
kind = "pull box"
position = ["28 ft", "14 ft", "58 ft"]
passage = "refeed"
"""

YARD_JOB = """\
title = "Ice rink training yard, {title}"
units = "us"

[raceway]
type = "EMT"
trade_size = "2"

[[conductors]]
count = 3
size = "1/0"
insulation = "THHN"
metal = "copper"

[pull]
friction = {{ low = 0.20, expected = 0.35, high = 0.50 }}

[limits]
rules = "nec-2023"
sidewall_pressure = "300 lbf/ft"
"""

REFED = """
[[fittings]]
name = "Box A"
passage = "refeed"

[[fittings]]
name = "Box B"
passage = "refeed"
"""


def minus(a: Point, b: Point) -> Point:
    """Return the vector from b to a."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def along(a: Point, direction: Point, distance: float) -> Point:
    """Return the point at a distance from a along a direction."""
    return (
        a[0] + direction[0] * distance,
        a[1] + direction[1] * distance,
        a[2] + direction[2] * distance,
    )


def unit(a: Point) -> Point:
    """Return a vector of length one."""
    size = sqrt(sum(x * x for x in a))
    return (a[0] / size, a[1] / size, a[2] / size)


def cross(a: Point, b: Point) -> Point:
    """Return the vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def bent(points: list[Point], radius: float) -> list[tuple[str, dict]]:
    """Return lines and arcs of a route of corners, every corner rounded with one radius."""
    pieces: list[tuple[str, dict]] = []
    start = points[0]
    for before, corner, after in zip(points, points[1:], points[2:], strict=False):
        t1, t2 = unit(minus(corner, before)), unit(minus(after, corner))
        turn = acos(max(-1.0, min(1.0, sum(a * b for a, b in zip(t1, t2, strict=True)))))
        tangent = radius * tan(turn / 2)
        first, last = along(corner, t1, -tangent), along(corner, t2, tangent)
        axis = unit(cross(t1, t2))
        center = along(first, cross(axis, t1), radius)
        pieces.append(("LINE", {"start": start, "end": first}))
        pieces.append(
            ("ARC", {"center": center, "axis": axis, "first": first, "last": last, "turn": turn})
        )
        start = last
    pieces.append(("LINE", {"start": start, "end": points[-1]}))
    return pieces


def new_drawing():
    """Return a drawing in inches that holds the boxes, and its model space."""
    import ezdxf

    ezdxf.options.write_fixed_meta_data_for_testing = True
    document = ezdxf.new("R2010", units=1)
    document.layers.add("E-RACEWAY", color=5)
    document.layers.add("E-BOXES", color=7)
    for name in ("PANEL", "PULL_BOX", "EQUIPMENT"):
        block = document.blocks.new(name)
        block.add_lwpolyline([(-12, -8), (12, -8), (12, 8), (-12, 8)], close=True)
        block.add_attdef("NAME", (0, 12), dxfattribs={"height": 6})
    space = document.modelspace()
    for name, label, at in FEEDER_BOXES:
        reference = space.add_blockref(name, at, dxfattribs={"layer": "E-BOXES"})
        reference.add_attrib("NAME", label, (at[0], at[1] + 12, at[2]), {"height": 6})
    return document, space


def write_feeder(path: Path) -> None:
    """Write the feeder as lines and true arcs, in inches."""
    from ezdxf.math import OCS

    document, space = new_drawing()
    layer = {"layer": "E-RACEWAY"}
    for kind, piece in bent(FEEDER, FEEDER_RADIUS):
        if kind == "LINE":
            space.add_line(piece["start"], piece["end"], dxfattribs=layer)
            continue
        ocs = OCS(piece["axis"])
        center = ocs.from_wcs(piece["center"])
        angles = [
            degrees(atan2((end := ocs.from_wcs(piece[which]))[1] - center[1], end[0] - center[0]))
            for which in ("first", "last")
        ]
        space.add_arc(
            center,
            FEEDER_RADIUS,
            *angles,
            dxfattribs={**layer, "extrusion": piece["axis"]},
        )
    document.saveas(path)


def write_feeder_chords(path: Path, step_deg: float = 15.0) -> None:
    """Write the feeder as one 3D polyline of short chords, in inches."""
    document, space = new_drawing()
    points: list[Point] = [FEEDER[0]]
    for kind, piece in bent(FEEDER, FEEDER_RADIUS):
        if kind == "LINE":
            points.append(piece["end"])
            continue
        count = max(3, round(degrees(piece["turn"]) / step_deg))
        arm = minus(piece["first"], piece["center"])
        side = cross(piece["axis"], arm)
        for i in range(1, count + 1):
            angle = piece["turn"] * i / count
            c, s = cos(angle), sin(angle)
            points.append(
                tuple(piece["center"][j] + c * arm[j] + s * side[j] for j in range(3))  # type: ignore[arg-type]
            )
    space.add_polyline3d(points, dxfattribs={"layer": "E-RACEWAY"})
    document.saveas(path)


def write_riser(path: Path) -> None:
    """Write the riser as points in feet, corners sharp."""
    rows = ["x_ft,y_ft,z_ft,fitting,label"]
    for index, (x, y, z) in enumerate(RISER):
        kind, label = RISER_FITTINGS.get(index, ("", ""))
        rows.append(f"{x:g},{y:g},{z:g},{kind},{label}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def write_yard(path: Path, *, boxes: bool) -> None:
    """Write the training yard as points in feet, with its two boxes or without."""
    rows = ["x_ft,y_ft,z_ft,fitting,label"]
    points: list[tuple[Point, str, str]] = [(point, "", "") for point in YARD]
    points[0] = (YARD[0], "equipment", "Reel stand")
    points[-1] = (YARD[-1], "equipment", "Puller stand")
    if boxes:
        (at_a, name_a), (at_b, name_b) = YARD_BOXES
        points.insert(5, (at_b, "pull box", name_b))
        points.insert(3, (at_a, "pull box", name_a))
    for (x, y, z), kind, label in points:
        rows.append(f"{x:g},{y:g},{z:g},{kind},{label}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def write_all(folder: Path) -> None:
    """Write every route and its job into a folder."""
    write_feeder(folder / "overhead_feeder.dxf")
    write_feeder_chords(folder / "overhead_feeder_chords.dxf")
    write_riser(folder / "riser.csv")
    write_yard(folder / "training_yard.csv", boxes=False)
    write_yard(folder / "training_yard_two_boxes.csv", boxes=True)
    jobs = {
        "overhead_feeder": FEEDER_JOB,
        "overhead_feeder_chords": FEEDER_JOB,
        "riser": RISER_JOB,
        "training_yard": YARD_JOB.format(title="no boxes"),
        "training_yard_two_boxes": YARD_JOB.format(title="two boxes") + REFED,
    }
    for name, text in jobs.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write_all(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
