"""The printed route examples: their chain of forms, and the same routes for the solver."""

from __future__ import annotations

import json
from collections.abc import Callable
from math import cos, floor, pi, radians, sin, trunc
from pathlib import Path

from pull_routes import route

from analyzer.geometry.centerline import Centerline
from analyzer.pulling.closed_forms import capstan_tension_n, straight_tension_n
from analyzer.pulling.string_model import StraightPiece, pieces_between, pull_string

DATA = json.loads((Path(__file__).parent / "examples.json").read_text())
ROUNDING: dict[str, Callable[[float], float]] = {
    "nearest": lambda value: floor(value + 0.5),
    "truncate": lambda value: float(trunc(value + 1e-9)),
}


def route_example(name: str) -> dict:
    return next(item for item in DATA["route_examples"] if item["id"] == name)


def scalar_examples(*names: str) -> list[dict]:
    found = {item["id"]: item for item in DATA["scalar_examples"]}
    return [found[name] for name in names]


def frictions(example: dict, *, printed: bool) -> tuple[float, float]:
    """Effective friction of straights and of bends, with the printed or the exact factor."""
    factor = example["weight_correction"]["value_printed" if printed else "value_exact"]
    friction = example["friction"]
    in_bends = example["weight_correction"]["applied_in_bends"]
    return friction * factor, friction * factor if in_bends else friction


def printed_chain(example: dict) -> list[float]:
    """Each value from the one printed before it, by the source's own multipliers and rounding."""
    weight, rounding = example["weight_total_per_length"], ROUNDING[example["rounding_rule"]]
    k_straight, _ = frictions(example, printed=True)
    tension, chain = float(example["feed_tension"]), []
    for segment in example["segments"]:
        if segment["type"] == "straight":
            value = straight_tension_n(tension, weight, segment["length"], 0.0, k_straight)
        else:
            value = tension * segment["multiplier_printed"]
        chain.append(rounding(value))
        tension = segment["printed_T"]
    return chain


def unrounded_chain(example: dict) -> list[float]:
    """The same route by the closed forms without any rounding."""
    weight = example["weight_total_per_length"]
    k_straight, k_bend = frictions(example, printed=False)
    tension, chain = float(example["feed_tension"]), []
    for segment in example["segments"]:
        if segment["type"] == "straight":
            tension = straight_tension_n(tension, weight, segment["length"], 0.0, k_straight)
        else:
            tension = capstan_tension_n(tension, radians(segment["angle_deg"]), k_bend)
        chain.append(tension)
    return chain


def level_route(example: dict, radius: float) -> Centerline:
    """The example as a level route whose bends have a radius of our choice."""
    heading, parts = 0.0, []
    for segment in example["segments"]:
        if segment["type"] == "straight":
            parts.append(float(segment["length"]))
        else:
            angle = radians(segment["angle_deg"])
            parts.append((radius, angle, (cos(heading + pi / 2), sin(heading + pi / 2), 0.0)))
            heading += angle
    return route((1.0, 0.0, 0.0), parts)


def solved_chain(example: dict, radius: float) -> list[float]:
    """Tension behind every segment by the solver."""
    k_straight, k_bend = frictions(example, printed=False)
    centerline = level_route(example, radius)
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    k = [[k_straight if isinstance(piece, StraightPiece) else k_bend] for piece in pieces]
    (pull,) = pull_string(pieces, example["weight_total_per_length"], k, example["feed_tension"])
    ends = {index: stretch.exit_tension_n for index, stretch in pull.stretches}
    return [ends[index] for index in sorted(ends)]
