"""Fittings located on the centerlines of a file, and the bends that stand in their way.

A corner inside a fitting is no bend: the path is read again with that corner kept. A fitting
inside any other bend splits it, with a caution. Pull points nearer than an inch are one.

Longer than most modules: claiming, keeping corners, reading anew and splitting bends take turns
on one state of a run, which no other module should have to know.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import radians

from analyzer.errors import JobError, RouteError
from analyzer.findings import Finding, Severity
from analyzer.geometry.readings import Bend, ReadAs, Reading
from analyzer.geometry.segments import Vector
from analyzer.geometry.split_bends import split_bend
from analyzer.geometry.vectors import distance, to_vector
from analyzer.job.settings import SOURCE_KINDS, FittingEntry, FittingKind, Job, Passage
from analyzer.job.words import run_name_key
from analyzer.route.claiming import claim_places
from analyzer.route.claims import (
    END,
    END_NAMES,
    START,
    Claim,
    named_end_message,
)
from analyzer.route.held_corners import Held, corner_doubts
from analyzer.route.paths import (
    FoundFitting,
    PathToPlace,
    sharp_corners,
    surveyed_corners,
)
from analyzer.route.run import SAME_PLACE_M, Fitting
from analyzer.units import inches, show_angle, show_length, show_radius

__all__ = ["NEAR_M", "PlacedRun", "place_fittings"]

NEAR_M = inches(1)
"""Pull points nearer than this along a run would leave no leg between them. [m]"""

_SOUND_RAD = radians(0.5)
_MOVED_M = inches(6)  # a fitted corner lies this near to the surveyed point kept for it


@dataclass(frozen=True, slots=True)
class PlacedRun:
    """One path read, with its fittings in order of station, ends included.

    `findings` are those of the placing; those of the reading are in `reading`. `drawn_m` is where
    the fittings were drawn that stand on it.
    """

    reading: Reading
    fittings: tuple[Fitting, ...]
    findings: tuple[Finding, ...]
    drawn_m: tuple[Vector, ...] = ()


@dataclass(frozen=True, slots=True)
class _Stand:
    """A claim with its station on the final reading."""

    claim: Claim
    station_m: float
    is_listed_only: bool = False


def place_fittings(
    paths: Sequence[PathToPlace],
    found: Sequence[FoundFitting],
    job: Job,
    left_out: Sequence[str] = (),
) -> tuple[PlacedRun, ...]:
    """Return the paths of a file read, with fittings on them.

    Parameters
    ----------
    paths : sequence of PathToPlace
        The runs of one file.
    found : sequence of FoundFitting
        Fittings the file shows.
    job : Job
        Its `fittings` name, place and override; `drawing.snap_m` is how far a fitting may stand.
    left_out : sequence of str
        Names of fittings of the file that stand on no run, which the job may name all the same.

    Returns
    -------
    tuple of PlacedRun
        One for each path.

    Raises
    ------
    JobError
        If an entry of the job names no fitting or run, has no place, or one outside its run.
    """
    first = [_first_reading(path, found, job) for path in paths]
    while True:
        claims = claim_places(paths, [reading for reading, _ in first], found, job, left_out)
        placings = [
            _RunPlacing(path, first[run], job, claims.findings[run])
            for run, path in enumerate(paths)
        ]
        of_run: list[list[Claim]] = [[] for _ in paths]
        for claim in claims.claims:
            of_run[claim.run].append(claim)
        placed = tuple(
            placing.place(
                of_run[run],
                {end: claims.end_entries.get((run, end)) for end in (START, END)},
            )
            for run, placing in enumerate(placings)
        )
        # a fitting may only seem far off, beside a corner that is kept for another one
        again = [
            (placing.reading, placing.kept | kept) if _grew(placing, kept) else (reading, kept)
            for placing, (reading, kept) in zip(placings, first, strict=True)
        ]
        if [kept for _, kept in again] == [kept for _, kept in first]:
            return placed
        first = again


def _grew(placing: _RunPlacing, kept: frozenset[int]) -> bool:
    """Whether a run left out a fitting by its distance and then kept more corners than before."""
    is_far = any(finding.code == "fitting-far" for finding in placing.findings)
    return is_far and not placing.kept <= kept


def _first_reading(
    path: PathToPlace, found: Sequence[FoundFitting], job: Job
) -> tuple[Reading, frozenset[int]]:
    """Return a path read before its fittings are placed, and the corners kept for it.

    A corner without a radius stops the reading; where all such corners stand in fittings, they
    are kept at once.
    """
    try:
        return path.read(frozenset()), frozenset()
    except RouteError:
        sizes = {run_name_key(entry.name): entry.size_m for entry in job.fittings}
        snap_m = job.drawing.snap_m
        standing = [
            Held(one.position_m, snap_m, sizes.get(run_name_key(one.name)), one.extents_m)
            for one in found
            if one.layout == path.layout
        ]
        standing += [
            Held(entry.position_m, snap_m, entry.size_m)
            for entry in job.fittings
            if entry.position_m is not None
        ]
        near = frozenset(
            v
            for v, row in enumerate(path.path.vertices_m)
            if any(one.holds(to_vector(row)) for one in standing)
        )
        if not near:
            raise
        return path.read(near), near


class _RunPlacing:
    """The placing of one run; its reading and findings change on the way."""

    def __init__(
        self,
        path: PathToPlace,
        first: tuple[Reading, frozenset[int]],
        job: Job,
        findings: Sequence[Finding],
    ) -> None:
        self.path = path
        self.reading, self.kept = first
        self._readings = {self.kept: self.reading}
        self.job = job
        self.findings = list(findings)
        self.vertices = [to_vector(row) for row in path.path.vertices_m]
        # where the corner of a vertex really stands: between survey points, for instance
        self.corner_places = {
            v: to_vector(self.reading.centerline.points_at([self.reading.vertex_station_m[v]])[0])
            for v in self.kept
        }

    def place(
        self, claims: Sequence[Claim], end_entries: Mapping[int, FittingEntry | None]
    ) -> PlacedRun:
        """Return the run with its fittings."""
        inside = self._keep_corners(claims)
        stands = [
            self._off_the_bend_edge(self._stand(claim, corners))
            for claim, corners in zip(claims, inside, strict=True)
        ]
        fittings = self._fittings(stands, end_entries)
        self._say_sizes(fittings)
        reading = replace(self.reading, bends=self._split_bends(fittings))
        drawn_m = tuple(claim.point_m for claim in claims if claim.point_m is not None)
        return PlacedRun(reading, fittings, tuple(self.findings), drawn_m)

    def _keep_corners(self, claims: Sequence[Claim]) -> list[list[int]]:
        """Read the path again until every corner inside a fitting is kept; return whose they are.

        Corners found stay found, so this ends.
        """
        corners = set(sharp_corners(self.path.path, self.reading))
        corners |= self._sound_survey_corners(claims)
        inside: list[list[int]] = [[] for _ in claims]
        by_place = [index for index, claim in enumerate(claims) if claim.at_m is None]
        by_station = [index for index, claim in enumerate(claims) if claim.at_m is not None]
        by_station.sort(key=lambda index: claims[index].at_m or 0.0)
        # a station counts along the corners kept before it, so stations are asked in their order
        for group in (by_place, *([index] for index in by_station)):
            for _ in self.vertices:
                for index in group:
                    if claims[index].at_m is None or not inside[index]:
                        inside[index] = self._corners_inside(claims[index], corners)
                wanted = frozenset[int]().union(*inside)
                if wanted == self.kept:
                    break
                self.kept = wanted
                self.reading = self._read(wanted)
                corners |= sharp_corners(self.path.path, self.reading)
        return self._one_owner(claims, inside)

    def _sound_survey_corners(self, claims: Sequence[Claim]) -> set[int]:
        """Return corners of survey points in fittings that can be kept at a surveyed point.

        Each reading fits all points, so the corners are tried together first, and one by one only
        where that is not sound for all.
        """
        reached: dict[int, int] = {}
        for bend, (v, place) in surveyed_corners(self.path.path, self.reading).items():
            self.corner_places[v] = place
            if any(self._corners_inside(claim, {v}) for claim in claims):
                reached[bend] = v
        if not reached or self._are_sound(reached):
            return set(reached.values())
        return {v for bend, v in reached.items() if self._are_sound({bend: v})}

    def _are_sound(self, reached: Mapping[int, int]) -> bool:
        """Whether bends, by index, can be kept sharp at their vertices.

        Sound: each then turns in its fitting what the fitted bend turned, and no bend is new.
        """
        try:
            trial = self._read(self.kept | set(reached.values()))
        except RouteError:
            return False
        if len(trial.bends) != len(self.reading.bends):
            return False
        for bend in reached:
            before, after = self.reading.bends[bend], trial.bends[bend]
            turned = abs(after.angle_rad - before.angle_rad)
            most = 3.0 * (before.angle_sd_rad or 0.0) + _SOUND_RAD
            if not after.in_fitting or turned > most:
                return False
        return True

    def _read(self, kept: frozenset[int]) -> Reading:
        """Return the path read with corners kept; each set of them is read once."""
        if kept not in self._readings:
            self._readings[kept] = self.path.read(kept)
        return self._readings[kept]

    def _corners_inside(self, claim: Claim, corners: set[int]) -> list[int]:
        held = self._held_by(claim)
        return [
            v for v in sorted(corners) if v == claim.vertex or held.holds(self._corner_place(v))
        ]

    def _held_by(self, claim: Claim) -> Held:
        size = claim.entry.size_m if claim.entry is not None else None
        return Held(self._point_of(claim), self.job.drawing.snap_m, size, claim.extents_m)

    def _corner_place(self, vertex: int) -> Vector:
        return self.corner_places.get(vertex, self.vertices[vertex])

    def _one_owner(
        self, claims: Sequence[Claim], inside: Sequence[Sequence[int]]
    ) -> list[list[int]]:
        """Give a corner that several fittings reach to the nearest of them."""
        owner: dict[int, tuple[float, int]] = {}
        for index, (claim, corners) in enumerate(zip(claims, inside, strict=True)):
            point = self._point_of(claim)
            for v in corners:
                away = -1.0 if v == claim.vertex else distance(point, self._corner_place(v))
                owner[v] = min(owner.get(v, (away, index)), (away, index))
        return [
            [v for v in corners if owner[v][1] == index] for index, corners in enumerate(inside)
        ]

    def _point_of(self, claim: Claim) -> Vector:
        if claim.vertex is not None:
            return self.vertices[claim.vertex]
        if claim.place_m is not None:
            return claim.place_m
        station = self._stated_station(claim)
        return to_vector(self.reading.centerline.points_at([station])[0])

    def _stated_station(self, claim: Claim) -> float:
        """Return the station a claim asks for, held to the run."""
        return min(max(claim.at_m or 0.0, 0.0), self.reading.centerline.length_m)

    def _refuse_outside(self, claim: Claim) -> None:
        """Stop at a station outside the run; asked of the final reading, which is the longest."""
        if claim.at_m is not None and abs(self._stated_station(claim) - claim.at_m) > SAME_PLACE_M:
            raise JobError(
                f"{self.job.at_entry(claim.entry)}"
                f"{claim.where} stands at {self._long(claim.at_m)}, outside {self.path.name}, "
                f"which is {self._long(self.reading.centerline.length_m)} long"
            )

    def _stand(self, claim: Claim, corners: Sequence[int]) -> _Stand:
        """Return the station of a fitting; say which corner it holds."""
        line, at_vertex = self.reading.centerline, self.reading.vertex_station_m
        self._refuse_outside(claim)
        for v in corners:
            self._say_corner(claim, self._corner_station(v))
        self._say_doubts(claim, corners)
        if claim.end is not None:
            return _Stand(claim, (0.0, line.length_m)[claim.end])
        point = self._point_of(claim)
        if not corners:
            if claim.vertex is not None:
                return _Stand(claim, at_vertex[claim.vertex])
            if claim.at_m is not None:
                return _Stand(claim, self._stated_station(claim))
            return _Stand(claim, line.nearest_station(point)[0])
        station = self._corner_station(
            min(corners, key=lambda v: distance(point, self._corner_place(v)))
        )
        if claim.at_m is not None and abs(station - claim.at_m) > SAME_PLACE_M:
            text = (
                f"{claim.name}, asked for at {self._long(claim.at_m)}, holds a corner and stands "
                f"there, at {self._long(station)}"
            )
            self._say("fitting-moved", Severity.NOTE, text, claim.where, (claim.name,))
        return _Stand(claim, station)

    def _corner_station(self, vertex: int) -> float:
        """Station of a corner kept at a vertex: that of the fitted corner where it was moved."""
        station = self.reading.vertex_station_m[vertex]
        kept = [b.station_m for b in self.reading.bends if b.in_fitting]
        nearest = min(kept, key=lambda other: abs(other - station), default=station)
        moved = distance(self._corner_place(vertex), self.vertices[vertex])
        return nearest if abs(nearest - station) <= _MOVED_M + moved else station

    def _say_corner(self, claim: Claim, station_m: float) -> None:
        bend = next((b for b in self.reading.bends if _holds(b, station_m, SAME_PLACE_M)), None)
        turn = f" of {show_angle(bend.angle_rad)}" if bend is not None else ""
        text = f"the corner{turn} at {self._long(station_m)} is inside {claim.name}: no bend"
        self._say("corner-in-fitting", Severity.NOTE, text, claim.where, (claim.name,))

    def _say_doubts(self, claim: Claim, corners: Sequence[int]) -> None:
        """Say why corners that count as inside a fitting may be bends beside it."""
        held = self._held_by(claim)
        places = [self._corner_place(v) for v in corners]
        doubts = corner_doubts(held, places, claim.kind, self.job.units)
        if not doubts:
            return
        at = ", ".join(self._long(at_m) for at_m in sorted(map(self._corner_station, corners)))
        which = f"corner at {at}" if len(corners) == 1 else f"corners at {at}"
        check = "place" if held.size_m is None else "place, its size and the unit of that"
        text = (
            f"{claim.name} counts as holding the {which}, but {'; and '.join(doubts)}. A corner "
            f"held is no bend: if one lies outside, the pull lacks a bend. Check its {check}"
        )
        self._say("corner-in-doubt", Severity.CAUTION, text, claim.where, (claim.name,))

    def _off_the_bend_edge(self, stand: _Stand) -> _Stand:
        """Move a fitting that reaches less than an inch into a bend to the bend's end."""
        bend = _bend_at(self.reading.bends, stand.station_m)
        if bend is None or stand.claim.end is not None:
            return stand
        ends = (bend.station_m, bend.end_station_m)
        near = min(ends, key=lambda end: abs(end - stand.station_m))
        moved = abs(near - stand.station_m)
        if moved >= NEAR_M:
            return stand
        text = (
            f"{stand.claim.name} stands {self._small(moved)} inside a bend and is placed at the "
            f"bend's end, at {self._long(near)}"
        )
        self._say("fitting-moved", Severity.NOTE, text, stand.claim.where, (stand.claim.name,))
        return replace(stand, station_m=near)

    def _fittings(
        self, stands: Sequence[_Stand], end_entries: Mapping[int, FittingEntry | None]
    ) -> tuple[Fitting, ...]:
        claimed: tuple[list[_Stand], list[_Stand]] = ([], [])
        inner: list[_Stand] = []
        for stand in stands:
            side = self._end_of(stand)
            (inner if side is None else claimed[side]).append(stand)
        for at_end in claimed:
            at_end.sort(key=_claim_order)
            inner += [self._own_place(stand, at_end[0]) for stand in at_end[1:]]
        start, end = (
            self._end_fitting(side, at_end[0] if at_end else None, end_entries[side])
            for side, at_end in zip((START, END), claimed, strict=True)
        )
        between = sorted(map(self._inner_fitting, inner), key=lambda fitting: fitting.station_m)
        return self._without_empty_legs([start, *between, end])

    def _say_sizes(self, fittings: Sequence[Fitting]) -> None:
        """Say what stated sizes do, and that no check looks at them."""
        names = tuple(fitting.name for fitting in fittings if fitting.size_m is not None)
        if not names:
            return
        text = (
            f"the size of {', '.join(names)} is not checked (NEC 314.28 on boxes and conduit "
            "bodies): it only says which corners lie inside, how large a picture draws it, and how "
            "much conductor stays in a manhole or handhole. Compare it with the code by hand"
        )
        self._say("size-not-checked", Severity.NOTE, text, fittings=names)

    def _end_of(self, stand: _Stand) -> int | None:
        """Return the end a fitting names; one placed by station, where less than an inch off."""
        if stand.claim.at_m is not None:
            if stand.station_m < NEAR_M:
                return START
            if stand.station_m > self.reading.centerline.length_m - NEAR_M:
                return END
        return stand.claim.end

    def _own_place(self, stand: _Stand, at_end: _Stand) -> _Stand:
        """Return a second fitting at an end at its own place, no pull point unless asked for."""
        if stand.claim.place_m is not None:
            line = self.reading.centerline
            stand = replace(stand, station_m=line.nearest_station(stand.claim.place_m)[0])
        entry = stand.claim.entry
        if entry is not None and entry.pull_point is not None:
            return stand
        text = (
            f"{at_end.claim.name} and {stand.claim.name} stand at one end of the run: "
            f"{at_end.claim.name} is the end, {stand.claim.name} is listed only, no pull point. "
            f'Move one of them, or set pull_point for "{stand.claim.name}" in [[fittings]]'
        )
        names = (at_end.claim.name, stand.claim.name)
        self._say("fittings-near", Severity.CAUTION, text, stand.claim.where, names)
        return replace(stand, is_listed_only=True)

    def _end_fitting(self, end: int, stand: _Stand | None, by_job: FittingEntry | None) -> Fitting:
        if stand is not None and by_job is not None:
            message = named_end_message(by_job, [stand.claim.name])
            raise JobError(self.job.at_entry(by_job) + message)
        length = self.reading.centerline.length_m
        entry = stand.claim.entry if stand is not None else by_job
        kind = stand.claim.kind if stand is not None else by_job.kind if by_job else None
        name = stand.claim.name if stand is not None else END_NAMES[end]
        if entry is not None and (entry.passage is Passage.THROUGH or entry.pull_point is False):
            text = (
                f"{name} is an end of the run: conductors are fed or pulled there, so passage and "
                "pull_point do nothing; leave them out"
            )
            self._say("end-passage", Severity.NOTE, text)
        return self._fitting(name, kind or FittingKind.END, (0.0, length)[end], entry)

    def _inner_fitting(self, stand: _Stand) -> Fitting:
        claim = stand.claim
        if claim.kind is FittingKind.END:
            raise JobError(
                f"{self.job.at_entry(claim.entry)}{claim.where}: {claim.name} is called an end "
                f"but stands inside {self.path.name}, at {self._long(stand.station_m)}"
            )
        fitting = self._fitting(
            claim.name, claim.kind or FittingKind.PULL_BOX, stand.station_m, claim.entry
        )
        if claim.kind is None:
            text = f"{claim.name} has no kind and is taken as a pull box: add kind"
            self._say("kind-assumed", Severity.NOTE, text, claim.where, (claim.name,))
        is_pull_point = claim.entry is None or claim.entry.pull_point is not False
        is_pull_point = is_pull_point and not stand.is_listed_only
        return replace(fitting, pull_point=is_pull_point)

    def _fitting(
        self, name: str, kind: FittingKind, station_m: float, entry: FittingEntry | None
    ) -> Fitting:
        return Fitting(
            name=name,
            kind=kind,
            station_m=station_m,
            position_m=to_vector(self.reading.centerline.points_at([station_m])[0]),
            pull_point=True,
            passage=(entry.passage if entry else None) or Passage.REFEED,
            passage_stated=entry is not None and entry.passage is not None,
            feed_tension_n=entry.feed_tension_n if entry else None,
            size_m=entry.size_m if entry else None,
        )

    def _without_empty_legs(self, fittings: Sequence[Fitting]) -> tuple[Fitting, ...]:
        """Make one pull point of those less than an inch apart; an end stays one."""
        last = fittings[-1]
        kept = [fittings[0]]
        stop = fittings[0]
        for fitting in fittings[1:-1]:
            before = fitting.station_m - stop.station_m
            after = last.station_m - fitting.station_m
            if fitting.pull_point and min(before, after) < NEAR_M:
                self._say_near(stop if before < NEAR_M else last, fitting)
                fitting = replace(fitting, pull_point=False)
            if fitting.pull_point:
                stop = fitting
            kept.append(fitting)
        return (*kept, last)

    def _say_near(self, stays: Fitting, listed: Fitting) -> None:
        apart = self._small(abs(listed.station_m - stays.station_m))
        text = (
            f"{stays.name} and {listed.name} stand {apart} apart along the run, at "
            f"{self._long(listed.station_m)}: {stays.name} is the pull point, {listed.name} is "
            "listed only. Move one of them, or leave one out"
        )
        self._say("fittings-near", Severity.CAUTION, text, fittings=(stays.name, listed.name))

    def _split_bends(self, fittings: Sequence[Fitting]) -> tuple[Bend, ...]:
        """Return the bends, split at the pull points inside them and numbered anew."""
        bends = list(self.reading.bends)
        for fitting in fittings[1:-1]:
            bend = _bend_at(bends, fitting.station_m)
            if bend is None:
                continue
            self._say_in_bend(fitting, bend)
            if fitting.pull_point:
                index = bends.index(bend)
                bends[index : index + 1] = split_bend(
                    bend, fitting.station_m, self.reading.centerline
                )
        return tuple(replace(bend, number=number) for number, bend in enumerate(bends, start=1))

    def _say_in_bend(self, fitting: Fitting, bend: Bend) -> None:
        counted = (
            "which is counted in two parts (one in what is said of the drawing)"
            if fitting.pull_point
            else "no pull point"
        )
        advice = "A fitting stands on a straight: move it off the bend"
        if bend.read_as is ReadAs.CORNERS:
            advice = (
                "If the fitting holds the whole corner, put it on the corner or state its size; "
                "otherwise the bend has no room beside it: move it off the bend"
            )
        elif bend.radius_determined is False:
            advice = (
                "If the fitting holds the whole corner, survey a point at the corner itself; "
                "otherwise move it off the bend"
            )
        text = (
            f"{fitting.name} stands at {self._long(fitting.station_m)}, inside the bend of "
            f"{show_angle(bend.angle_rad)} from {self._long(bend.station_m)} to "
            f"{self._long(bend.end_station_m)}, {counted}. {advice}"
        )
        self._say("fitting-in-bend", Severity.CAUTION, text, fittings=(fitting.name,))

    def _say(
        self,
        code: str,
        severity: Severity,
        message: str,
        where: str = "",
        fittings: tuple[str, ...] = (),
    ) -> None:
        place = f"run {self.path.name}, {where}" if where else f"run {self.path.name}"
        self.findings.append(Finding(code, severity, message, place, fittings=fittings))

    def _long(self, length_m: float) -> str:
        return show_length(length_m, self.job.units)

    def _small(self, length_m: float) -> str:
        return show_radius(length_m, self.job.units)


def _holds(bend: Bend, station_m: float, within_m: float) -> bool:
    return bend.station_m - within_m <= station_m <= bend.end_station_m + within_m


def _bend_at(bends: Sequence[Bend], station_m: float) -> Bend | None:
    """Return the bend that holds a station between its tangent points, not at them."""
    return next(
        (b for b in bends if not b.in_fitting and _holds(b, station_m, -SAME_PLACE_M)), None
    )


def _claim_order(stand: _Stand) -> tuple[float, bool]:
    """Order fittings at an end: the nearest first, at equal distance panels and equipment."""
    is_source = stand.claim.kind in SOURCE_KINDS
    return (round(stand.claim.away_m, 6), not is_source)
