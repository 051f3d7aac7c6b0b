"""One route drawn in every way people draw it is one and the same path."""

from __future__ import annotations

from itertools import pairwise
from math import atan2, degrees, pi, sqrt, tan
from random import Random

import numpy as np
import pytest
from dxf_samples import INCH, codes, draw_and_read

from analyzer.geometry.segments import Arc
from analyzer.importers.drawings.placements import object_placement

TURN_RIGHT, TURN_LEFT = -1.0, 1.0


def flat_route(random):
    """Vertices (x, y, bulge) of straights and tangent arcs in a plane."""
    x, y, heading = 0.0, 0.0, random.uniform(0, 2 * pi)
    rows = []
    for _ in range(random.randint(2, 7)):
        rows.append((x, y, 0.0))
        length = random.uniform(20, 90)
        x, y = x + length * np.cos(heading), y + length * np.sin(heading)
        turn = random.choice([TURN_LEFT, TURN_RIGHT]) * random.uniform(0.2, 1.9)
        radius = random.uniform(6, 15)
        rows.append((x, y, tan(turn / 4)))
        chord = 2 * radius * np.sin(abs(turn) / 2)
        x, y = x + chord * np.cos(heading + turn / 2), y + chord * np.sin(heading + turn / 2)
        heading += turn
    rows.append((x, y, 0.0))
    return [(float(a), float(b), float(c)) for a, b, c in rows]


def center_of(p, q, bulge):
    k = (1 - bulge * bulge) / (4 * bulge)
    dx, dy = q[0] - p[0], q[1] - p[1]
    return (p[0] + q[0]) / 2 - k * dy, (p[1] + q[1]) / 2 + k * dx


def draw_loose(layout, rows, normal, elevation, random):
    """Lines and arcs in random order; lines in random direction."""
    ocs = object_placement(normal)
    jobs = []
    for p, q in pairwise(rows):
        if p[2] == 0.0:
            ends = [ocs.point((*p[:2], elevation)), ocs.point((*q[:2], elevation))]
            random.shuffle(ends)
            jobs.append(lambda ends=ends: layout.add_line(*ends))
        else:
            c = center_of(p, q, p[2])
            a = degrees(atan2(p[1] - c[1], p[0] - c[0]))
            b = degrees(atan2(q[1] - c[1], q[0] - c[0]))
            a, b = (a, b) if p[2] > 0 else (b, a)
            radius = sqrt((p[0] - c[0]) ** 2 + (p[1] - c[1]) ** 2)
            jobs.append(
                lambda c=c, a=a, b=b, radius=radius: layout.add_arc(
                    (*c, elevation), radius, a, b, dxfattribs={"extrusion": normal}
                )
            )
    random.shuffle(jobs)
    for add in jobs:
        add()


def same_way(path, other):
    """Both paths as rows of (start, length, radius), the second turned if it runs backward."""
    edges = [list(path.edges), list(other.edges)]
    first = np.array(edges[0][0].segment.start_m)
    if np.linalg.norm(first - edges[1][0].segment.start_m) > 1e-9:
        edges[1] = [type(e)(e.segment.reversed(), e.drawn_as, e.curve) for e in edges[1][::-1]]
    return [
        np.array([
            (*e.segment.start_m, e.segment.length_m,
             e.segment.radius_m if isinstance(e.segment, Arc) else 0.0)
            for e in one
        ])
        for one in edges
    ]  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_loose_polyline_old_polyline_and_block_give_the_same_path(tmp_path, seed):
    random = Random(seed)
    rows = flat_route(random)
    normal = tuple(random.gauss(0, 1) for _ in range(3)) if seed else (0.0, 0.0, 1.0)
    elevation = random.uniform(-50, 50)
    attributes = {"extrusion": normal, "elevation": elevation}

    def as_polyline(_, model):
        model.add_lwpolyline(rows, format="xyb", dxfattribs=attributes)

    def as_old_polyline(_, model):
        model.add_polyline2d(
            rows, format="xyb", dxfattribs={"extrusion": normal, "elevation": (0, 0, elevation)}
        )

    def as_loose(_, model):
        draw_loose(model, rows, normal, elevation, random)

    def as_mirrored_half_size_block(document, model):
        twice = [(-2 * x, 2 * y, -bulge) for x, y, bulge in rows]
        draw_loose(document.blocks.new("HALF"), twice, (0, 0, 1), 2 * elevation, random)
        model.add_blockref(
            "HALF", (0, 0),
            dxfattribs={"extrusion": normal, "xscale": -0.5, "yscale": 0.5, "zscale": 0.5},
        )  # fmt: skip

    (expected,) = draw_and_read(tmp_path, as_polyline).paths
    assert len(expected.edges) == len(rows) - 1
    for way in (as_old_polyline, as_loose, as_mirrored_half_size_block):
        drawn = draw_and_read(tmp_path, way)
        (path,) = drawn.paths
        assert not codes(drawn)
        left, right = same_way(expected, path)
        assert right == pytest.approx(left, abs=1e-9 * INCH * 1e3, rel=1e-10)
