"""Tables of a run, as text in the unit system of the job."""

from __future__ import annotations

from itertools import pairwise
from math import degrees, pi

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.findings import Verdict
from analyzer.geometry.segments import Arc
from analyzer.job.settings import Job
from analyzer.pulling.results import Pull, Share
from analyzer.reports.grid import Column, Table
from analyzer.reports.leg_words import spare_words
from analyzer.reports.words import check_name, unchecked_edges_text
from analyzer.studies.leg_study import refed_pulls
from analyzer.units import (
    UnitSystem,
    show_angle,
    show_deviation,
    show_force,
    show_length,
    show_number,
    show_pressure,
    show_radius,
    show_share,
    to_inches,
)

__all__ = [
    "bend_table",
    "better_text",
    "brake_text",
    "check_table",
    "feature_table",
    "fitting_table",
    "governing_text",
    "leg_table",
    "pull_table",
    "refed_table",
    "segment_table",
    "show_check_value",
    "through_table",
]


_PULL_COLUMNS = (
    Column("Feed at"),
    Column("Pull at"),
    Column("Low", True),
    Column("Expected", True),
    Column("High", True),
    Column("Sidewall, high", True),
    Column("Share of limit", True),
    Column("Governed by"),
    Column("Hold-back", True),
    Column("Braked tension", True),
    Column("Braked sidewall", True),
)


def leg_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return the legs with their ends, length, rise and bends."""
    columns = (
        Column("Leg"),
        Column("From"),
        Column("To"),
        Column("Length", True),
        Column("Rise", True),
        Column("Bends", True),
        Column("Bend total", True),
        Column("Better"),
    )
    rows = tuple(
        (
            item.leg.name,
            item.leg.start.name,
            item.leg.end.name,
            show_length(item.leg.length_m, job.units),
            show_length(item.leg.rise_m, job.units),
            str(len(item.leg.bends)),
            show_angle(item.leg.bend_total_rad),
            better_text(item),
        )
        for item in analyzed.legs
    )
    return Table("Legs", columns, rows)


def better_text(analyzed: LegAnalysis) -> str:
    """Return the better direction in words people use on site."""
    if analyzed.pulled is not None:
        return f"feed at {analyzed.best.feed_at}, in one pull with the legs it is passed through to"
    if analyzed.better == "equal":
        return "either end"
    return f"feed at {analyzed.best.feed_at}"


def _pull_row(pull: Pull, job: Job) -> tuple[str, ...]:
    system = job.units
    share = pull.share_of_limit
    governing = pull.governing
    return (
        pull.feed_at,
        pull.pull_at,
        show_force(pull.low.max_tension_n, system),
        show_force(pull.expected.max_tension_n, system),
        show_force(pull.high.max_tension_n, system),
        show_pressure(pull.high.max_sidewall_n_per_m, system),
        "not checked" if share is None else show_share(share),
        "" if governing is None else governing_text(governing, system),
        brake_text(pull, system),
        show_force(pull.braked.max_tension_n, system),
        show_pressure(pull.braked.max_sidewall_n_per_m, system),
    )


def brake_text(pull: Pull, system: UnitSystem) -> str:
    """Return the brake of a pull, with its place where that is not the leg's own feed.

    ``14.2 lbf``, or ``14.2 lbf at start`` where the conductors pass through the box that the leg
    begins at.
    """
    force = show_force(pull.brake.force_n, system)
    return force if pull.braked.carried_from is None else f"{force} at {pull.brake.at}"


def governing_text(governing: Share, system: UnitSystem) -> str:
    """Return the limit that governs and the margin to it: ``line tension, 111 lbf to spare``."""
    show = show_pressure if governing.code.startswith("sidewall") else show_force
    limit = show(governing.limit, system)
    return f"{check_name(governing.code)}, limit {limit}, {spare_words(governing, system)}"


def pull_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return every leg pulled both ways: greatest tension at each friction, limits, braking."""
    rows = tuple(
        (item.leg.name, "better" if pull is item.best else "", *_pull_row(pull, job))
        for item in analyzed.legs
        for pull in (item.forward, item.reverse)
    )
    columns = (Column("Leg"), Column(""), *_PULL_COLUMNS)
    return Table("Pulls, leg by leg: greatest tension by friction", columns, rows)


def refed_table(analyzed: RunAnalysis, analysis: Analysis) -> Table | None:
    """Return every leg fed again at every box, both ways; None where it is so already."""
    pulls = refed_pulls(analyzed, analysis)
    if pulls is None:
        return None
    rows = tuple(
        (item.leg.name, *_pull_row(pull, analysis.job))
        for item, ahead, back in zip(analyzed.legs, *pulls, strict=True)
        for pull in (ahead, back)
    )
    title = "Compare: the same legs with the conductors taken out and fed again at every box"
    return Table(title, (Column("Leg"), *_PULL_COLUMNS), rows)


def through_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return the whole run with the conductors never taken out, both ways."""
    rows = tuple(
        _pull_row(pull, job) for pull in (analyzed.through_forward, analyzed.through_reverse)
    )
    title = "Whole run passed through: the conductors are not taken out at any box"
    unchecked = unchecked_edges_text(analyzed.run)
    return Table(f"{title}; {unchecked}" if unchecked else title, _PULL_COLUMNS, rows)


def bend_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return the bends: station, angle, radius, attitude, rotation and leg."""
    columns = (
        Column("Bend", True),
        Column("Station", True),
        Column("Angle", True),
        Column("Radius", True),
        Column("Radius from"),
        Column("Attitude"),
        Column("Rotation", True),
        Column("Leg"),
        Column("Read as"),
    )
    legs = {bend.number: item.leg.name for item in analyzed.legs for bend in item.leg.bends}
    rows = []
    for bend in analyzed.run.bends:
        radius = "" if bend.radius_m is None else show_radius(bend.radius_m, job.units)
        if bend.radius_determined is False:
            radius += " (undetermined)"
        elif bend.radius_sd_m is not None:
            radius += f" ± {show_deviation(bend.radius_sd_m, job.units)}"
        angle = show_angle(bend.angle_rad)
        if bend.angle_sd_rad is not None:
            untold = not bend.angle_sd_rad < pi
            angle += " ± over 180°" if untold else f" ± {degrees(bend.angle_sd_rad):.1g}°"
        rows.append(
            (
                str(bend.number),
                show_length(bend.station_m, job.units),
                angle,
                radius,
                "in a fitting" if bend.radius_from is None else bend.radius_from.value,
                bend.attitude.value,
                "" if bend.rotation_rad is None else show_angle(bend.rotation_rad),
                legs.get(bend.number, ""),
                bend.read_as.value,
            )
        )
    fitted = any(bend.angle_sd_rad is not None for bend in analyzed.run.bends)
    title = "Bends, ± one standard deviation" if fitted else "Bends"
    return Table(title, columns, tuple(rows))


def feature_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return the features: kind, bends, station and figures."""
    columns = (Column("Feature"), Column("Bends"), Column("Station", True), Column("Figures"))
    rows = tuple(
        (
            item.kind,
            ", ".join(str(number) for number in item.bends),
            show_length(item.station_m, job.units),
            "; ".join(_figure(item.kind, name, value, job.units) for name, value in item.figures),
        )
        for item in analyzed.features
    )
    return Table("Features", columns, rows)


def _figure(kind: str, name: str, value: float, system: UnitSystem) -> str:
    """One figure with its unit: a vertical part as a length of run, what is bent as a radius is."""
    stem, _, unit = name.rpartition("_")
    label = "roll angle" if name == "roll_deg" else stem.replace("_", " ")
    if name == "roll_m":
        side = "right" if value > 0.0 else "left"
        return f"{label} {show_radius(abs(value), system)} ({side})"
    if name == "straight_m" and value == 0.0:
        return "no straight"
    if unit == "m":
        far = "elevation" in stem or kind.startswith("vertical")
        return f"{label} {show_length(value, system) if far else show_radius(value, system)}"
    if unit == "deg":
        return f"{label} {show_number(value, 1)}°"
    return f"{name.replace('_', ' ')} {value:.3f}"


def fitting_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return the fittings with station and passage."""
    columns = (
        Column("Fitting"),
        Column("Kind"),
        Column("Station", True),
        Column("Pull point"),
        Column("Passage"),
    )
    last = len(analyzed.run.fittings) - 1
    rows = []
    for index, item in enumerate(analyzed.run.fittings):
        passage = item.passage.value if item.passage_stated else f"{item.passage.value} (default)"
        if index in (0, last):
            passage = "end"
        elif not item.pull_point:
            passage = "through, not a pull point"
        rows.append(
            (
                item.name,
                item.kind.value,
                show_length(item.station_m, job.units),
                "yes" if item.pull_point else "no",
                passage,
            )
        )
    return Table("Fittings", columns, tuple(rows))


def segment_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return the segments of the centerline, in order."""
    columns = (
        Column("Segment", True),
        Column("Kind"),
        Column("Station", True),
        Column("Length", True),
        Column("Radius", True),
        Column("Angle", True),
        Column("Rise", True),
        Column("End elevation", True),
    )
    line = analyzed.run.centerline
    rows = []
    for number, (segment, (start, _)) in enumerate(
        zip(line.segments, pairwise(line.stations_m), strict=True), start=1
    ):
        arc = segment if isinstance(segment, Arc) else None
        rows.append(
            (
                str(number),
                "straight" if arc is None else "arc",
                show_length(start, job.units),
                show_length(segment.length_m, job.units),
                "" if arc is None else show_radius(arc.radius_m, job.units),
                "" if arc is None else show_angle(arc.angle_rad),
                show_length(segment.end_m[2] - segment.start_m[2], job.units),
                show_length(segment.end_m[2], job.units),
            )
        )
    return Table("Centerline", columns, tuple(rows))


def show_check_value(value: float | None, unit: str, code: str, system: UnitSystem) -> str:
    """Return a check's value or limit for people, with its unit.

    Parameters
    ----------
    value : float or None
        In SI, angles in degrees; None where there is none.
    unit : str
        As checks name it: ``deg``, ``m``, ``N``, ``N/m``, ``ratio``, ``percent`` or ``count``.
    code : str
        Of the check.
    system : UnitSystem
        Units that people see first.
    """
    if value is None:
        return ""
    if unit == "m" and code in ("bend-radius", "clearance"):
        if system is UnitSystem.US:
            return f"{show_number(to_inches(value), 2)} in"
        return show_radius(value, system)
    shown = {
        "m": lambda: show_length(value, system),
        "N": lambda: show_force(value, system),
        "N/m": lambda: show_pressure(value, system),
        "deg": lambda: f"{show_number(value, 1).removesuffix('.0')}°",
        "percent": lambda: f"{show_number(value, 1)} %",
        "ratio": lambda: show_number(value, 3),
        "count": lambda: show_number(value, 0),
    }
    return shown[unit]()


def check_table(analyzed: RunAnalysis, job: Job) -> Table:
    """Return every check with verdict, value, limit, words (with the place) and clause.

    Clauses are notes below the table, each once. The verdict of a direction that a leg is not
    pulled in says so.
    """
    columns = (
        Column("Check"),
        Column("Leg"),
        Column("Direction"),
        Column("Verdict"),
        Column("Value", True),
        Column("Limit", True),
        Column("In words"),
        Column("Clause"),
    )
    # a check not made for want of a limit has no clause
    clauses = list(dict.fromkeys(check.source for check in analyzed.checks if check.source))
    numbers = {clause: str(number) for number, clause in enumerate(clauses, start=1)}
    rows = tuple(
        _check_row(check, job.units, numbers.get(check.source, "")) for check in analyzed.checks
    )
    notes = tuple(f"{number}  {clause}" for number, clause in enumerate(clauses, start=1))
    return Table("Checks", columns, rows, notes)


def _check_row(check: Check, system: UnitSystem, clause: str) -> tuple[str, ...]:
    return (
        check_name(check.code),
        check.leg or "run",
        check.direction or "",
        _verdict_words(check),
        show_check_value(check.value, check.unit, check.code, system),
        show_check_value(check.limit, check.unit, check.code, system),
        check.message,
        clause,
    )


def _verdict_words(check: Check) -> str:
    """Return a verdict, and of a direction that does not count that it does not."""
    word = check.verdict.value
    if check.counts or check.verdict in (Verdict.PASS, Verdict.NOT_CHECKED):
        return word
    said = "fails" if check.verdict is Verdict.FAIL else word
    return f"{said} this way, not counted"
