"""Words for things: names of checks, conductors, raceway and friction as people write them."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.job.settings import Job
from analyzer.route.run import Run
from analyzer.units import (
    UnitSystem,
    show_angle,
    show_degrees,
    show_diameter,
    show_force,
    show_pressure,
    show_weight,
)

__all__ = [
    "CHECK_NAMES",
    "bend_sum",
    "check_name",
    "conductor_lines",
    "counted",
    "feed_tension_text",
    "friction_text",
    "joined",
    "paper_name",
    "raceway_text",
    "unchecked_edges_text",
]

CHECK_NAMES = {
    "bend-total": "bend total",
    "leg-length": "leg length",
    "bend-radius": "bend radius",
    "conductor-tension": "conductor tension",
    "grip-tension": "grip tension",
    "line-tension": "line tension",
    "puller-tension": "puller tension",
    "tension-braked": "braked tension",
    "sidewall": "sidewall pressure",
    "sidewall-braked": "braked sidewall pressure",
    "joint": "joints",
    "fill": "fill",
    "jam": "jam ratio",
    "clearance": "clearance",
    "conductor-support": "conductor supports",
}
"""What people read for each check code."""


def paper_name(system: UnitSystem) -> str:
    """Return the paper that pages of a job print on, as style sheets name it."""
    return "letter" if system is UnitSystem.US else "A4"


def check_name(code: str) -> str:
    """Return the name people read for a check code."""
    return CHECK_NAMES.get(code, code.replace("-", " "))


def counted(count: int, noun: str) -> str:
    """Return a count with its noun: ``1 bend``, ``3 bends``."""
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def joined(names: Sequence[str]) -> str:
    """Return names as a list in words: ``1, 2 and 3``."""
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def bend_sum(total_deg: float, job: Job) -> str:
    """Return the bends of a leg added up, as all tables show them: at most one decimal.

    With the decimals of the check where one would hide that the sum is above what is allowed.

    Parameters
    ----------
    total_deg : float
        The sum as the check compares it, to 0.001°. [deg]
    job : Job
        For what is allowed.
    """
    hides = total_deg > job.limits.degrees_between_pull_points >= round(total_deg, 1)
    return show_degrees(total_deg if hides else round(total_deg, 1))


def unchecked_edges_text(run: Run) -> str:
    """Return what no figure of the whole run passed through holds; empty where nothing is left out.

    Passed through, conductors press on the inside edge of a fitting that holds a corner.
    """
    places = [f"{item.name} ({show_angle(turned)})" for item, turned in run.corners_inside()]
    if not places:
        return ""
    return (
        f"sidewall pressure on the inside edge of {', '.join(places)} not checked, no inside "
        "radius known"
    )


def feed_tension_text(job: Job, runs: Sequence[Run]) -> str:
    """Return the tension at the feeds, and that of each fitting where the job states its own.

    Parameters
    ----------
    job : Job
        Its own tension holds wherever a fitting states none.
    runs : sequence of Run
        Whose fittings are told; with the name of the run where there are several.
    """
    tension = job.pull.feed_tension_n
    text = show_force(tension, job.units)
    own = [
        f"at {f'{run.name}, ' if len(runs) > 1 else ''}{item.name} "
        f"{show_force(item.feed_tension_n, job.units)}"
        for run in runs
        for item in run.fittings
        if item.feed_tension_n is not None
    ]
    if tension == 0.0:
        text += " where none is stated (reels that drag need more)"
    elif own:
        text += " where the fitting states no other"
    return "; ".join([text, *own])


def raceway_text(job: Job) -> str:
    """Return the raceway in words: type, trade size, inside diameter."""
    if job.raceway is None:
        return "not given"
    inside = show_diameter(job.raceway.inside_diameter_m, job.units)
    mark = "" if job.raceway.confirmed else " (table row not confirmed)"
    return f"{job.raceway.type} {job.raceway.trade_size}, inside diameter {inside}{mark}"


def conductor_lines(job: Job) -> tuple[str, ...]:
    """Return one line a kind of conductor: count, name, diameter, weight and where it is from."""
    lines = []
    for line in job.conductors:
        conductor = line.conductor
        weight = show_weight(conductor.pulling_weight_n_per_m, job.units)
        allowance = round(100 * (conductor.weight_allowance - 1))
        source = conductor.weight_from
        if allowance:
            plain = show_weight(conductor.weight_n_per_m, job.units)
            source = f"{source} {plain}, raised by {allowance} % for every force"
        lines.append(
            f"{line.count} × {conductor.full_name}, diameter "
            f"{show_diameter(conductor.diameter_m, job.units)}, weight {weight} each ({source})"
        )
    for line in job.existing:
        lines.append(
            f"already in the raceway, not pulled: {line.count} × {line.conductor.full_name}"
        )
    return tuple(lines)


def friction_text(job: Job) -> str:
    """Return the friction band in words, with what remains of it where a bend presses hard."""
    friction = job.pull.friction
    if not friction.is_band:
        text = f"{friction.expected:.2f} (one number: give a band)"
    else:
        mark = "" if friction.stated else " (assumed)"
        if friction.preset:
            mark = f" ({friction.preset})"
        text = (
            f"{friction.low:.2f} low, {friction.expected:.2f} expected, "
            f"{friction.high:.2f} high{mark}"
        )
    pressed = job.pull.friction_by_sidewall
    if pressed is None:
        return text
    origin = pressed.source or "from memory, no source shown"
    return (
        f"{text}; {pressed.part:.2f} of it where a bend presses above "
        f"{show_pressure(pressed.above_n_per_m, job.units)} ({origin})"
    )
