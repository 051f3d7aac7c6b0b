"""A run as it is shown: its scene at any friction of the band, its verdict pulled one way."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite

from analyzer.analysis import Analysis, RunAnalysis, analyze
from analyzer.checks.run_checks import verdict_of
from analyzer.errors import InputError
from analyzer.job.settings import Friction
from analyzer.pulling.results import Direction
from viewer.quantities import Quantity
from viewer.scene import Scene, build_scene

__all__ = ["friction_of", "pulled_one_way", "scene_at"]

_NAMES = ("low", "expected", "high")


def friction_of(band: Friction, asked: str | float) -> tuple[str, float]:
    """Return the word and the number of the friction asked for.

    Raises
    ------
    InputError
        If a word is not ``low``, ``expected`` or ``high``, or a number lies outside the band.

    Examples
    --------
    >>> friction_of(Friction(0.2, 0.35, 0.5), 0.4)
    ('chosen', 0.4)
    """
    if isinstance(asked, str):
        if asked not in _NAMES:
            raise InputError(f"no friction is called {asked!r}: low, expected, high or a number")
        return asked, float(getattr(band, asked))
    if not isfinite(asked) or not band.low <= asked <= band.high:
        raise InputError(
            f"friction {asked:g} lies outside the job's band of {band.low:g} to {band.high:g}: "
            "the limits would be checked at another one"
        )
    for name in ("expected", "high", "low"):
        if asked == getattr(band, name):
            return name, float(asked)
    return "chosen", float(asked)


def scene_at(
    analysis: Analysis,
    judged: RunAnalysis,
    direction: str = "better",
    friction: str | float = "expected",
    quantity: Quantity = Quantity.TENSION,
) -> Scene:
    """Return the scene of one run at a friction of the band.

    Parameters
    ----------
    analysis : Analysis
        Where job and count of runs are taken from.
    judged : RunAnalysis
        The run as it is checked: its boxes may differ from the one in `analysis`.
    direction : str
        ``forward``, ``reverse`` or ``better``.
    friction : str or float
        A word of the band, or a number within it.
    quantity : Quantity
        What the colors show.

    Raises
    ------
    InputError
        If the friction is not of the band, or there is no limit to take a share of.
    """
    job = analysis.job
    name, value = friction_of(job.pull.friction, friction)
    shown = None
    if name != "expected":
        one = Friction(value, value, value, job.pull.friction.stated)
        shown = analyze([judged.run], replace(job, pull=replace(job.pull, friction=one))).runs[0]
    scene = build_scene(
        judged, job, direction, "expected", shown, len(analysis.runs), quantity=quantity
    )
    return replace(scene, friction_name=name, friction=value)


def pulled_one_way(analysis: Analysis, judged: RunAnalysis, way: Direction) -> RunAnalysis:
    """Return a run whose checks and verdict are those of all legs pulled one way.

    Pulled so, conductors meet nowhere: no joint counts.

    Parameters
    ----------
    analysis : Analysis
        The analysis the run is of.
    judged : RunAnalysis
        The run, checks of the way each leg is better pulled counted.
    way : Direction
        The way whose checks count instead.
    """
    checks = tuple(
        replace(check, counts=check.direction in (None, way.value) and check.code != "joint")
        for check in judged.checks
    )
    standing = (*judged.findings, *analysis.job.findings, *analysis.group.findings)
    has_bends = any(not bend.in_fitting for bend in judged.run.bends)
    verdict = verdict_of(checks, standing, has_bends=has_bends)
    return replace(judged, checks=checks, verdict=verdict)
