"""Thirty pulls along 3D routes, both directions, made by an independent solver.

Source: pulls_3d.json beside this file, computed with another integrator for this project's
mechanics; its note gives the format. The values support 1e-9 of the larger of the leg's greatest
tension and the weight of one meter.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from pull_routes import route

from analyzer.geometry.centerline import Centerline
from analyzer.pulling.string_model import StringPull, pieces_between, pull_string, reversed_pieces

CASES = json.loads((Path(__file__).parent / "pulls_3d.json").read_text())["cases"]


def centerline_of(case: dict) -> Centerline:
    parts = [
        piece[1] if piece[0] == "straight" else (piece[1], piece[2], tuple(piece[3]))
        for piece in case["pieces"]
    ]
    return route(case["t0"], parts)


def piece_ends(pull: StringPull) -> list[float]:
    ends = {index: stretch.exit_tension_n for index, stretch in pull.stretches}
    return [ends[index] for index in sorted(ends)]


def test_there_are_thirty_pulls() -> None:
    assert len(CASES) == 30


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("key", ["T_piece_ends", "T_reverse_piece_ends"])
def test_tension_at_every_joint_is_the_published_one(case: dict, key: str) -> None:
    centerline = centerline_of(case)
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    if "reverse" in key:
        pieces = reversed_pieces(pieces)
    (pull,) = pull_string(pieces, case["w"], [case["mu"]], case["T0"])
    scale = max(pull.greatest()[0], case["w"] * 1.0)
    assert piece_ends(pull) == pytest.approx(case[key], rel=0.0, abs=1e-9 * scale)


@pytest.mark.parametrize("case", CASES)
def test_route_ends_where_the_file_says(case: dict) -> None:
    centerline = centerline_of(case)
    assert centerline.end_m == pytest.approx(case["p_end"], abs=1e-9)
    assert centerline.length_m == pytest.approx(case["length"], rel=1e-12)
