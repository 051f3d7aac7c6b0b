"""Measured parts of a drawn path, and the single points beside them.

Where points stand densely on some of a path, a point that stands alone may be one more shot, a
corner somebody drew, one shot that ties in what was not measured, or a wrong one. Where a survey
explains it with the others it is one of them; elsewhere the drawing does not tell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import Asked, BendChain, Drawing
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.survey.parts import usable_accuracy
from analyzer.geometry.surveyed_stretches import lone_vertices

if TYPE_CHECKING:
    from analyzer.geometry.line_readings import LineReading
    from analyzer.geometry.survey.answer import SurveyFit

__all__ = ["find_lone_shots", "survey_throughout"]

_FEWEST_CORNERS, _FEWER = 8, 0.5
"""Corners from which a survey is tried in their place, and the part of them it makes at most."""

_SHOWN = 20
"""Corners that a message names at most. Own choice."""


def survey_throughout(
    drawing: Drawing, asked: Asked, first: int, stop: int, reading: LineReading
) -> SurveyFit | None:
    """Return a stretch fitted as one survey where that explains all of it far better than corners.

    Better: by half as many bends or fewer, for each drawn corner asks for one of its own. All of
    it: no single point is left out and no bend at one lacks a radius of its own, for that bend
    would hang on it. None elsewhere, and where no accuracy is stated.

    Parameters
    ----------
    drawing : Drawing
        The path.
    asked : Asked
        What was asked for, with the stated accuracy.
    first, stop : int
        Joints between which the stretch lies.
    reading : LineReading
        The stretch as the exact reading has it.
    """
    from analyzer.geometry.survey.reader import fit_survey

    corners, accuracy = reading.corners, usable_accuracy(drawing, asked)
    if len(corners) < _FEWEST_CORNERS:
        return None
    fixed = (j in drawing.kept or drawing.radii_m[j] is not None for j in range(first, stop + 1))
    if accuracy is None or any(fixed):
        return None
    points = drawing.points_m[first : stop + 1]
    found = fit_survey(points, accuracy, grid_m=drawing.rounding_m)
    if any(one.severity is Severity.ERROR for one in found.findings):
        return None
    if len(found.bends) > _FEWER * (len(corners) + len(reading.runs)):
        return None
    lone = set(lone_vertices(points, corners))
    if lone & set(found.outliers):
        return None
    for bend in found.bends:
        if not bend.radius_determined:
            arcs = found.segments[bend.first_segment : bend.last_segment + 1]
            ends = np.array((arcs[0].start_m, arcs[-1].end_m))
            away = np.linalg.norm(points[:, None] - ends, axis=2)
            near = np.argmin(away, axis=0)
            if lone & set(range(int(near.min()) - 1, int(near.max()) + 2)):
                return None
    return found


def find_lone_shots(drawing: Drawing, chain: BendChain, first_node: int) -> None:
    """Say which corners beside measured parts hang on single points: a caution.

    A corner in a fitting, or with a radius of its own, was drawn.

    Parameters
    ----------
    drawing : Drawing
        The path.
    chain : BendChain
        What was gathered; the finding is added to it.
    first_node : int
        Corner point from which the stretch with the measured parts was gathered.
    """
    lone = [
        joint
        for node, joint in zip(chain.nodes[first_node:], chain.joints[first_node:], strict=True)
        if chain.specs[node.bend].corner
        and joint not in drawing.kept
        and drawing.radii_m[joint] is None
    ]
    if not lone:
        return
    many = len(lone) > 1
    shown = ", ".join(["{}"] * min(len(lone), _SHOWN)) + (", ..." if len(lone) > _SHOWN else "")
    text = (
        f"{len(lone)} corner{'s' if many else ''} beside the measured points ({shown}) "
        f"hang{'' if many else 's'} on single points: where a bend there was measured, neither its "
        "angle nor its radius is right, and where a point is wrong there is no bend. Measure the "
        "bend at its start, its middle and its end, with a straight on both sides, or check the "
        'points; where all points were measured, read_as = "survey" in the job fits them as one '
        "survey; where it was drawn, give it a radius of its own in the drawing"
    )
    chain.findings.append(
        (
            NumberedFinding(
                "survey-lone-points", Severity.CAUTION, text, points=tuple(lone[:_SHOWN])
            ),
            lone[0],
        )
    )
