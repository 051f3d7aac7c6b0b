"""Which run a fitting stands on, and which settings of the job it takes.

A fitting goes to the nearest centerline of its file; at a shared end it names the ends of all
runs that meet there. Distances count to the drawn corner as well as to the centerline, because a
bend cuts its corner on purpose. A fitting inserted too far off whose symbol is drawn on the line
counts by its symbol, and that is said. What stands too far away is a finding, never dropped in
silence. Of two runs about as near, the nearer takes a fitting, with a caution on both; as near, it
stands on both where it stands on their lines, else on neither: never on the one drawn first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyzer.catalog.nearest import nearest_name
from analyzer.errors import ElsewhereError, JobError
from analyzer.findings import Finding, Severity
from analyzer.geometry.readings import Reading
from analyzer.geometry.segments import Vector
from analyzer.geometry.vectors import distance
from analyzer.job.settings import FittingEntry, Job
from analyzer.job.words import run_name_key, sentence_list
from analyzer.route.asked_runs import asked_runs, told_entry
from analyzer.route.claims import (
    END,
    END_NAMES,
    START,
    TOUCHING_M,
    Claim,
    Claims,
    drawn_claim,
    entry_place,
    named_end_message,
)
from analyzer.route.held_corners import OWN_REACH_M
from analyzer.route.numbered_fittings import number_cautions
from analyzer.route.paths import Extents, FoundFitting, PathToPlace, extents_distance
from analyzer.route.reaches import Integers, Reaches
from analyzer.units import show_length, show_radius

__all__ = ["claim_places"]

_ALIKE = 1.01  # a fitting is put by eye: a smaller difference of distances tells nothing


def claim_places(
    paths: Sequence[PathToPlace],
    readings: Sequence[Reading],
    found: Sequence[FoundFitting],
    job: Job,
    left_out: Sequence[str] = (),
) -> Claims:
    """Return which run each fitting stands on.

    Parameters
    ----------
    paths : sequence of PathToPlace
        The runs of one file.
    readings : sequence of Reading
        Each path read without any fitting.
    found : sequence of FoundFitting
        Fittings the file shows.
    job : Job
        Its `fittings` name, place and override; `drawing.snap_m` is how far a fitting may stand.

    left_out : sequence of str
        Names of fittings of the file that stand on no run, which the job may name all the same.

    Raises
    ------
    JobError
        If an entry of the job names no fitting or run, has no place, or two.
    """
    return _Claiming(paths, readings, job, left_out).claim(found)


class _Claiming:
    """The claiming of one file, step by step."""

    def __init__(
        self,
        paths: Sequence[PathToPlace],
        readings: Sequence[Reading],
        job: Job,
        left_out: Sequence[str],
    ) -> None:
        self.paths = paths
        self.readings = readings
        self.job = job
        self.snap_m = job.drawing.snap_m
        self.reaches = Reaches(paths, readings)
        self.result = Claims(findings=[[] for _ in paths])
        self.unused_names = {run_name_key(name) for name in left_out}
        self.far: dict[tuple[int, str], list[tuple[Claim, float]]] = {}
        self.renamed: dict[str, list[str]] = {}
        self.asked = asked_runs(job, [path.name for path in paths])
        self.beside: list[tuple[FoundFitting, int, float, bool]] = []

    def claim(self, found: Sequence[FoundFitting]) -> Claims:
        """Return all claims."""
        for fitting in found:
            self._add_found(fitting)
        self._share_ends(found)
        by_run: dict[int, list[int]] = {}
        for index, claim in enumerate(self.result.claims):
            by_run.setdefault(claim.run, []).append(index)
        for run in sorted(by_run):
            self._number_names(run, by_run[run])
        left = [entry for entry in self.job.fittings if not self._match(entry, found)]
        for entry in left:
            self._add_entry(entry)
        self._say_beside()
        for run, caution in number_cautions(self.result.claims, [p.name for p in self.paths]):
            self.result.findings[run].append(caution)
        for (run, _), left_out in self.far.items():
            self._say_far(run, left_out)
        return self.result

    def _end_near(
        self, run: int, point: Vector, extents_m: Extents | None, by_symbol: bool
    ) -> tuple[int | None, float]:
        """Return the end of a run within snap of a point, and how far away it is.

        A symbol drawn over the end counts too; within snap of it where the fitting stands there
        by its symbol.
        """
        line = self.readings[run].centerline
        away = [distance(point, line.start_m), distance(point, line.end_m)]
        end = START if away[START] <= away[END] else END
        if away[end] <= self.snap_m and not by_symbol:
            return end, away[end]
        if extents_m is not None:
            edge = [extents_distance(p, extents_m) for p in (line.start_m, line.end_m)]
            side = START if edge[START] <= edge[END] else END
            if edge[side] <= (self.snap_m if by_symbol else TOUCHING_M):
                return side, edge[side]
        return None, away[end]

    def _add_found(self, fitting: FoundFitting) -> None:
        if fitting.path is not None and fitting.vertex is not None:
            last = len(self.paths[fitting.path].path.edges)
            end = {0: START, last: END}.get(fitting.vertex)
            self.result.claims.append(
                Claim(
                    fitting.name,
                    fitting.kind,
                    fitting.path,
                    fitting.where,
                    fitting.position_m,
                    fitting.vertex,
                    end=end,
                    numbered=fitting.numbered,
                )
            )
            return
        runs = self.reaches.beside(fitting) if fitting.path is None else [fitting.path]
        if len(runs):
            self._add_point(drawn_claim(fitting, 0), runs)

    def _add_point(self, claim: Claim, runs: Sequence[int] | Integers) -> None:
        """Put a fitting on the nearest of some runs, or say that it is too far away."""
        point = claim.point_m
        assert point is not None
        ranked = self.reaches.nearest(point, runs)
        run, away = ranked[0]
        if away > self.snap_m and claim.extents_m is not None:
            edge, ranked = self.reaches.nearest_to_symbol(claim.extents_m, runs, self.snap_m)
            if edge > self.snap_m:
                self._leave_out(claim, run, away)
                return
            claim = replace(claim, by_symbol=True)
        elif away > self.snap_m:
            self._leave_out(claim, run, away)
            return
        for run in self._runs_of(claim, ranked):
            self._claim_on(claim, run)

    def _claim_on(self, claim: Claim, run: int) -> None:
        """Put a fitting on a run that it is near."""
        point = claim.point_m
        assert point is not None
        end, end_away = self._end_near(run, point, claim.extents_m, claim.by_symbol)
        claim = replace(claim, run=run, end=end, away_m=end_away)
        if claim.by_symbol and claim.extents_m is not None:
            self._say_by_symbol(claim, self.reaches.of_run[run].symbol_distance_m(claim.extents_m))
        elif self.snap_m > OWN_REACH_M:
            self._say_off_line(claim)
        self.result.claims.append(claim)

    def _runs_of(self, claim: Claim, ranked: Sequence[tuple[int, float]]) -> list[int]:
        """Return on which of the runs about as near a fitting stands; say what is in doubt.

        A run that ends there does not count: its end is named by the fitting in any case. What the
        job asks for one run decides only between runs that the fitting is merely near; it takes a
        fitting from no run that passes through it.
        """
        assert claim.point_m is not None
        passing = [
            (run, away)
            for run, away in ranked
            if self._end_near(run, claim.point_m, claim.extents_m, claim.by_symbol)[0] is None
        ]
        first, least = ranked[0]
        if len(passing) < 2:
            is_first = passing and passing[0][1] <= max(_ALIKE * least, TOUCHING_M)
            return [passing[0][0] if is_first else first]
        on_line = [run for run, away in passing if away <= TOUCHING_M]
        if on_line:
            return on_line
        asked = [run for run, _ in passing if self._is_asked_for(claim.name, run)]
        if asked:
            return asked
        (nearest, away), (_, next_away) = passing[:2]
        is_alike = next_away <= _ALIKE * away
        for run, _ in passing:
            others = [
                f"{self._small(off)} from {self.paths[r].name}" for r, off in passing if r != run
            ]
            mine = next(off for r, off in passing if r == run)
            taken = (
                "it counts on none of them"
                if is_alike
                else f"it counts on {self.paths[nearest].name}, the nearer one"
            )
            text = (
                f"{claim.name} stands between runs, {self._small(mine)} from this one and "
                f"{' and '.join(others)}: {taken}. Move it onto its run, or say so in "
                f'[[fittings]] with name = "{claim.name}" and run = "{self.paths[run].name}"'
            )
            self._say(run, "fitting-between", Severity.CAUTION, text, claim.where, (claim.name,))
        if is_alike:
            self.unused_names.add(run_name_key(claim.name))
        return [] if is_alike else [nearest]

    def _is_asked_for(self, name: str, run: int) -> bool:
        """Whether the job names a fitting together with a run."""
        return any(
            entry.run is not None
            and run in self.asked[entry]
            and run_name_key(entry.name) == run_name_key(name)
            for entry in self.job.fittings
        )

    def _say_by_symbol(self, claim: Claim, edge_m: float) -> None:
        assert claim.point_m is not None
        run = claim.run
        drawn = (
            "is drawn on the line"
            if edge_m <= TOUCHING_M
            else f"is drawn {self._small(edge_m)} from it"
        )
        away = self.reaches.of_run[run].distance_m(claim.point_m)
        place = f"is the run's {END_NAMES[claim.end]}" if claim.end is not None else ""
        place = place or "stands where the middle of the symbol is"
        text = (
            f"{claim.name} is inserted {self._small(away)} from {self.paths[run].name}, more than "
            f"the {self._small(self.snap_m)} allowed, but its symbol {drawn}: the symbol was "
            f"measured, and the fitting {place}"
        )
        self._say(run, "fitting-by-symbol", Severity.NOTE, text, claim.where, (claim.name,))

    def _say_off_line(self, claim: Claim) -> None:
        """Say where a wide snap puts a fitting that is not drawn at the line."""
        assert claim.point_m is not None
        run = claim.run
        away_m = self.reaches.of_run[run].distance_m(claim.point_m)
        if away_m <= OWN_REACH_M:
            return
        text = (
            f"{claim.name} stands {self._small(away_m)} from {self.paths[run].name} and is placed "
            f"on it, as the snap of {self._small(self.snap_m)} under [drawing] allows: check that "
            "this is its run"
        )
        self._say(run, "fitting-off-line", Severity.NOTE, text, claim.where, (claim.name,))

    def _leave_out(self, claim: Claim, run: int, away_m: float) -> None:
        """Keep in mind that a fitting stands too far from the run nearest to it."""
        self.unused_names.add(run_name_key(claim.name))
        self.far.setdefault((run, claim.where), []).append((claim, away_m))

    def _say_far(self, run: int, left_out: Sequence[tuple[Claim, float]]) -> None:
        """Say what is left out, copies that one block reference draws in rows and columns once."""
        name, allowed = self.paths[run].name, self._small(self.snap_m)
        claim, away_m = left_out[0]
        if len(left_out) > 1:
            distances_m = [away for _, away in left_out]
            text = (
                f"{len(left_out):,} copies drawn by one block reference, {claim.name} to "
                f"{left_out[-1][0].name}, stand {self._small(min(distances_m))} to "
                f"{self._small(max(distances_m))} from {name}, more than the {allowed} allowed, "
                "and are left out. Move those onto the line that belong there, or raise snap "
                "under [drawing]"
            )
            self._say(run, "fitting-far", Severity.CAUTION, text, claim.where)
            return
        assert claim.point_m is not None
        station = self.readings[run].centerline.nearest_station(claim.point_m)[0]
        symbol = ""
        if claim.extents_m is not None:
            edge_m = self.reaches.of_run[run].symbol_distance_m(claim.extents_m)
            symbol = f" (its symbol {self._small(edge_m)})"
        text = (
            f"{claim.name} stands {self._small(away_m)}{symbol} from {name} at "
            f"{show_length(station, self.job.units)}, more than the {allowed} "
            "allowed, and is left out. Move it onto the line, or raise snap under [drawing]"
        )
        self._say(run, "fitting-far", Severity.CAUTION, text, claim.where)

    def _share_ends(self, found: Sequence[FoundFitting]) -> None:
        """Let a fitting that stands at ends of several runs name them all; say what passes by."""
        taken = {(claim.run, claim.end) for claim in self.result.claims if claim.end is not None}
        own = {(claim.run, claim.point_m) for claim in self.result.claims}
        shared: dict[tuple[int, int], Claim] = {}
        for fitting in found:
            if fitting.path is not None:
                continue
            for run, away, by_symbol in self.reaches.within(fitting, self.snap_m):
                if (run, fitting.position_m) in own:
                    continue
                end, end_away = self._end_near(
                    run, fitting.position_m, fitting.extents_m, by_symbol
                )
                if end is None:
                    if not by_symbol or away <= TOUCHING_M:
                        self.beside.append((fitting, run, away, by_symbol))
                elif (run, end) not in taken:
                    claim = replace(
                        drawn_claim(fitting, run), end=end, away_m=end_away, by_symbol=by_symbol
                    )
                    other = shared.setdefault((run, end), claim)
                    if end_away < other.away_m:
                        shared[(run, end)] = claim
        for claim in shared.values():
            if claim.by_symbol:
                self._say_by_symbol(claim, claim.away_m)
        self.result.claims.extend(shared.values())

    def _say_beside(self) -> None:
        """Tell the runs that pass a fitting by which stands on another, once the job is heard."""
        taken = {(claim.run, claim.point_m) for claim in self.result.claims}
        points = {point for _, point in taken}
        for fitting, run, away_m, by_symbol in self.beside:
            point = fitting.position_m
            if (run, point) in taken or point not in points:
                continue
            beside = (
                "is drawn across this one too"
                if by_symbol
                else f"{self._small(away_m)} from this one"
            )
            text = (
                f"{fitting.name} stands on another run and {beside}, which passes it by. If it "
                f'stands on both, add it to [[fittings]] with name = "{fitting.name}" and '
                f'run = "{self.paths[run].name}"'
            )
            self._say(run, "fitting-beside", Severity.NOTE, text, fitting.where)

    def _number_names(self, run: int, claims: Sequence[int]) -> None:
        """Give fittings of one name on a run a number each; `claims` are those of the run."""
        groups: dict[str, list[int]] = {}
        for index in claims:
            groups.setdefault(run_name_key(self.result.claims[index].name), []).append(index)
        used = set(groups)
        for folded, members in groups.items():
            if len(members) == 1:
                continue
            members.sort(key=lambda index: self._rough_station(self.result.claims[index]))
            number = 0
            for index in members:
                old = self.result.claims[index].name
                number += 1
                while run_name_key(f"{old} {number}") in used:
                    number += 1
                new = f"{old} {number}"
                claim = replace(self.result.claims[index], name=new, numbered=old)
                self.result.claims[index] = claim
                self.renamed.setdefault(folded, []).append(new)
            names = sentence_list(self.renamed[folded][-len(members) :])
            text = f"{len(members)} fittings are called {old}: along the run they are now {names}"
            self._say(run, "name-repeated", Severity.NOTE, text)

    def _rough_station(self, claim: Claim) -> float:
        reading = self.readings[claim.run]
        if claim.vertex is not None:
            return reading.vertex_station_m[claim.vertex]
        assert claim.place_m is not None
        return reading.centerline.nearest_station(claim.place_m)[0]

    def _match(self, entry: FittingEntry, found: Sequence[FoundFitting]) -> bool:
        """Give the settings of an entry to the drawn fittings of its name; False if none is."""
        runs = self.asked[entry]
        folded = run_name_key(entry.name)
        matches = [
            index
            for index, claim in enumerate(self.result.claims)
            if claim.entry is None and run_name_key(claim.name) == folded and claim.run in runs
        ]
        placed = entry.at_m is not None or entry.position_m is not None
        if not matches:
            return not placed and self._match_beside(entry, runs, found)
        if placed:
            raise JobError(
                f"{told_entry(entry, self.job)} has a place in the job, but a fitting of that name "
                f"is drawn ({self.result.claims[matches[0]].where}): leave out at and position to "
                "set it, or choose another name"
            )
        for index in matches:
            old = self.result.claims[index]
            self.result.claims[index] = replace(old, entry=entry, kind=entry.kind or old.kind)
        self._say_several(entry, [self.result.claims[index] for index in matches])
        return True

    def _say_several(self, entry: FittingEntry, matches: Sequence[Claim]) -> None:
        """Note that an entry sets different fittings of one name."""
        if len({claim.point_m for claim in matches}) < 2:
            return
        names = sentence_list(self.paths[claim.run].name for claim in matches)
        for claim in matches:
            text = f"{entry_place(entry)} sets {claim.name} on the runs {names}: add run to set one"
            self._say(claim.run, "entry-on-several-runs", Severity.NOTE, text, claim.where)

    def _match_beside(
        self, entry: FittingEntry, runs: Sequence[int], found: Sequence[FoundFitting]
    ) -> bool:
        """Put a drawn fitting that the job calls for on a second run; True if it is dealt with."""
        folded = run_name_key(entry.name)
        if entry.run is not None:
            for fitting in found:
                if run_name_key(fitting.name) != folded:
                    continue
                if any(run == runs[0] for run, _, _ in self.reaches.within(fitting, self.snap_m)):
                    kind = entry.kind or fitting.kind
                    claim = replace(drawn_claim(fitting, runs[0]), kind=kind, entry=entry)
                    self._add_point(claim, runs)
                    return True
        return folded in self.unused_names

    def _add_entry(self, entry: FittingEntry) -> None:
        """Place an entry that names no drawn fitting."""
        runs = self.asked[entry]
        where = entry_place(entry)
        claim = Claim(entry.name, entry.kind, runs[0], where, entry=entry)
        if entry.position_m is not None:
            self._add_point(replace(claim, point_m=entry.position_m), runs)
            return
        if entry.at_m is not None:
            if len(runs) > 1:
                names = sentence_list(path.name for path in self.paths)
                raise JobError(
                    f"{told_entry(entry, self.job)} has a station but no run: add run, one of "
                    f"{names}"
                )
            self.result.claims.append(replace(claim, at_m=entry.at_m))
            return
        if run_name_key(entry.name) in END_NAMES:
            self._set_end(entry, runs)
            return
        raise ElsewhereError(self._unknown_name(entry), entry)

    def _set_end(self, entry: FittingEntry, runs: Sequence[int]) -> None:
        end = END_NAMES.index(run_name_key(entry.name))
        named = {p.run: p.name for p in self.result.claims if p.end == end}
        unnamed = [run for run in runs if run not in named]
        if not unnamed:
            message = named_end_message(entry, [named[run] for run in runs])
            raise JobError(self.job.at_entry(entry) + message)
        for run in unnamed:
            self.result.end_entries[(run, end)] = entry

    def _unknown_name(self, entry: FittingEntry) -> str:
        place = told_entry(entry, self.job)
        numbered = self.renamed.get(run_name_key(entry.name))
        if numbered:
            return f"{place} could be any of {sentence_list(numbered)}: use one of these names"
        known = list(dict.fromkeys([p.name for p in self.result.claims] + list(END_NAMES)))
        close = nearest_name(entry.name, known)
        hint = f'Did you mean "{close}"? ' if close else ""
        return (
            f"{place}: no fitting of that name is drawn, and the entry has no place. {hint}Known "
            f"are {sentence_list(known)}; a new fitting needs at or position"
        )

    def _say(
        self,
        run: int,
        code: str,
        severity: Severity,
        message: str,
        where: str = "",
        fittings: tuple[str, ...] = (),
    ) -> None:
        name = self.paths[run].name
        place = f"run {name}, {where}" if where else f"run {name}"
        self.result.findings[run].append(Finding(code, severity, message, place, fittings=fittings))

    def _small(self, length_m: float) -> str:
        return show_radius(length_m, self.job.units)
