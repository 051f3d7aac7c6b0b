"""Runs of short chords recognized as arcs.

The chord law: with half angles h = asin(l / 2R), chords whose vertices lie on an arc turn h of the
first chord at the first tangent point, the sum of two half angles inside, and h of the last chord
at the last. Separate corners do not have the half turns at the ends. So a run of vertices on one
circle is an arc when, at both ends, the circle is tangent to the straight it meets or to the next
such run; otherwise its vertices are corners. A polygon drawn round the outside of an arc is told
by its edges, which all touch one circle: every edge is R (tan a/2 + tan b/2) long.

Assumes vertices in order, repeats and vertices on straights dropped (`polyline`). Cost is near
linear in vertices. Source: elementary circle geometry.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from math import asin, radians, tan

from analyzer.geometry.chords.circle_runs import (
    CircleRun,
    Stretch,
    bends_on,
    circle_runs,
    circle_through,
    grow_run,
    is_poor,
    stretch_of,
)
from analyzer.geometry.chords.corner_legs import Elsewhere, could_be_corner_legs, elsewhere
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.tangencies import (
    FREE_CHORD_RAD,
    RunEnd,
    Tangency,
)
from analyzer.geometry.chords.told_runs import Known, Neighbors
from analyzer.geometry.chords.two_chords import (
    facing_two_chords,
    half_turn_fits,
    missed_turn_fits,
    touching_two_chords,
)
from analyzer.geometry.circle_fit import CircleFit
from analyzer.geometry.segments import Floats, Vector

__all__ = ["FREE_CORNER_RAD", "ROOMY", "find_chord_runs"]

FREE_CORNER_RAD = radians(11.3)
"""Step of chords below which a run with an unproved end is an arc though corners have ample room.
[rad] Own choice."""

_FEW_CHORDS = 4
"""Chords up to which a run may be corners that have room, and from which one with an unproved end
is read whatever its digits tell. Own choice."""

ROOMY = 3.0
"""Times the tangent lengths at both its ends that every leg is long where corners have ample room.
Own choice."""

_SHARP_ROUNDINGS = 2000.0
"""Chord times half its turn over the rounding from which few equal chords tell the place of a
tangent vertex left out to a two-hundredth of a chord: below it corners of turns a, 2a, 3a with long
straights may look alike, and stay corners."""

_LEANS = "what it touches could be corners as well"


def find_chord_runs(
    points_m: Floats,
    rounding_m: float,
    *,
    locked: Collection[int] = (),
    entry: Vector | None = None,
    leave: Vector | None = None,
    prefer_chords: bool = False,
    corner_radius_m: float | None = None,
) -> tuple[ChordRun, ...]:
    """Return the runs of vertices that are chords of one arc, in order, never overlapping.

    Runs not accepted are among them, for their doubt; those may overlap.

    Parameters
    ----------
    points_m : (n, 3) float
        Vertices, repeats and vertices on straights dropped. [m]
    rounding_m : float
        Rounding of the coordinates. [m]
    locked : collection of int
        Vertices that no run may cross; one may end there.
    entry, leave : (3,) float, optional
        Direction of travel before the first and after the last vertex, where an arc is drawn.
    prefer_chords : bool
        Read what is ambiguous (one or two chords, free ends) as arcs.
    corner_radius_m : float, optional
        Radius that corners would get: where corners have ample room for it, coarse doubtful runs
        are not accepted. [m]

    Notes
    -----
    A run is trusted only where chord times half its turn is about four times the rounding or
    more (3.6, since rounding moves the chords too); below that its points are noise, and none is
    returned.
    """
    if len(points_m) < 3:
        return ()
    stretch = stretch_of(points_m, rounding_m, locked, entry, leave)
    context = _Context(stretch, circle_runs(stretch), prefer_chords, corner_radius_m)
    runs, declined = _judge(context)
    second_look = _second_look(context, runs)
    if second_look:
        context = context.with_more(second_look)
        runs, declined = _judge(context)
    pairs = touching_two_chords(stretch, context.candidates, _edges(runs))
    if pairs:
        context = context.beside(pairs)
        runs, declined = _judge(context)
    while True:
        found = _short_runs(context, runs, declined)
        short = [run for run in found if run.accepted]
        kept = _without_orphans(runs + short)
        # one declined has its tangents proved all the same: it is told, and others may lean on it
        read = {(run.first, run.last) for run in (*kept, *declined, *found)}
        proved = [one for one in pairs if (one.first, one.last) in read]
        if len(proved) == len(pairs):
            break
        # what leaned on one that is no arc is judged again without it
        pairs = proved
        context = context.beside(pairs)
        runs, declined = _judge(context)
    declined += [run for run in found if not run.accepted]
    # what touches one declined is as good an arc, and goes with it
    stay = set(kept)
    declined += [
        replace(run, accepted=False, doubt=run.doubt or _LEANS)
        for run in _without_orphans([*runs, *short, *declined])
        if run.accepted and run not in stay
    ]
    declined = [run for run in declined if not _overlaps(run, kept)]
    return tuple(sorted(kept + declined, key=lambda run: run.first))


def _edges(runs: Sequence[ChordRun]) -> set[int]:
    return {edge for run in runs for edge in range(run.first, run.last)}


def _judge(context: _Context) -> tuple[list[ChordRun], list[ChordRun]]:
    """Accept runs, good fits and long ones first; the second list holds those declined."""
    runs: list[ChordRun] = []
    declined: list[ChordRun] = []
    taken: set[int] = set()
    for one in sorted(
        context.candidates,
        key=lambda c: (is_poor(context.stretch, c), c.first - c.last, c.first),
    ):
        run = _best(context, one)
        if run is None:
            continue
        edges = set(range(run.first, run.last))
        if not run.accepted:
            declined.append(run)
        elif not edges & taken:
            runs.append(run)
            taken |= edges
    return _in_one(context, _without_orphans(runs, context.pairs)), declined


def _in_one(context: _Context, runs: list[ChordRun]) -> list[ChordRun]:
    """Make one arc of touching runs that lie on one circle: rounding had cut it."""
    kept: list[ChordRun] = []
    for run in sorted(runs, key=lambda one: one.first):
        before = kept[-1] if kept else None
        locked = context.stretch.locked
        if before is not None and before.last == run.first and run.first not in locked:
            circle = circle_through(context.stretch, before.first, run.last)
            if circle is not None:
                joined = _accept(context, CircleRun(before.first, run.last, circle))
                if joined is not None and joined.accepted and not joined.doubt:
                    kept[-1] = joined
                    continue
        kept.append(run)
    return kept


def _second_look(context: _Context, runs: list[ChordRun]) -> list[CircleRun]:
    """Grow runs that start just behind the start, or near the end, of one that was refused.

    Four vertices lie on one circle by accident now and then, and hide the run they cut into.
    """
    held = _edges(runs)
    known = {(one.first, one.last) for one in context.candidates}
    starts: set[int] = set()
    for one in context.candidates:
        if not held & {one.first, one.last - 1}:
            starts |= {one.first + 1, one.first + 2, one.last - 2, one.last - 1, one.last}
    found: list[CircleRun] = []
    for first in sorted(starts):
        if first + 3 < len(context.stretch.rows):
            for one in grow_run(context.stretch, first):
                if (one.first, one.last) not in known:
                    known.add((one.first, one.last))
                    found.append(one)
    return found


class _Context:
    """A stretch, the runs of its vertices on circles, and how to judge them."""

    def __init__(
        self,
        stretch: Stretch,
        candidates: list[CircleRun],
        prefer_chords: bool,
        corner_radius_m: float | None,
        pairs: Sequence[CircleRun] = (),
        known: Known | None = None,
    ) -> None:
        self.stretch = stretch
        self.candidates = candidates
        self.pairs = pairs
        self.prefer_chords = prefer_chords
        self.corner_radius_m = corner_radius_m
        self._known = known or Known()
        # two chords lie on a circle always: they are for where no longer run stands
        best_last = [*pairs, *sorted(candidates, key=lambda one: -one.circle.offset_m)]
        self.neighbors = Neighbors(stretch, best_last, prefer_chords, self._known)
        self._elsewhere: Elsewhere | None = None
        self._join()

    def with_more(self, candidates: list[CircleRun]) -> _Context:
        """Return a context with further candidates."""
        return self._with(self.candidates + candidates, ())

    def beside(self, pairs: Sequence[CircleRun]) -> _Context:
        """Return a context where arcs of two chords prove the tangents of what touches them."""
        return self._with(self.candidates, pairs)

    def _with(self, candidates: list[CircleRun], pairs: Sequence[CircleRun]) -> _Context:
        asked = self.prefer_chords, self.corner_radius_m
        return _Context(self.stretch, candidates, *asked, pairs, self._known)

    def _join(self) -> None:
        """Find the lines tangent to two neighboring runs whose tangent points lack a vertex."""
        for one in self.candidates:
            other = self.neighbors.starts.get(one.last + 1)
            if other is None or {one.last, other.first} & self.stretch.locked:
                continue
            self.neighbors.join(one, other)

    def elsewhere(self) -> Elsewhere:
        """Return legs and turns that belong to no arc.

        A circle that no straight is tangent to is no arc: its vertices are corners like the rest.
        """
        if self._elsewhere is None:
            stretch = self.stretch
            spans = [(one.first, one.last) for one in self.candidates]
            # judging asks for it too: until it is known, every circle counts
            self._elsewhere = elsewhere(stretch.legs, stretch.turn_rad, spans)
            runs = [_best(self, one) for one in self.candidates]
            spans = [(run.first, run.last) for run in runs if run is not None and run.accepted]
            spans += [(one.first, one.last) for one in self.pairs]
            self._elsewhere = elsewhere(stretch.legs, stretch.turn_rad, spans)
        return self._elsewhere

    def has_room(self, first: int, last: int) -> bool:
        """Whether corners at vertices have three times the straight they need between them."""
        if self.corner_radius_m is None:
            return False
        half = [tan(turn / 2.0) for turn in self.stretch.turn_rad[first : last + 1]]
        legs = self.stretch.legs[first:last]
        return all(
            leg >= ROOMY * self.corner_radius_m * (a + b)
            for leg, a, b in zip(legs, half, half[1:], strict=False)
        )

    def could_be_corners(self, one: CircleRun, start: RunEnd, end: RunEnd) -> bool:
        """Whether coarse chords held at both ends may be corners, with the room these need."""
        if self.corner_radius_m is not None and not self.has_room(one.first, one.last):
            return False
        legs = self.stretch.legs
        beside = [
            legs[edge]
            for edge, held in ((one.first - 1, start), (one.last, end))
            if 0 <= edge < len(legs) and held.tangency is Tangency.STRAIGHT
        ]
        step = 2.0 * asin(min(legs[one.first] / (2.0 * one.circle.radius_m), 1.0))
        return could_be_corner_legs(
            legs[one.first : one.last], step, beside, self.elsewhere(), self.stretch.rounding_m
        )


def _is_held(run: ChordRun) -> bool:
    """Whether both tangents are proved at a vertex."""
    return {run.start.tangency, run.end.tangency} <= {Tangency.STRAIGHT, Tangency.TOUCHING}


def _best(context: _Context, one: CircleRun) -> ChordRun | None:
    """Judge a run; where rounding let it grow one vertex too far, judge it cut back.

    A vertex of the straight can pass for one of the circle when rounding is coarse.
    """
    doubtful = _accept(context, one)
    if doubtful is not None and (not doubtful.doubt or _is_held(doubtful)):
        return doubtful
    for head, tail in ((1, 0), (0, 1), (1, 1)):
        first, last = one.first + head, one.last - tail
        if last - first < 3:
            continue
        circle = circle_through(context.stretch, first, last)
        run = _accept(context, CircleRun(first, last, circle)) if circle is not None else None
        if run is not None and not run.doubt:
            return run
    return doubtful


def _without_orphans(runs: list[ChordRun], pairs: Sequence[CircleRun] = ()) -> list[ChordRun]:
    """Drop runs that leaned on a touching run which was itself refused, until none is left.

    Pairs of chords that are judged later may be leaned on until then.
    """
    while True:
        firsts = {run.first for run in runs} | {run.first + 1 for run in runs}
        firsts |= {one.first for one in pairs}
        lasts = {run.last for run in runs} | {run.last - 1 for run in runs}
        lasts |= {one.last for one in pairs}
        starts = {run.first for run in runs}
        ends = {run.last for run in runs}
        kept = [
            run
            for run in runs
            if (run.start.tangency is not Tangency.JOINED or run.first - 1 in ends)
            and (run.end.tangency is not Tangency.JOINED or run.last + 1 in starts)
            and (run.start.tangency is not Tangency.TOUCHING or run.first in lasts)
            and (run.end.tangency is not Tangency.TOUCHING or run.last in firsts)
        ]
        if len(kept) == len(runs):
            return kept
        runs = kept


def _overlaps(run: ChordRun, others: Sequence[ChordRun]) -> bool:
    return any(one.first < run.last and run.first < one.last for one in others)


def _accept(context: _Context, one: CircleRun) -> ChordRun | None:
    told = context.neighbors.told(one)
    if told is None:
        return None
    run, halves = told.arc, told.halves_rad
    coarse = len(halves) <= _FEW_CHORDS or 2.0 * max(halves) > FREE_CHORD_RAD
    if (
        coarse
        and not told.doubt
        and not context.prefer_chords
        and context.could_be_corners(one, told.start, told.end)
    ):
        doubt = (
            "its chords are coarse and equal, and lengths or turns like theirs repeat in the run "
            "or are round, so it could be corners whose turns fit by chance"
        )
        return replace(run, doubt=doubt) if run is not None else None
    if run is None or not told.doubt or context.prefer_chords:
        return run
    unsure = {told.start.tangency, told.end.tangency} & {Tangency.FREE, Tangency.POINT}
    if context.has_room(one.first, one.last):
        limit = FREE_CORNER_RAD if unsure else FREE_CHORD_RAD
        return replace(run, accepted=2.0 * max(halves) < limit)
    lacks = bool(unsure) or (len(halves) == 2 and not _is_held(run))
    few = lacks and len(halves) < _FEW_CHORDS
    shortest = min(context.stretch.legs[one.first : one.last])
    sharp = shortest * min(halves) >= _SHARP_ROUNDINGS * context.stretch.rounding_m
    return replace(run, accepted=sharp or not few)


def _short_runs(
    context: _Context, taken: Sequence[ChordRun], declined: Sequence[ChordRun]
) -> list[ChordRun]:
    """Arcs of two chords (turns a, 2a, a) among the vertices that no longer run takes.

    What is left, and is not told to be chords already, may be two chords of an arc that lacks a
    tangent vertex (turns of about 3a, 2a, a).
    """
    for run in taken:
        context.neighbors.add(_as_candidate(run))
    found = _short_runs_of(context, taken, lacking=False)
    told = [run for run in (*declined, *found) if not run.accepted]
    known = [*taken, *(run for run in found if run.accepted)]
    arcs = [_as_candidate(run) for run in known]
    for one, other in facing_two_chords(context.stretch, arcs, _edges(known)):
        context.neighbors.join(one, other)
    more = _short_runs_of(context, known, lacking=True)
    return [*found, *(run for run in more if not _overlaps(run, told))]


def _short_runs_of(
    context: _Context, taken: Sequence[ChordRun], *, lacking: bool
) -> list[ChordRun]:
    """Arcs of two chords that lack a tangent vertex, or that have both."""
    n = len(context.stretch.rows) - 1
    busy = {vertex for run in taken for vertex in range(run.first + 1, run.last)}
    edge_used = _edges(taken)
    # an edge that proved the tangent of an arc is a straight, no chord
    edge_used |= {run.first - 1 for run in taken if run.start.tangency is Tangency.STRAIGHT}
    edge_used |= {run.last for run in taken if run.end.tangency is Tangency.STRAIGHT}
    found: list[ChordRun] = []
    first = 0
    while first + 2 <= n:
        one = None
        if not {first, first + 1, first + 2} & busy and not {first, first + 1} & edge_used:
            one = _two_chords(context, first, lacking=lacking)
        if one is not None:
            found.append(one)
        first = one.last if one is not None and one.accepted else first + 1
    return found


def _as_candidate(run: ChordRun) -> CircleRun:
    return CircleRun(run.first, run.last, CircleFit(run.center_m, run.axis, run.radius_m, 0.0, 0.0))


def _two_chords(context: _Context, first: int, *, lacking: bool) -> ChordRun | None:
    stretch, neighbors = context.stretch, context.neighbors
    if not bends_on(stretch, first + 1):
        return None
    curvature = stretch.curvature_per_m[first + 1]
    for vertex, edge in ((first, first), (first + 2, first + 1)):
        inner = 0 < vertex < len(stretch.rows) - 1
        touches = vertex in (neighbors.ends if vertex == first else neighbors.starts)
        fits = half_turn_fits(stretch, vertex, edge, curvature) or (
            lacking and missed_turn_fits(stretch, vertex, edge, curvature)
        )
        if inner and not touches and not fits:
            return None
    circle = circle_through(stretch, first, first + 2)
    if circle is None:
        return None
    run = _accept(context, CircleRun(first, first + 2, circle))
    if run is None:
        return None
    held = {run.start.tangency, run.end.tangency}
    if not lacking:
        return run if held <= {Tangency.STRAIGHT, Tangency.TOUCHING} else None
    lacked = held - {Tangency.STRAIGHT, Tangency.TOUCHING}
    if not lacked or lacked - {Tangency.POINT, Tangency.JOINED}:
        return None
    # where the next vertex lies on the circle too, no tangent vertex is left out: it is no straight
    goes_on = (
        run.start.tangency is Tangency.POINT and _on_circle(stretch, first - 1, first + 2)
    ) or (run.end.tangency is Tangency.POINT and _on_circle(stretch, first, first + 3))
    return None if goes_on else run


def _on_circle(stretch: Stretch, first: int, last: int) -> bool:
    return (
        first >= 0 and last < len(stretch.rows) and circle_through(stretch, first, last) is not None
    )
