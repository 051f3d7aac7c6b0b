"""Survey points in a drawn path: fitted between fittings, and put into the chain of bends."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import acos, degrees, isfinite, radians, sqrt
from typing import TYPE_CHECKING

import numpy as np

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import (
    ROUNDED_RAD,
    Asked,
    BendChain,
    BendSpec,
    Drawing,
    add_corner,
    arc_node,
)
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.corners import LARGEST_TURN_RAD, ONE_NODE_RAD, Node, meeting_point
from analyzer.geometry.grids import COARSEST_MEASURED_M
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.polyline import leg_lengths, turns
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc, Floats, Segment, Vector, norm
from analyzer.geometry.survey.few_points import TOO_FEW
from analyzer.geometry.vectors import minus
from analyzer.units import show_short

if TYPE_CHECKING:
    from analyzer.geometry.survey.answer import SurveyFit

__all__ = ["bend_shots_between", "gather_survey", "rounding_accuracy", "usable_accuracy"]

_FEWEST_FITTED, _FEWEST_ASKED = 8, 6
"""Points from which a fit is tried: among fittings and arcs, and where a whole run asks for it."""

_NO_CORNER_RAD = radians(2.0)
"""Turn between the fits on both sides of a fitting below which it is no corner: they are fitted as
one. [rad] Own choice."""

_CORNER_REACH_M = 0.3
"""How far a corner in a fitting may move to where the fitted straights meet, or as far as the
longer leg beside it. [m] Own choice."""

_SURE = 4.0
"""Deviations of its direction by which a fitted segment may miss an arc that goes on tangent. Own
choice."""

_ROUNDED, _CURVED = 1.5, 4.0
"""Scatter of neighbors over what rounding makes up to which it is rounding alone, and from which
it may come from bends, where points stand far apart."""

_FEW_FOR_ACCURACY, _HIDES_RAD, _HIDES_MUCH_RAD = 30, radians(45.0), radians(60.0)
"""Points up to which an estimated accuracy is doubted, and the turn of a bend of the raceway's own
radius that it would hide, from which that is a caution and from which an error."""

_MORE_THAN_ROUNDED = ("survey-scatter", "survey-not-explained")


def gather_survey(
    drawing: Drawing,
    asked: Asked,
    chain: BendChain,
    first: int,
    stop: int,
    rounded_m: float | None = None,
    *,
    shots: SurveyFit | None = None,
) -> set[int]:
    """Fit survey points, parted at fittings where they turn a corner.

    Each side of such a corner is fitted by its own points; the point kept for the corner belongs
    to neither, since it may lie on either side or between them. The corner stands where the
    fitted lines meet. Where a drawn arc goes on tangent to the fitted line, as far as the noise
    lets one tell, there is no corner: the last noisy leg says nothing of the direction.

    Parameters
    ----------
    drawing : Drawing
        The path.
    asked : Asked
        What was asked for, with the stated accuracy.
    chain : BendChain
        Corner points gathered up to `first`; bends, corners and findings are added to it.
    first, stop : int
        Joints at the first and the last of the points.
    rounded_m : float or None
        Where no accuracy is stated, what the rounding of the points alone gives, if they are off by
        no more; None where the points themselves tell. [m]
    shots : SurveyFit, optional
        The points already read with few shots on every bend.

    Returns
    -------
    set of int
        The joint at the end of the points, where the next arc goes on tangent; else empty.
    """
    from analyzer.geometry.survey.bend_shots import fit_bend_shots
    from analyzer.geometry.survey.box_sides import fit_straight_side, is_corner_beside_few
    from analyzer.geometry.survey.reader import fit_survey

    points = drawing.points_m
    legs = leg_lengths(points)
    along = np.concatenate(([0.0], np.cumsum(legs)))
    accuracy = _accuracy(drawing, asked, chain, first) if asked.accuracy_m else rounded_m

    def own(start: int, end: int) -> tuple[int, int]:
        return (start if start == first else start + 1), (end if end == stop else end - 1)

    whole = first == 0 and stop == len(drawing.edges)
    asked_for = asked.read_as is ReadAs.SURVEY

    def fit(start: int, end: int) -> SurveyFit | None:
        low, high = own(start, end)
        part = points[low : high + 1]
        alone = start == first and end == stop
        if shots is not None and alone:
            return shots
        fewest = _FEWEST_ASKED if alone and whole and asked_for else _FEWEST_FITTED
        if len(part) < fewest:
            return None if alone else fit_straight_side(part, accuracy or _scatter(points))
        station = float(along[low])
        is_rounding = asked.accuracy_m is None and rounded_m is not None
        grid = drawing.rounding_m
        found = fit_survey(part, accuracy, station_m=station, is_rounding=is_rounding, grid_m=grid)
        if asked.accuracy_m and any(one.severity is Severity.ERROR for one in found.findings):
            return fit_bend_shots(part, accuracy or asked.accuracy_m, station_m=station) or found
        return found

    cuts = [first]
    for joint in (j for j in range(first + 1, stop) if j in drawing.kept and shots is None):
        (low, end), (start, high) = own(cuts[-1], joint), own(joint, stop)
        before, after = points[low : end + 1], points[start : high + 1]
        if min(len(before), len(after)) >= _FEWEST_FITTED or is_corner_beside_few(
            before, points[joint], after, accuracy, _FEWEST_FITTED
        ):
            cuts.append(joint)
    cuts.append(stop)
    parts: list[tuple[int, int, SurveyFit | None]] = []
    for start, end in pairwise(cuts):
        found = fit(start, end)
        if parts and found is not None and parts[-1][2] is not None:
            into = parts[-1][2].segments[-1].end_tangent
            if angle_between(into, found.segments[0].start_tangent) < _NO_CORNER_RAD:
                parts[-1] = (parts[-1][0], end, fit(parts[-1][0], end))
                continue
        parts.append((start, end, found))
    _drop_noisy_corner(drawing, chain, first, parts[0][2], along)
    for index, (start, end, found) in enumerate(parts):
        if start != first:
            add_corner(drawing, asked, chain, start)
            if index and found is not None and parts[index - 1][2] is not None:
                reach = max(_CORNER_REACH_M, *legs[start - 1 : start + 1])
                _move_corner(chain, parts[index - 1][2], found, reach)
        if found is None:
            _say_too_few(drawing, chain, (start, end), whole=whole)
            for joint in range(start + 1, end):
                add_corner(drawing, asked, chain, joint)
        else:
            _add_fit(drawing, asked, chain, own(start, end), found)
            if found.accuracy_from == "estimated" and accuracy is None:
                _doubt_estimate(asked, chain, own(start, end), found.accuracy_m)
    return _smooth_end(drawing, stop, parts[-1][2], along)


def bend_shots_between(drawing: Drawing, asked: Asked, first: int, stop: int) -> SurveyFit | None:
    """Return points read with few shots on every bend; None where they do not bear that out.

    Parameters
    ----------
    drawing : Drawing
        The path.
    asked : Asked
        What was asked for, with the stated accuracy.
    first, stop : int
        Joints between which the points are measured.
    """
    from analyzer.geometry.survey.bend_shots import fit_bend_shots

    accuracy = usable_accuracy(drawing, asked)
    if accuracy is None:
        return None
    return fit_bend_shots(drawing.points_m[first : stop + 1], accuracy)


def usable_accuracy(drawing: Drawing, asked: Asked) -> float | None:
    """Return the stated accuracy, or what the grid leaves of it; None where none is stated. [m]"""
    return None if asked.accuracy_m is None else max(asked.accuracy_m, _rounded(drawing))


def rounding_accuracy(drawing: Drawing, first: int, stop: int) -> float | None:
    """Return the accuracy that rounding leaves, where points are off by no more than that. [m]

    Where neighbors scatter far more, they may stand on bends: then the fit tells.

    Parameters
    ----------
    drawing : Drawing
        The path.
    first, stop : int
        Joints between which the points are measured.
    """
    from analyzer.geometry.survey.reader import fit_survey
    from analyzer.geometry.survey.windows import estimate_accuracy, some_stand_in_line

    rounded = _rounded(drawing)
    points = drawing.points_m[first : stop + 1]
    if rounded == 0.0 or len(points) < _FEWEST_FITTED:
        return None
    scatter = estimate_accuracy(points)
    if _ROUNDED * rounded < scatter <= _CURVED * rounded:
        return None
    if scatter > _CURVED * rounded:
        if not some_stand_in_line(points, rounded):
            return None
        found = fit_survey(points, rounded, is_rounding=True).of_points
        if any(finding.code in _MORE_THAN_ROUNDED for finding in found):
            return None
    return rounded


def _scatter(points: Floats) -> float:
    """Return the accuracy that all points show, where none is stated. [m]"""
    from analyzer.geometry.survey.windows import estimate_accuracy

    return estimate_accuracy(points) if len(points) >= _FEWEST_ASKED else 0.0


def _say_too_few(drawing: Drawing, chain: BendChain, span: tuple[int, int], *, whole: bool) -> None:
    """Say that measured points that turn are too few for a fit, and so are read as corners."""
    start, end = span
    part = drawing.points_m[start : end + 1]
    if len(part) < 3 or not (turns(part)[0] > ROUNDED_RAD).any():
        return
    chain.find(
        TOO_FEW,
        Severity.ERROR if whole else Severity.CAUTION,
        f"{len(part)} points are too few to be read as survey data, which needs at least "
        f"{_FEWEST_ASKED if whole else _FEWEST_FITTED}: each that turns is read as a "
        "corner instead. Measure more points, or say how the route was drawn"
        + (': read_as = "corners" in the job reads them so' if whole else ""),
        start,
    )


def _doubt_estimate(
    asked: Asked, chain: BendChain, span: tuple[int, int], accuracy_m: float
) -> None:
    """Say that few points gave so large an accuracy that whole bends may be taken for scatter.

    A bend stands off its corner by R (sec(a/2) - 1); twice the accuracy hides what is less.
    """
    count = span[1] - span[0] + 1
    radius = asked.corner_radius_m
    if radius is None or count > _FEW_FOR_ACCURACY:
        return
    hidden = 2.0 * acos(radius / (radius + 2.0 * accuracy_m))
    if hidden < _HIDES_RAD:
        return
    chain.find(
        "survey-accuracy-unsure",
        Severity.ERROR if hidden >= _HIDES_MUCH_RAD else Severity.CAUTION,
        f"no accuracy is stated, and the {show_short(accuracy_m)} estimated from {count} points "
        f"would hide bends of up to {degrees(hidden):.0f}° with a radius of {show_short(radius)}: "
        "so few points do not tell scatter from bends. State [drawing] accuracy, or measure closer",
        span[0],
    )


def _rounded(drawing: Drawing) -> float:
    """Return the deviation of a coordinate that the grid alone makes; 0 where there is none."""
    grid = drawing.rounding_m
    return grid / sqrt(12.0) if drawing.floor_m < grid <= COARSEST_MEASURED_M else 0.0


def _accuracy(drawing: Drawing, asked: Asked, chain: BendChain, first: int) -> float | None:
    """Accuracy stated, or what the grid of the coordinates leaves of it; that is said."""
    stated, least = asked.accuracy_m, _rounded(drawing)
    if stated is None or stated >= least:
        return stated
    chain.find(
        "survey-grid",
        Severity.NOTE,
        f"the coordinates are rounded to {show_short(drawing.rounding_m)}, which alone puts them "
        f"off by {show_short(least)}: that is used instead of the stated accuracy of "
        f"{show_short(stated)}",
        first,
    )
    return least


def _drop_noisy_corner(
    drawing: Drawing, chain: BendChain, first: int, fit: SurveyFit | None, along: Floats
) -> None:
    """Take out the corner between a drawn arc and the points after it where noise alone made it."""
    if first == 0 or fit is None or chain.joints[-1] != first:
        return
    number = chain.nodes[-1].bend
    if number != len(chain.specs) - 1 or not chain.specs[number].corner:
        return
    into = drawing.edges[first - 1].segment.end_tangent
    if _runs_on(into, fit.segments[0], fit, along, at_start=True):
        chain.nodes.pop()
        chain.joints.pop()
        chain.specs.pop()


def _smooth_end(drawing: Drawing, stop: int, fit: SurveyFit | None, along: Floats) -> set[int]:
    """Return the last joint where the arc drawn after the points is tangent to them."""
    if fit is None or stop == len(drawing.edges):
        return set()
    out = drawing.edges[stop].segment.start_tangent
    return {stop} if _runs_on(out, fit.segments[-1], fit, along, at_start=False) else set()


def _runs_on(
    direction: Vector, beside: Segment, fit: SurveyFit, along: Floats, *, at_start: bool
) -> bool:
    """Whether a fitted segment is tangent to a direction within rounding and its own noise."""
    own = beside.start_tangent if at_start else beside.end_tangent
    spacing = float(np.median(np.diff(along)))
    count = max(beside.length_m / spacing, 2.0)
    deviation = fit.accuracy_m * sqrt(12.0 / count) / beside.length_m
    return angle_between(own, direction) <= ROUNDED_RAD + _SURE * deviation


def _move_corner(
    chain: BendChain, before: SurveyFit | None, after: SurveyFit, reach_m: float
) -> None:
    """Put the corner in a fitting where the fitted straights meet, not at its noisy point."""
    if before is None:
        return
    one, two = before.segments[-1], after.segments[0]
    if _NO_CORNER_RAD < angle_between(one.end_tangent, two.start_tangent) < LARGEST_TURN_RAD:
        place = meeting_point(one.end_m, one.end_tangent, two.start_m, two.start_tangent)
        if norm(minus(place, chain.nodes[-1].place_m)) < reach_m:
            chain.nodes[-1] = replace(chain.nodes[-1], place_m=place)


def _add_fit(
    drawing: Drawing, asked: Asked, chain: BendChain, span: tuple[int, int], fit: SurveyFit
) -> None:
    first, stop = span
    chain.surveyed = True
    chain.scatter_m = max(chain.scatter_m, fit.accuracy_m)
    chain.findings += [(finding, first) for finding in fit.of_points]
    bends_before, joints = len(chain.specs), []
    chain.left_out |= {first + outlier for outlier in fit.outliers}
    if first == 0:
        chain.nodes[0] = Node(fit.segments[0].start_m)
    points = drawing.points_m[first : stop + 1]
    for bend in fit.bends:
        arcs = fit.segments[bend.first_segment : bend.last_segment + 1]
        away = np.linalg.norm(points - np.array(arcs[0].start_m), axis=1)
        joint = max(first + int(np.argmin(away)), chain.joints[-1])
        joints.append(joint)
        spec = BendSpec(ReadAs.SURVEY, RadiusFrom.FIT)
        spec.angle_sd_rad = bend.angle_sd_rad
        spec.radius_sd_m = bend.radius_sd_m if isfinite(bend.radius_sd_m) else None
        spec.radius_determined = bend.radius_determined
        nodes = [arc_node(arc) for arc in arcs if isinstance(arc, Arc)]
        if not bend.radius_determined:
            nodes = _undetermined(asked, chain, spec, nodes, arcs, joint)
        chain.add(spec, nodes, joint)
    for one in fit.numbered:
        named = [joints[bend] for bend in one.bends] + [first + point for point in one.points]
        place = min(named, default=first)
        chain.findings.append((one.after(bends_before, first), place))
    if stop == len(drawing.edges):
        chain.end = fit.segments[-1].end_m


def _undetermined(
    asked: Asked,
    chain: BendChain,
    spec: BendSpec,
    nodes: list[Node],
    arcs: tuple[Segment, ...],
    joint: int,
) -> list[Node]:
    """Corner points of a bend whose radius the points do not tell: the job's or the table's."""
    turn = angle_between(arcs[0].start_tangent, arcs[-1].end_tangent)
    if asked.corner_radius_m is None or turn > ONE_NODE_RAD or turn < 1e-4:
        placed = nodes
        used = (
            f"the fitted {show_short(nodes[0].radius_m)} is used; "
            "state [raceway] bend_radius in the job"
        )
    else:
        spec.radius_from = asked.radius_from
        place = meeting_point(
            arcs[0].start_m, arcs[0].start_tangent, arcs[-1].end_m, arcs[-1].end_tangent
        )
        placed = [Node(place, asked.corner_radius_m)]
        used = f"{show_short(asked.corner_radius_m)} from the {asked.radius_from.value} is used"
    text = f"the points do not tell the radius of bend {{}}: {used}"
    told = NumberedFinding("survey-radius", Severity.CAUTION, text, (len(chain.specs),))
    chain.findings.append((told, joint))
    return placed
