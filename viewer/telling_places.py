"""Where a run deserves a close look: every bend that fails, else the place that governs.

Bends are judged as the checks judge them: pulled at high friction, held back at low friction, the
way the legs are shown pulled. A check of a whole leg has no place; it is told in words.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from analyzer.checks.check import Check
from analyzer.checks.situation import at_most
from analyzer.errors import InputError
from analyzer.pulling.results import Share, loads_between
from analyzer.reports.tables import show_check_value
from analyzer.reports.words import check_name
from analyzer.units import UnitSystem, show_force, show_pressure, show_radius
from viewer.scene import BendMark, Scene
from viewer.shown_values import of_limit, shown_length
from viewer.wording import failing_checks, friction_of_code, governing_share

__all__ = [
    "MOST_CLOSEUPS",
    "BendFault",
    "Place",
    "bend_names",
    "bend_shares",
    "telling_places",
    "whole_leg_words",
]

MOST_CLOSEUPS = 6
"""Close-ups of one run; further bends that fail are named."""

_NEIGHBOR_M = 4.5
_MOST_BENDS = 3
_JOINT_M = 1e-6


@dataclass(frozen=True, slots=True)
class BendFault:
    """One check that a bend fails: value over limit (radius: limit over value), and in words."""

    number: int
    leg: str | None
    code: str
    share: float
    words: str


@dataclass(frozen=True, slots=True)
class Place:
    """One place worth a close look.

    Attributes
    ----------
    bends : tuple of BendMark
        Bends shown: the chosen one, and its neighbors a short straight away.
    chosen : tuple of BendMark
        Those that fail and are in no earlier place; where none fails, the one at or nearest to
        the place that governs.
    fails : bool
        Whether they fail.
    title : str
        What is shown, such as ``Where it fails: bend B5``.
    reasons : tuple of str
        The figures against their limits, with the friction: all, then shorter ones: the worst
        of each bend, and that of the worst bend alone.
    """

    bends: tuple[BendMark, ...]
    chosen: tuple[BendMark, ...]
    fails: bool
    title: str
    reasons: tuple[str, ...]

    @property
    def reason(self) -> str:
        """All figures against their limits."""
        return self.reasons[0]


def bend_shares(scene: Scene) -> dict[int, tuple[Share, ...]]:
    """Return what each bend takes of every limit that could be checked, by its number.

    Pulled at high friction and held back at low friction, the way the legs are shown pulled. The
    greatest sidewall share of a leg's bends is the one its check compares.
    """
    found: dict[int, tuple[Share, ...]] = {}
    for item, trace in zip(scene.analysis.legs, scene.legs, strict=True):
        pull = item.forward if trace.direction is item.forward.direction else item.reverse
        for bend in item.leg.bends:
            shares = []
            for share in pull.shares:
                arcs = pull.braked.arcs if share.code.endswith("-braked") else pull.high.arcs
                loads = [
                    (arc.n_per_m if share.code.startswith("sidewall") else arc.tension_n, arc)
                    for arc in loads_between(arcs, bend.station_m, bend.end_station_m)
                ]
                if loads:
                    value, arc = max(loads, key=lambda load: load[0])
                    shares.append(replace(share, value=value, station_m=arc.station_m))
            found[bend.number] = tuple(shares)
    return found


def telling_places(scene: Scene) -> tuple[Place, ...]:
    """Return the places worth a close look, worst first: all bends that fail are among them.

    Where no bend fails it is the place of the share of limit that governs; where nothing could
    be checked, that of the greatest tension shown.

    Raises
    ------
    InputError
        If the run has no bends.
    """
    if not scene.bends:
        raise InputError("a run without bends has no place for a close-up")
    faults = _faults(scene)
    failing = dict.fromkeys(fault.number for fault in faults)
    marks = {bend.number: bend for bend in scene.bends}
    places: list[Place] = []
    for number in failing:
        if any(marks[number] in place.bends for place in places):
            continue
        bends = _with_neighbors(scene, marks[number])
        earlier = {bend.number for place in places for bend in place.chosen}
        chosen = tuple(b for b in bends if b.number in failing and b.number not in earlier)
        words = {bend.name: [f.words for f in faults if f.number == bend.number] for bend in chosen}
        worst = {name: f"{name}: {told[0]}" for name, told in words.items()}
        reasons = (
            " · ".join(f"{name}: {'; '.join(told)}" for name, told in words.items()),
            " · ".join(worst.values()),
            worst[marks[number].name],
        )
        title = f"Where it fails: {bend_names(chosen)}"
        places.append(Place(bends, chosen, True, title, tuple(dict.fromkeys(reasons))))
    return tuple(places) or (_hardest(scene),)


def bend_names(bends: tuple[BendMark, ...]) -> str:
    """Return bends by name: ``bend B3``, ``bends B3 and B4``."""
    names = [bend.name for bend in bends]
    if len(names) == 1:
        return f"bend {names[0]}"
    return f"bends {', '.join(names[:-1])} and {names[-1]}"


def _faults(scene: Scene) -> list[BendFault]:
    """Return what every bend fails: the worst bend first, and of each bend the worst first."""
    units = scene.job.units
    legs = {b.number: item.leg.name for item in scene.analysis.legs for b in item.leg.bends}
    found = []
    for number, shares in bend_shares(scene).items():
        for share in shares:
            if not at_most(share.value, share.limit):
                words = _share_words(scene, share)
                found.append(BendFault(number, legs[number], share.code, share.share, words))
    for check in failing_checks(scene):
        if check.code != "bend-radius" or check.station_m is None:
            continue
        number = _nearest(scene, check.station_m + _JOINT_M).number
        drawn, least = check.value or 0.0, check.limit or 0.0
        words = _radius_words(drawn, least, units)
        short = least / max(drawn, _JOINT_M)
        found.append(BendFault(number, check.leg, check.code, short, words))
    worst = {fault.number: fault.share for fault in sorted(found, key=lambda f: f.share)}
    return sorted(found, key=lambda f: (-worst[f.number], f.number, -f.share))


def whole_leg_words(scene: Scene) -> tuple[str, ...]:
    """Return what fails at no one bend, in sentences: a whole leg or run, a place on a straight."""
    told = {(fault.leg, fault.code) for fault in _faults(scene)}
    found = []
    for check in failing_checks(scene):
        if (check.leg, check.code) in told:
            continue
        where = check.leg or "The run"
        if check.unit == "N" and check.value is not None and check.station_m is not None:
            force = show_force(check.value, scene.units)
            at = shown_length(check.station_m, scene.units)
            found.append(
                f"{where} fails by {check_name(check.code)} between bends: {force} at {at}."
            )
        else:
            found.append(f"{where} fails as a whole, at no one bend: {_whole_words(check, scene)}.")
    return tuple(dict.fromkeys(found))


def _whole_words(check: Check, scene: Scene) -> str:
    name = check_name(check.code)
    if check.value is None or check.limit is None or check.unit not in ("deg", "m"):
        return name
    value, limit = (
        show_check_value(figure, check.unit, check.code, scene.units)
        for figure in (check.value, check.limit)
    )
    if value == limit:
        # rounded alike, though one is past the other
        return f"{name} just {'under' if check.value < check.limit else 'over'} its limit {limit}"
    return f"{name} {value}, limit {limit}"


def _radius_words(drawn_m: float, least_m: float, units: UnitSystem) -> str:
    drawn, least = show_radius(drawn_m, units), show_radius(least_m, units)
    if drawn == least:
        return f"radius just under the {least} needed"
    return f"radius {drawn}, at least {least} needed"


def _share_words(scene: Scene, share: Share) -> str:
    """Return ``sidewall pressure 738 lbf/ft, 2.5 × limit at high friction 0.5``."""
    show = show_pressure if share.code.startswith("sidewall") else show_force
    figure = f"{check_name(share.code)} {show(share.value, scene.units)}"
    return f"{figure}, {of_limit(share.share)} at {friction_of_code(scene, share.code)}"


def _hardest(scene: Scene) -> Place:
    """Return the place that governs where no bend fails."""
    share = governing_share(scene)
    station_m = None if share is None else share.station_m
    if share is None or station_m is None:
        station_m = scene.worst.max_station_m
        force = show_force(scene.worst.max_tension_n, scene.units)
        reason = f"greatest tension {force} at {scene.friction_name} friction {scene.friction:g}"
        how = "the pull is hardest"
    else:
        reason = _share_words(scene, share)
        braked = share.code.endswith("-braked")
        how = "holding back is hardest" if braked else "the pull is hardest"
        how += f" at {friction_of_code(scene, share.code)}"
    mark = _nearest(scene, station_m)
    bends = _with_neighbors(scene, mark)
    if _gap(mark, station_m) > _JOINT_M:
        at = f"On the straight at {shown_length(station_m, scene.units)}"
        title, reason = f"Where {how}: near {mark.name}", f"{at}: {reason}"
    else:
        title, reason = f"Where {how}: bend {mark.name}", f"{mark.name}: {reason}"
    return Place(bends, (mark,), False, title, (reason,))


def _nearest(scene: Scene, station_m: float) -> BendMark:
    return min(scene.bends, key=lambda bend: _gap(bend, station_m))


def _with_neighbors(scene: Scene, chosen: BendMark) -> tuple[BendMark, ...]:
    group = [chosen]
    for other in sorted(scene.bends, key=lambda bend: abs(bend.number - chosen.number)):
        if other in group or len(group) >= _MOST_BENDS:
            continue
        if any(_apart(other, one) <= _NEIGHBOR_M for one in group):
            group.append(other)
    return tuple(sorted(group, key=lambda bend: bend.number))


def _gap(bend: BendMark, station_m: float) -> float:
    return max(bend.station_m - station_m, station_m - bend.end_station_m, 0.0)


def _apart(one: BendMark, other: BendMark) -> float:
    return max(one.station_m - other.end_station_m, other.station_m - one.end_station_m)
