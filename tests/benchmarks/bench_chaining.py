"""Time to chain loose lines and arcs, against a graph library joining the same ends.

Run: python tests/benchmarks/bench_chaining.py [largest number of entities]

Shows that time grows about in step with the number of entities, and the ratio to networkx, which
is given the ends already rounded to a grid (it knows no gaps, duplicates or overlaps) and only
finds the connected pieces. A second table: a dense polyline and its pieces a little beside it, as
an exploded copy leaves them. Processor time, so that other work on the machine does not count.
"""

from __future__ import annotations

import sys
from itertools import pairwise
from math import pi, sin
from random import Random
from time import process_time

import networkx

from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.segments import Arc, Straight
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.drawn_curves import DrawnCurve, reversed_edges

JOIN_M = 0.0254 / 16
SNAP_M = 0.1524
PIECES_A_RUN = 40


def loose_curves(count: int, seed: int = 1) -> list[DrawnCurve]:
    """Runs of lines and quarter bends on a floor, their pieces shuffled and turned."""
    random = Random(seed)
    curves = []
    for run in range(count // PIECES_A_RUN):
        x, y, z = 3.0 * (run % 100), 3.0 * (run // 100) * 40, 3.0
        for step in range(PIECES_A_RUN // 2):
            left = step % 2 == 0
            end = (x, y + 1.0, z)
            curves.append(DrawnCurve((DrawnEdge(Straight((x, y, z), end)),), "LINE", "R", "1"))
            turn = -1.0 if left else 1.0
            center = (x - 0.4 * turn, y + 1.0, z)
            arc = Arc(end, center, (0.0, 0.0, turn), pi / 4)
            curves.append(DrawnCurve((DrawnEdge(arc, DrawnAs.ARC),), "ARC", "R", "1"))
            x, y, z = arc.end_m
    curves = [
        DrawnCurve(reversed_edges(c.edges), c.kind, c.layer, c.handle)
        if random.random() < 0.5
        else c
        for c in curves
    ]
    random.shuffle(curves)
    return curves


def peer(curves: list[DrawnCurve]) -> int:
    """Connected pieces as networkx finds them."""
    graph = networkx.Graph()
    for curve in curves:
        ends = [tuple(round(v / 1e-6) for v in p) for p in (curve.start_m, curve.end_m)]
        graph.add_edge(*ends)
    return networkx.number_connected_components(graph)


def main() -> None:
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    count, before = largest // 16, 0.0
    sys.stdout.write(" entities  chains  seconds  growth  networkx  ratio\n")
    while count <= largest:
        curves = loose_curves(count)
        start = process_time()
        chains = chain_curves(curves, JOIN_M, SNAP_M)
        taken = process_time() - start
        start = process_time()
        pieces = peer(curves)
        other = process_time() - start
        assert len(chains.chains) == pieces
        growth = f"{taken / before:.2f}x" if before else ""
        sys.stdout.write(
            f"{len(curves):>9} {len(chains.chains):>7} {taken:>8.2f} {growth:>7} {other:>9.2f} "
            f"{taken / other:>6.1f}\n"
        )
        before, count = taken, count * 2
    copies(largest // 50)


def copies(largest: int) -> None:
    """Print the time for a dense polyline of so many lines and its exploded copy."""
    count, before = largest // 8, 0.0
    sys.stdout.write(" copied lines  seconds  growth\n")
    while count <= largest:
        places = [(0.025 * k, 1.5 * sin(k / 200), 3.0) for k in range(count + 1)]
        edges = [DrawnEdge(Straight(a, b)) for a, b in pairwise(places)]
        beside = [
            DrawnEdge(Straight((a[0], a[1] + 5e-4, a[2]), (b[0], b[1] + 5e-4, b[2])))
            for a, b in pairwise(places)
        ]
        curves = [DrawnCurve(tuple(edges), "LWPOLYLINE", "R", "1")]
        curves += [DrawnCurve((edge,), "LINE", "R", str(k)) for k, edge in enumerate(beside)]
        start = process_time()
        assert len(chain_curves(curves, JOIN_M, SNAP_M).chains) == 1
        taken = process_time() - start
        growth = f"{taken / before:.2f}x" if before else ""
        sys.stdout.write(f"{count:>13} {taken:>8.2f} {growth:>7}\n")
        before, count = taken, count * 2


if __name__ == "__main__":
    main()
