"""Drawings written by other people: lengths as independent readers give them, and broken files.

The folder is named by the environment variable RACEWAY_DXF_CORPUS; its MANIFEST.csv holds the
lengths that two independent readers (ezdxf, and GDAL/OGR with arcs drawn in short chords) found.
"""

from __future__ import annotations

import csv
import os
import struct
import warnings
from collections import defaultdict
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from dxf_samples import LengthUnit, away_from_path_m, job
from scipy.integrate import quad
from scipy.interpolate import BSpline

from analyzer.errors import RouteError
from analyzer.geometry.drawn import DrawnAs
from analyzer.importers.drawings.blocks import open_layouts
from analyzer.importers.drawings.damaged_entities import damaged_entity_findings
from analyzer.importers.drawings.documents import open_drawing
from analyzer.importers.drawings.fitting_symbols import FittingRule
from analyzer.importers.drawings.insunits import named_unit_code
from analyzer.importers.drawings.layer_choice import choose_layers
from analyzer.importers.drawings.layers import survey_drawing
from analyzer.importers.drawings.reader import drawn_curves, read_drawing

FOLDER = os.environ.get("RACEWAY_DXF_CORPUS", "")
pytestmark = [
    pytest.mark.corpus,
    pytest.mark.skipif(not FOLDER, reason="RACEWAY_DXF_CORPUS names no folder of drawings"),
]


def rows(part: str) -> list[dict[str, str]]:
    if not FOLDER:
        return []
    with (Path(FOLDER) / part / "MANIFEST.csv").open(encoding="utf-8", newline="") as stream:
        return [row for row in csv.DictReader(stream) if row["file"].endswith(".dxf")]


def curves_of(path: Path):
    """Everything drawn in model space, in drawing units."""
    opened = open_drawing(path)
    document = opened.document
    choice = choose_layers(document, ("*", *(layer.dxf.name for layer in document.layers)))
    held = open_layouts(document, [("", document.modelspace())], choice, FittingRule(()), None)
    curves, _ = drawn_curves(held.entities, LengthUnit.METER, path)
    return curves


def number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


# The reader of the manifest loses the closing arc of this file; its remarks give the true length.
TRUE_LENGTHS = {"gdal_headerless_closed_bulge.dxf": (403.7195, 5e-5)}
# The sum over all its curves counts dimension blocks, leaders and multilines ("not comparable
# here"), and two polylines smoothed to a quadratic and a cubic spline are counted by the straights
# that join their points.
COUNTED_OTHERWISE = "netdxf_sample_r2018_binary.dxf"
SMOOTHED = {(COUNTED_OTHERWISE, "1B9A"): 2, (COUNTED_OTHERWISE, "1BBC"): 3}


def smoothed_lengths(file: str, handle: str) -> tuple[float, float]:
    """Lengths of the spline of a smoothed polyline, and of the straights joining its points.

    The spline is the clamped uniform B-spline of the control points in the file, its speed
    integrated over each span.
    """
    polyline = ezdxf.readfile(Path(FOLDER) / "files" / file).entitydb[handle]
    at = np.array([tuple(vertex.dxf.location) for vertex in polyline.vertices])
    flags = np.array([vertex.dxf.flags for vertex in polyline.vertices])
    control, joined = at[flags & 16 > 0], at[flags & 8 > 0]
    degree = SMOOTHED[file, handle]
    spans = len(control) - degree
    knots = np.array([0] * degree + list(range(spans + 1)) + [spans] * degree, dtype=float)
    speed = BSpline(knots, control, degree).derivative()
    length = sum(
        quad(lambda t: float(np.linalg.norm(speed(t))), span, span + 1, epsabs=1e-10)[0]
        for span in range(spans)
    )
    return length, float(np.linalg.norm(np.diff(joined, axis=0), axis=1).sum())


def expected_length(file: str, printed: str, close: float) -> tuple[float, float]:
    """Length of the curves of a file and its tolerance, from the figure of the manifest."""
    if file in TRUE_LENGTHS:
        return TRUE_LENGTHS[file]
    total = float(printed)
    for spline, straights in (smoothed_lengths(*key) for key in SMOOTHED if key[0] == file):
        # ours follows a spline within 1e-5 of its length
        total, close = total + spline - straights, close + 1e-5 * spline
    return total, close


@pytest.mark.parametrize("row", rows("files"), ids=lambda row: row["file"])
def test_polyline_lengths_are_those_of_independent_readers(row):
    curves = curves_of(Path(FOLDER) / "files" / row["file"])
    top = [c for c in curves if c.kind in ("POLYLINE", "LWPOLYLINE") and " > " not in c.handle]
    ours = sum(curve.length_m for curve in top)
    # six decimals are printed for each file
    printed, close = row["polyline_length_ezdxf"], 6e-7 + 1e-11 * ours
    expected, close = expected_length(row["file"], printed, close)
    assert ours == pytest.approx(expected, abs=close)


@pytest.mark.parametrize("row", rows("files"), ids=lambda row: row["file"])
def test_whole_drawings_hold_no_lost_start_and_no_group_twice(row):
    opened = open_drawing(Path(FOLDER) / "files" / row["file"])
    every = [lambda name: True] * 2
    assert damaged_entity_findings(opened.data, opened.document.encoding, *every) == []


@pytest.mark.parametrize(
    "row",
    [row for row in rows("files") if row["file"] != COUNTED_OTHERWISE],
    ids=lambda row: row["file"],
)
def test_all_curves_have_the_length_of_independent_readers(row):
    curves = curves_of(Path(FOLDER) / "files" / row["file"])
    ours = sum(curve.length_m for curve in curves)
    # the reader of the manifest flattens ellipses and splines: its lengths are a little short
    printed, close = row["all_curves_length_ezdxf"], 2e-4 * ours
    expected, close = expected_length(row["file"], printed, close)
    assert ours == pytest.approx(expected, abs=close)


def test_closed_polyline_with_bulges_keeps_its_closing_arc():
    # manifest: "correct length with the closing arc 403.7195"
    (curve,) = curves_of(Path(FOLDER) / "files" / "gdal_headerless_closed_bulge.dxf")
    assert curve.length_m == pytest.approx(403.7195, abs=5e-5)
    assert curve.is_closed
    assert curve.layer == "test"


def test_bulge_over_one_is_the_long_arc():
    # manifest: handle 2B has bulge 3.048, exact length 26.3838; the other reader gives 26.1458
    curves = curves_of(Path(FOLDER) / "files" / "ezdxf_r12_tilted_polylines.dxf")
    (curve,) = [c for c in curves if c.handle == "2B"]
    assert curve.length_m == pytest.approx(26.3838, abs=5e-5)


@pytest.mark.parametrize("name", SMOOTHED)
def test_smoothed_polylines_are_the_splines_of_their_frames(name):
    file, handle = name
    path = Path(FOLDER) / "files" / file
    (curve,) = [c for c in curves_of(path) if c.handle == handle]
    spline, _ = smoothed_lengths(*name)
    assert curve.length_m == pytest.approx(spline, rel=1e-5)
    assert {edge.drawn_as for edge in curve.edges} == {DrawnAs.SPLINE}
    # manifest: 22 vertices of which 17 are on the curve, 21 and 17; the other reader gives those
    known = np.vstack(gdal_shapes(path)[handle])
    assert len(known) == 17
    for point in known:
        away = away_from_path_m(curve, (*point, *[0.0] * (3 - len(point))))
        assert away < 1e-5 * curve.length_m


def test_laser_meter_survey_is_one_chain_of_eleven_points():
    path = Path(FOLDER) / "files" / "ezdxf_laser_meter_survey.dxf"
    drawn = read_drawing(path, job(units=LengthUnit.METER))
    (run,) = drawn.paths
    assert len(run.vertices_m) == 11
    assert sum(e.segment.length_m for e in run.edges) == pytest.approx(4.582211, abs=5e-7)


@pytest.mark.parametrize("row", rows("files"), ids=lambda row: row["file"])
def test_units_are_those_that_stand_in_the_file(row):
    data = (Path(FOLDER) / "files" / row["file"]).read_bytes()
    expected = None if row["insunits"] == "absent in file" else int(row["insunits"].split()[0])
    assert named_unit_code(data) == expected


@pytest.mark.parametrize("row", rows("files"), ids=lambda row: row["file"])
def test_every_drawing_is_read_or_says_why_not(row):
    path = Path(FOLDER) / "files" / row["file"]
    contents = survey_drawing(path)
    open_paths = sum(layer.open_paths for layer in contents.layers)
    try:
        drawn = read_drawing(path, job(units=LengthUnit.METER))
    except RouteError as error:
        assert "no open path" in str(error)
        assert open_paths == 0
    else:
        assert drawn.paths
        assert open_paths > 0


@pytest.mark.parametrize("row", rows("malformed"), ids=lambda row: row["file"])
def test_every_malformed_file_gives_findings_or_one_message(row):
    path = Path(FOLDER) / "malformed" / row["file"]
    try:
        drawn = read_drawing(path, job(units=LengthUnit.METER))
    except RouteError as error:
        assert row["file"] in str(error)
        assert "\n" not in str(error)
    else:
        assert drawn.paths
        assert drawn.findings


def wkb_lines(data: bytes) -> list[np.ndarray]:
    """Point arrays of the lines in a WKB geometry (OGC simple features, with or without Z)."""
    lines: list[np.ndarray] = []

    def take(at: int) -> int:
        order = "<" if data[at] == 1 else ">"
        (code,) = struct.unpack_from(f"{order}I", data, at + 1)
        has_z = bool(code & 0x80000000) or 1000 <= code % 0x10000000 < 2000
        kind, at = code % 1000 if code < 0x80000000 else code & 0xFF, at + 5
        if kind == 1:
            return at + (24 if has_z else 16)
        (count,) = struct.unpack_from(f"{order}I", data, at)
        at += 4
        if kind in (4, 5, 6, 7):
            for _ in range(count):
                at = take(at)
            return at
        for _ in range(count if kind == 3 else 1):
            if kind == 3:
                (count,) = struct.unpack_from(f"{order}I", data, at)
                at += 4
            width = 3 if has_z else 2
            values = np.frombuffer(data, f"{order}f8", count * width, at).reshape(count, width)
            lines.append(values)
            at += 8 * width * count
        return at

    take(0)
    return lines


# The other reader draws the short arc where a bulge exceeds 1 (corpus/README.md, trap 6).
LONG_ARCS = {("ezdxf_r12_tilted_polylines.dxf", "2B")}
# Entities of these files carry no handle, or carry it in an odd place, so that the drawing library
# gives new ones: they are compared in the order of the file.
NEW_HANDLES = {
    "dxfparser_headerless_polyline3d.dxf",
    "ezdxf_laser_meter_survey.dxf",
    "ezdxf_pointcloud_polyline3d.dxf",
}


def gdal_shapes(path: Path) -> dict[str, list[np.ndarray]]:
    """Points of each entity as GDAL reads them, by handle; arcs every tenth of a degree."""
    raw = pytest.importorskip("pyogrio.raw", reason="pyogrio is not installed")
    import pyogrio

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.1"})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        _, _, shapes, columns = raw.read(path, columns=["EntityHandle"])
    found: dict[str, list[np.ndarray]] = defaultdict(list)
    for place, (handle, shape) in enumerate(zip(columns[0], shapes, strict=True)):
        if shape:
            found[handle or f"no handle {place}"].extend(wkb_lines(shape))
    return found


def pairs(path: Path):
    """Each curve of ours outside blocks beside the points GDAL gives for the same entity."""
    theirs = gdal_shapes(path)
    curves = [c for c in curves_of(path) if " > " not in c.handle]
    if path.name in NEW_HANDLES:
        lines = [shape for shape in theirs.values() if shape]
        assert len(lines) == len(curves)
        return list(zip(curves, lines, strict=True))
    return [
        (curve, theirs[curve.handle])
        for curve in curves
        if theirs.get(curve.handle) and (path.name, curve.handle) not in {*LONG_ARCS, *SMOOTHED}
    ]


@pytest.mark.parametrize("row", rows("files"), ids=lambda row: row["file"])
def test_each_curve_has_the_length_gdal_gives_it(row):
    compared = pairs(Path(FOLDER) / "files" / row["file"])
    assert compared
    for curve, shapes in compared:
        known = sum(float(np.linalg.norm(np.diff(s, axis=0), axis=1).sum()) for s in shapes)
        # arcs flattened at 0.1 degree are short by 1.3e-7; ellipses and splines by more
        close = 3e-4 if curve.kind in ("SPLINE", "ELLIPSE") else 1e-6
        assert curve.length_m == pytest.approx(known, rel=close), curve.where


@pytest.mark.parametrize("row", rows("files"), ids=lambda row: row["file"])
def test_each_vertex_stands_where_gdal_puts_it(row):
    for curve, shapes in pairs(Path(FOLDER) / "files" / row["file"]):
        if curve.kind not in ("LINE", "LWPOLYLINE", "POLYLINE"):
            continue
        known = np.vstack(shapes)
        if known.shape[1] == 2:
            known = np.column_stack([known, np.zeros(len(known))])
        # both compute in double precision: some units in the last place of the largest coordinate
        close = 1e-12 * max(1.0, float(np.abs(known).max())) * 4.0
        ours = [curve.edges[0].segment.start_m, *(edge.segment.end_m for edge in curve.edges)]
        for vertex in ours:
            assert np.abs(known - vertex).max(axis=1).min() <= close, curve.where
