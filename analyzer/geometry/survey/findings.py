"""What a person should know about points read as survey data."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, radians

import numpy as np
from numpy.typing import NDArray

from analyzer.findings import Finding, Severity
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.doubts import Doubts
from analyzer.geometry.survey.few_points import FEWEST_ON_A_STRAIGHT, TOO_FEW
from analyzer.geometry.survey.fit import ChainFit
from analyzer.geometry.survey.noise import Noise
from analyzer.units import show_short

__all__ = [
    "HOPELESS",
    "accuracy_findings",
    "block_findings",
    "far_away",
    "not_explained",
    "outlier_findings",
    "overstated",
    "radius_findings",
    "straight_findings",
    "too_few_points",
]

HOPELESS = 5.0
"""Scatter over accuracy beyond which straights and arcs do not explain the points."""

_LOST_RAD = 0.8
"""Deviation of an angle from which the points do not tell the bend at all."""

_UNSURE_FOLD_RAD = radians(10.0)
"""The same where a bend folds the path back between two points: nobody bends so."""

_FAR_RAD = radians(1.0)
"""How far an angle at an end may move before that is a caution. [rad]"""


def too_few_points(count: int) -> Finding:
    """Return the error that a whole run has too few points."""
    return Finding(
        TOO_FEW,
        Severity.ERROR,
        f"{count} points are too few to be read as survey data: a run needs at least 6, with "
        f"{FEWEST_ON_A_STRAIGHT} on each straight and 2 on each arc. Measure more points, or say "
        "how the route was drawn.",
    )


def not_explained(scatter_m: float, where: str, reasons: list[str]) -> Finding:
    """Return the error that no straights and arcs fit the points.

    Parameters
    ----------
    scatter_m : float
        Standard deviation of one coordinate about the fit. [m]
    where : str
        The stretches in question.
    reasons : list of str
        Why the fit is not believed, as clauses.
    """
    return Finding(
        "survey-not-explained",
        Severity.ERROR,
        f"straights and arcs do not explain the points {where}: they scatter by "
        f"{show_short(scatter_m)} a coordinate; {'; '.join(reasons)}. Check the order of the "
        "points; state the [drawing] accuracy that they really have. Where they follow a drawn "
        "curve without noise, give the run's name in [drawing.read_as] of the job the value "
        '"chords" or "corners": every point counts then.',
    )


def far_away(points: Floats, precision_m: float) -> Finding:
    """Return the caution that large coordinates leave few digits.

    Parameters
    ----------
    points : (n, 3) float
        The points as given. [m]
    precision_m : float
        What double precision holds there. [m]
    """
    return Finding(
        "survey-large-coordinates",
        Severity.CAUTION,
        f"coordinates reach {float(np.abs(points).max()):.3g} m, where double precision holds "
        f"only {precision_m * 1000.0:.2g} mm: an origin near the route was subtracted for the "
        "fit; move the points near their origin and export again.",
    )


def accuracy_findings(
    scatter_m: float,
    noise: Noise,
    accuracy_m: float | None,
    *,
    excess: bool,
    is_rounding: bool = False,
) -> list[Finding]:
    """Return what is to be said about the accuracy.

    Parameters
    ----------
    scatter_m : float
        Standard deviation of one coordinate about the fit. [m]
    noise : Noise
        Errors behind the deviations.
    accuracy_m : float or None
        Stated accuracy. [m]
    excess : bool
        Whether the points scatter clearly more than stated.
    is_rounding : bool
        Whether the accuracy is what rounding makes, and nobody stated it.
    """
    found = []
    if excess and accuracy_m is not None:
        text = f"the points scatter by {show_short(scatter_m)} about the best straights and arcs, "
        if is_rounding:
            text += f"more than the {show_short(accuracy_m)} that their rounding makes; "
            text += "deviations use the scatter."
        else:
            text += f"more than the stated accuracy of {show_short(accuracy_m)}; "
            text += "deviations use the scatter. Check the stated accuracy."
        severity = Severity.NOTE if is_rounding else Severity.CAUTION
        found.append(Finding("survey-scatter", severity, text))
    if accuracy_m is None:
        found.append(
            Finding(
                "survey-accuracy-estimated",
                Severity.NOTE,
                f"no survey accuracy stated: {show_short(noise.sigma_m)} a coordinate, "
                "estimated from the points.",
            )
        )
    if noise.likeness > 0.0:
        found.append(
            Finding(
                "survey-noise-correlated",
                Severity.CAUTION,
                "the errors of neighboring points are alike (drift, or smoothing by the "
                f"instrument): correlation {noise.likeness:.2f} from point to point. The "
                "deviations are raised for it, each by what it does to that angle or radius, at "
                f"most by {noise.raise_of_slow:.2f}. A gentle bend may be drift: check against "
                "the site.",
            )
        )
    return found


def overstated(scatter_m: float, stated_m: float, counts: tuple[int, int]) -> Finding:
    """Return the caution that a stated accuracy is so large that it would merge bends.

    Parameters
    ----------
    scatter_m : float
        Standard deviation of one coordinate about the fit with more bends. [m]
    stated_m : float
        Stated accuracy. [m]
    counts : (int, int)
        Bends found with the stated accuracy and with that of the points.
    """
    return Finding(
        "survey-accuracy-large",
        Severity.CAUTION,
        f"the points agree far better than the stated accuracy of {show_short(stated_m)}: to "
        f"{show_short(scatter_m)} a coordinate, with errors that look independent. Bends are "
        f"found with that, {counts[1]} where the stated accuracy would give {counts[0]}"
        f"{'' if counts[0] != counts[1] else ' others'}; deviations stay those of the stated "
        "accuracy. State the accuracy from shot to shot, without what all points have in common.",
    )


def outlier_findings(lost: Sequence[int], points: Floats) -> list[NumberedFinding]:
    """Return the points left out by number, and what that takes from the ends of the run.

    Parameters
    ----------
    lost : sequence of int
        Points left out, rising.
    points : (n, 3) float
        All points. [m]
    """
    if not lost:
        return []
    named = tuple(lost[:20])
    names = ", ".join(["{}"] * len(named)) + (" ..." if len(lost) > len(named) else "")
    text = (
        f"{len(lost)} of {len(points)} points stand off the route and are left out: {names}. "
        "Check them."
    )
    kept = np.setdiff1d(np.arange(len(points)), lost)
    for end, near, words in ((0, int(kept[0]), "from {} on"), (-1, int(kept[-1]), "up to {}")):
        end %= len(points)
        if near != end:
            away = show_short(float(np.linalg.norm(points[near] - points[end])))
            text += f" At the end, {{}}, the run is read only {words}, {away} away from it."
            named += (end, near)
    return [NumberedFinding("survey-outliers", Severity.CAUTION, text, points=named)]


def block_findings(blocks: Sequence[Sequence[int]], points: Floats) -> list[NumberedFinding]:
    """Return the rows of points left out that may be a saddle or an offset.

    Parameters
    ----------
    blocks : sequence of sequence of int
        Points left out in a row to one side, rising.
    points : (n, 3) float
        All points. [m]
    """
    if not blocks:
        return []
    shown = []
    lost = [row for block in blocks for row in block]
    for block in blocks:
        base, chord = _beside(block, points, np.setdiff1d(np.arange(len(points)), lost))
        off = points[list(block)] - base
        off = off - (off @ chord)[:, None] * chord
        away = show_short(float(np.linalg.norm(off, axis=1).max()))
        shown.append(f"{{}} to {{}}, up to {away} off the line of the points beside them")
    return [
        NumberedFinding(
            "survey-block-left-out",
            Severity.ERROR,
            f"points in a row stand to one side and are left out: {'; '.join(shown)}. A saddle or "
            "an offset may stand there, and its bends are not counted. Check these points; where "
            "they are right, measure more of them there, or draw the bends.",
            points=tuple(row for block in blocks for row in (block[0], block[-1])),
        )
    ]


def _beside(block: Sequence[int], points: Floats, kept: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Return a point and the direction of the line beside a block: of the two points next to it.

    At an end both are on the one side that there is.
    """
    at = int(np.searchsorted(kept, block[0]))
    near = min(max(at - 1, 0), max(kept.size - 2, 0))
    ends = points[kept[near : near + 2]]
    chord = ends[-1] - ends[0]
    return ends[0], chord / max(float(np.linalg.norm(chord)), 1e-300)


def radius_findings(
    angles: list[tuple[float, float]], determined: list[bool], folds: Sequence[int] = ()
) -> list[NumberedFinding]:
    """Return the bends whose radius the points do not determine.

    Parameters
    ----------
    angles : list of (float, float)
        Angle and deviation of every bend. [rad]
    determined : list of bool
        Whether each radius is.
    folds : sequence of int
        Bends that fold the path back between two points.
    """
    limits = [_UNSURE_FOLD_RAD if k in folds else _LOST_RAD for k in range(len(angles))]
    lost = [k for k, (_, sd) in enumerate(angles) if not sd < limits[k] and not determined[k]]
    vague = [k for k, known in enumerate(determined) if not known and k not in lost]
    found = _lost_bends(lost, [angles[k][0] for k in lost], folds)
    if not vague:
        return found
    # no angle is named: the run may lay the bend against what stands beside the points
    shown = ", ".join("bend {}" for _ in vague)
    return [
        *found,
        NumberedFinding(
            "survey-radius-undetermined",
            Severity.NOTE,
            f"the points give the angle but not the radius of {shown}: its deviation is above "
            "0.3 of it.",
            tuple(vague),
        ),
    ]


def _lost_bends(
    bends: Sequence[int], angles: Sequence[float], folds: Sequence[int]
) -> list[NumberedFinding]:
    """Return the bends of which the points tell next to nothing. [rad]"""
    if not bends:
        return []
    fold = ", which folds the path back between two points"
    shown = ", ".join(
        f"bend {{}} ({f'{degrees(angle):.0f}°' if angle > 0.0 else 'angle unknown'}"
        f"{fold if bend in folds else ''})"
        for bend, angle in zip(bends, angles, strict=True)
    )
    return [
        NumberedFinding(
            "survey-bend-unknown",
            Severity.ERROR,
            f"the points tell neither the angle nor the radius of {shown}: what is read there is "
            "no more than a guess. Measure more points there, or draw the bends.",
            tuple(bends),
        )
    ]


def straight_findings(
    fit: ChainFit, corners: Sequence[int], doubts: Doubts
) -> list[NumberedFinding]:
    """Return which straights beside the bends are hardly told.

    Parameters
    ----------
    fit : ChainFit
        The joint fit.
    corners : sequence of int
        First corner of every bend.
    doubts : Doubts
        What it leaves open.
    """
    chain = fit.chain
    m = chain.radii_m.size
    found: list[NumberedFinding] = []
    near = [i for i, corner in enumerate(corners[1:]) if doubts.open_m[corner, 1] > 0.0]
    shared = [
        i
        for i in near
        if doubts.shared_rad[corners[i + 1], 1] > 0.0 and doubts.open_m[corners[i + 1], 0] > 0.0
    ]
    near = [i for i in near if i not in shared]
    shared = [i for i in shared if doubts.open_rad[corners[i + 1]] > _FAR_RAD]
    found += _shared_findings(shared, [doubts.shared_rad[corners[i + 1]] for i in shared])
    if near:
        shown = [f"between bends {{}} and {{}} {_open(doubts, corners[i + 1])}" for i in near]
        pairs = tuple(bend for i in near for bend in (i, i + 1))
        found.append(_hardly_told("survey-bends-touch", Severity.CAUTION, shown, pairs))
    shown = [f"before bend {{}} {_open(doubts, 0)}"] if chain.lead_m is not None else []
    of = (0,) * len(shown)
    if chain.tail_m is not None:
        shown.append(f"after bend {{}} {_open(doubts, m)}")
        of += (len(corners) - 1,)
    if shown:
        far = max(doubts.open_rad[0], doubts.open_rad[m]) > _FAR_RAD
        severity = Severity.CAUTION if far else Severity.NOTE
        found.append(_hardly_told("survey-ends-in-arc", severity, shown, of))
    for bare, way, bend in (
        (chain.bare_start, "begin", 0),
        (chain.bare_end, "end", len(corners) - 1),
    ):
        if bare:
            text = f"the points {way} in bend {{}}: its angle counts up to the end point."
            found.append(NumberedFinding("survey-ends-in-arc", Severity.NOTE, text, (bend,)))
    return found


def _shared_findings(bends: Sequence[int], turns: Sequence[Floats]) -> list[NumberedFinding]:
    """Return what to know about bends that share their turn with the next; least and greatest."""
    if not bends:
        return []
    shown = [
        f"bend {{}} turns {degrees(low):.1f}° to {degrees(high):.1f}°, bend {{}} the rest"
        for low, high in turns
    ]
    return [
        NumberedFinding(
            "survey-turn-shared",
            Severity.CAUTION,
            "the points hardly tell how two bends of one plane close to each other share their "
            f"turn, which in all is well told: {'; '.join(shown)}. The mean of what they allow is "
            "read, and the deviations count the rest in. Measure more points there to tell.",
            tuple(bend for i in bends for bend in (i, i + 1)),
        )
    ]


def _open(doubts: Doubts, before: int) -> str:
    """Return the lengths of a straight that the points do not rule out, and what they move."""
    low, high = (float(length) for length in doubts.open_m[before])
    least = "none" if low == 0.0 else show_short(low)
    moved = degrees(doubts.open_rad[before])
    return f"{least} to {show_short(high)}, which moves angles by up to {moved:.2g}°"


def _hardly_told(
    code: str, severity: Severity, shown: Sequence[str], bends: tuple[int, ...]
) -> NumberedFinding:
    whose = "It" if len(shown) == 1 else "Each"
    what = "a straight is" if len(shown) == 1 else "some straights are"
    return NumberedFinding(
        code,
        severity,
        f"the points hardly tell how long {what}: {'; '.join(shown)}. {whose} is read as the "
        "mean of what they allow, and the deviations count the rest in. Measure more points there "
        "to tell.",
        bends,
    )
