"""Which run a text beside a line names, and what is doubtful about it.

A text stands where it is inserted: at the foot, middle or top of its letters, left or right of
them. So a text at nearly the same distance of two runs does not say which of them it names.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import dist, inf

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.drawn import DrawnEdge
from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.chaining.chains import Chain
from analyzer.importers.distinct_names import distinct_names
from analyzer.importers.drawings.drawn_texts import DrawnText
from analyzer.importers.drawings.label_matches import matched_labels
from analyzer.importers.drawings.run_names import run_names
from analyzer.importers.near_points import COINCIDENT_M
from analyzer.importers.numbering_order import numbering_order
from analyzer.importers.told_places import UnitText
from analyzer.job.words import sentence_list
from analyzer.units import LengthUnit

__all__ = ["ABOUT_AS_NEAR", "RunLabels", "labeled_runs"]

ABOUT_AS_NEAR = 1.5
"""Two runs are about as near to a label where one is at most this many times as far as the other.

Between two parallel runs that is the middle fifth of the space: the eye does not tell a label
there from one in the middle.
"""

_REACH_HEIGHTS = 4.0  # a label stands within a few letters of its line (common practice)
_ALIKE = (
    0.01  # totals that differ by a smaller share of the distance are one: both are drawn by eye
)


@dataclass(frozen=True, slots=True)
class RunLabels:
    """Names that texts give to runs, by index of the run; all names as people will see them.

    `findings` say what was done with each text.
    """

    texts: dict[int, str]
    shown: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(slots=True)
class _Label:
    """A text beside runs: how far away all runs are, in space and seen from above. [m]

    `near` are the runs about as near as the nearest within reach: in space, or `from_above` where
    none is. `doubt` is the run that stands nearer or as near seen from above. `instead` are the
    labels that took its runs, `rivals` those that stand about as near to them, `letters_m` how far
    words of one label stand apart at most.
    """

    text: DrawnText
    at_m: Vector
    away_m: Floats
    plan_m: Floats
    foot_z_m: Floats
    reach_m: float
    letters_m: float
    near: tuple[int, ...]
    from_above: bool
    run: int | None = None
    is_tied: bool = False
    doubt: int | None = None
    instead: list[_Label] = field(default_factory=list)
    rivals: list[_Label] = field(default_factory=list)

    @property
    def words(self) -> str:
        return self.text.text

    @property
    def off_m(self) -> Floats:
        """How far away all runs are, as they are compared. [m]"""
        return self.plan_m if self.from_above else self.away_m

    def is_level_with(self, run: int) -> bool:
        """Whether it stands within its own height of how high a run is there."""
        letter_m = self.reach_m / _REACH_HEIGHTS
        return abs(self.at_m[2] - float(self.foot_z_m[run])) <= letter_m

    @property
    def is_raised(self) -> bool:
        """Whether it was put at the height of its run on purpose: level with it, not at zero."""
        return (
            self.run is not None
            and abs(self.at_m[2]) > COINCIDENT_M
            and self.is_level_with(self.run)
        )


def labeled_runs(
    chains: Sequence[Chain], texts: Sequence[DrawnText], unit: LengthUnit, snap_m: float, stem: str
) -> RunLabels:
    """Return which texts name which runs.

    A text names the nearest run if it stands within four of its own heights or the snap distance
    of it, whichever is more; a run takes the nearest of its texts. Another name about as near is a
    caution, and so is one beside another piece of it, since runs that meet end to end are joined.
    Where a text is about as near to several runs, labels and runs are matched one to one by the
    least total distance, and that is a caution; a text that could as well name another run names
    none. A caution too where only the height of a text tells its run, unless a text at the height
    of the other names that.

    A text with no run within reach in space, as texts of a plan at elevation zero stand below
    theirs, names the nearest within reach seen from above, if no text near it in space does; where
    others are about as near it names none, and that is a caution. So is a run named from above by a
    text at another elevation than zero, since that may be the height of what it names. A text
    names runs of its own layout only.

    Parameters
    ----------
    chains : sequence of Chain
        Runs. [m]
    texts : sequence of DrawnText
        In drawing units.
    unit : LengthUnit
        Unit of the drawing.
    snap_m : float
        Snap distance of the job. [m]
    stem : str
        Name of the file, for runs that nothing names.
    """
    labels = _labels(chains, texts, float(unit.factor), snap_m) if chains and texts else []
    _match([label for label in labels if label.near and not label.from_above])
    named_labels = [label for label in labels if label.run is not None]
    settled = [label.run for label in labels if label.run is not None and label.is_raised]
    for label in named_labels:
        _compare_from_above(label, settled)
    _match_from_above([label for label in labels if label.near and label.from_above], named_labels)
    _find_rivals(labels)
    named = {label.run: label.words for label in labels if label.run is not None}
    paths = run_names(chains, named)
    shown = tuple(distinct_names([path.name for path in paths], stem, numbering_order(paths)))
    writer = _Writer(chains, shown, UnitText(unit))
    return RunLabels(named, shown, tuple(writer.finding(label) for label in labels))


# --- distances ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Lines:
    """The outlines of all runs as straight pieces, run by run. [m]"""

    start: Floats
    way: Floats
    first: list[int] = field(default_factory=list)

    def away(self, p: Vector, axes: int) -> tuple[Floats, Floats]:
        """Return how far each run is, counted along so many axes, and its height there. [m]"""
        way, start = self.way[:, :axes], self.start[:, :axes]
        square = np.maximum((way * way).sum(axis=1), 1e-300)
        share = np.clip(((np.asarray(p)[:axes] - start) * way).sum(axis=1) / square, 0.0, 1.0)
        off = np.linalg.norm(start + share[:, None] * way - np.asarray(p)[:axes], axis=1)
        height = self.start[:, 2] + share * self.way[:, 2]
        bounds = [*self.first, len(off)]
        nearest = [low + int(np.argmin(off[low:high])) for low, high in pairwise(bounds)]
        return off[nearest], height[nearest]


def _outline(edges: Sequence[DrawnEdge]) -> Floats:
    """Points along edges, arcs at eight places."""
    rows = [np.asarray(edges[0].segment.start_m)[None, :]]
    for edge in edges:
        segment = edge.segment
        count = 8 if hasattr(segment, "center_m") else 1
        rows.append(segment.points_at([segment.length_m * (i + 1) / count for i in range(count)]))
    return np.concatenate(rows)


def _lines(outlines: Sequence[Floats]) -> _Lines:
    starts = np.concatenate([outline[:-1] for outline in outlines])
    ways = np.concatenate([np.diff(outline, axis=0) for outline in outlines])
    counts = np.cumsum([0, *(len(outline) - 1 for outline in outlines)])[:-1]
    return _Lines(starts, ways, counts.tolist())


def _labels(
    chains: Sequence[Chain], texts: Sequence[DrawnText], factor: float, snap_m: float
) -> list[_Label]:
    lines = _lines([_outline(chain.path.edges) for chain in chains])
    labels = []
    for text in texts:
        x, y, z = text.position
        at = (x * factor, y * factor, z * factor)
        away, foot_z = lines.away(at, 3)
        plan, _ = lines.away(at, 2)
        elsewhere = [chain.layout != text.layout for chain in chains]
        away, plan = np.where(elsewhere, inf, away), np.where(elsewhere, inf, plan)
        letters = _REACH_HEIGHTS * text.height * factor
        reach = max(snap_m, letters)
        near = _about_as_near(away, reach)
        near_above = () if near else _about_as_near(plan, reach)
        labels.append(
            _Label(
                *(text, at, away, plan, foot_z, reach, letters),
                near or near_above,
                bool(near_above),
            )
        )
    return labels


def _about_as_near(away_m: Floats, reach_m: float) -> tuple[int, ...]:
    """Return the runs about as near as the nearest, none where that is out of reach."""
    least = float(away_m.min())
    limit = min(reach_m, max(ABOUT_AS_NEAR * least, least + COINCIDENT_M))
    return tuple(np.flatnonzero(away_m <= limit).tolist()) if least <= reach_m else ()


# --- which run ---------------------------------------------------------------------------------


def _match(labels: Sequence[_Label]) -> None:
    """Give each label its run; labels of the same words about the same runs count as one."""
    clear = {(label.words, label.near[0]) for label in labels if len(label.near) == 1}
    groups: dict[tuple[str, tuple[int, ...]], list[_Label]] = defaultdict(list)
    for label in labels:
        known = [run for run in label.near if (label.words, run) in clear]
        # a name said a second time, between the run it names and another, is no doubt
        runs = tuple(known) if len(known) == 1 else label.near
        label.is_tied = len(runs) > 1
        groups[label.words, runs].append(label)
    ordered = sorted(groups.items(), key=lambda item: item[0][0])
    distances = [
        {run: min(float(label.away_m[run]) for label in group) for run in runs}
        for (_, runs), group in ordered
    ]
    matches = matched_labels(distances)
    winners: dict[int, _Label] = {}
    for ((_, _), group), match in zip(ordered, matches, strict=True):
        run = match.run
        if run is not None:
            winners[run] = min(group, key=lambda label: (float(label.away_m[run]), label.at_m))
    for ((_, runs), group), match, away in zip(ordered, matches, distances, strict=True):
        run = match.run
        if run is not None and len(runs) > 1 and match.excess_m <= _alike_m(away[run]):
            continue
        for label in group:
            label.instead = [winners[run] for run in runs if run in winners]
        if run is not None:
            winners[run].run = run


def _alike_m(away_m: float) -> float:
    return max(_ALIKE * away_m, COINCIDENT_M)


def _match_from_above(labels: Sequence[_Label], named: Sequence[_Label]) -> None:
    """Give labels that no run is near in space the only run near from above, if it has no name.

    Words that name a run already, said again beside it and others, are no doubt.
    """
    taken = {label.run: label for label in named if label.run is not None}
    clear = {(label.words, label.near[0]) for label in labels if len(label.near) == 1}
    clear |= {(label.words, run) for run, label in taken.items()}
    known = [
        [run for run in label.near if (label.words, run) in clear] or [*label.near]
        for label in labels
    ]
    for label, (run, *others) in zip(labels, known, strict=True):
        if others or (run in taken and not taken[run].from_above):
            continue
        best = taken.get(run, label)
        taken[run] = min(best, label, key=lambda one: (float(one.plan_m[run]), one.words, one.at_m))
    for label, runs in zip(labels, known, strict=True):
        if len(runs) == 1 and taken[runs[0]] is label:
            label.run = runs[0]
        elif all(run in taken for run in runs):
            label.instead = [taken[run] for run in runs]


def _compare_from_above(label: _Label, settled: Sequence[int]) -> None:
    """Doubt a label that seen from above stands as near to another run; nearer, it names none.

    A label drawn at the height of its run, other than zero, was put there on purpose; the runs
    settled by such labels are no others.
    """
    run = label.run
    if run is None or label.is_raised:
        return
    plan = label.plan_m.copy()
    plan[[*label.near, *settled]] = inf
    other = int(np.argmin(plan))
    if plan[other] > label.plan_m[run] + COINCIDENT_M:
        return
    label.doubt = other
    if label.plan_m[run] > ABOUT_AS_NEAR * plan[other] + COINCIDENT_M:
        label.run = None


def _find_rivals(labels: Sequence[_Label]) -> None:
    """Compare labels that name no run with those that took theirs; the same words count once."""
    seen = set[tuple[str, int | None]]()
    for label in sorted(labels, key=lambda one: (float(one.off_m.min()), one.at_m)):
        for other in label.instead if label.run is None else ():
            is_known = other.run is None or (label.words, other.run) in seen
            if is_known or _is_same_name(label, other) or label.from_above != other.from_above:
                continue
            near, far = sorted(float(one.off_m[other.run]) for one in (label, other))
            if far <= max(ABOUT_AS_NEAR * near, near + COINCIDENT_M):
                seen.add((label.words, other.run))
                label.rivals.append(other)


def _is_same_name(label: _Label, other: _Label) -> bool:
    """Whether one label says what the other does, or that and more words."""
    one, two = sorted((label.words.casefold(), other.words.casefold()), key=len)
    return two.startswith(one) and not two[len(one) : len(one) + 1].isalnum()


# --- what is said ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Writer:
    chains: Sequence[Chain]
    shown: Sequence[str]
    text: UnitText

    def finding(self, label: _Label) -> Finding:
        """Say what was done with a text."""
        if not label.near:
            return self._note("run-name-too-far", self._too_far(label), label)
        nearest = min(label.near, key=lambda run: (float(label.off_m[run]), self.shown[run]))
        if label.doubt is not None:
            return self._by_height(label, nearest if label.run is None else label.run)
        if label.run is None and label.instead:
            return self._unused(label, nearest)
        if label.from_above:
            return self._from_above(label)
        if label.run is None:
            message = (
                f"the text {label.words!r} names no run, because it could as well name another: "
                f"it stands {self._runs(label, label.near)}. Move it nearer to its run"
            )
            return self._caution("run-name-between", message, label, label.near)
        away = self.text.length(float(label.away_m[label.run]))
        if not label.is_tied:
            message = f"a run is named {label.words!r} after the text {away} beside it"
            return self._note("run-named-by-text", message, label)
        others = [run for run in label.near if run != label.run]
        message = (
            f"a run is named {label.words!r} after a text {away} beside it that stands about as "
            f"near to another, {self._runs(label, others)}: labels and runs were matched one to "
            "one by the least total distance. Check the name, and move the text nearer to its run"
        )
        return self._caution("run-name-between", message, label, label.near)

    def _unused(self, label: _Label, nearest: int) -> Finding:
        """Say which texts took the runs of a label, with a caution where that is doubtful."""
        message = f"the text {label.words!r} names no run: {_instead(label, nearest)}"
        other = label.instead[0]
        if len(label.instead) > 1 or other.run is None or not self._names_another(label, other):
            return self._tied(label) or self._note("run-name-unused", message, label)
        apart = self.text.length(dist(label.at_m, other.at_m))
        message += (
            f", beside another piece of it {apart} from there: pieces that meet end to end are one "
            f"run. If {other.words!r} and {label.words!r} are two runs, put each on a layer of its "
            "own and read one at a time (layers under [drawing]), or draw the panel or equipment "
            f"that both end at; if {label.words!r} is no name of a run, put it on another layer"
        )
        return self._caution("run-name-unused", message, label, (other.run,))

    def _tied(self, label: _Label) -> Finding | None:
        told, runs = [], [other.run for other in label.rivals if other.run is not None]
        for other, run in zip(label.rivals, runs, strict=True):
            its, mine = (self.text.length(float(one.off_m[run])) for one in (other, label))
            who = f"{other.words!r} (handle {other.text.handle})"
            told.append(f"{who} stands about as near to the same run, {its} against {mine}")
        message = (
            f"the text {label.words!r} (handle {label.text.handle}) names no run: "
            f"{', and '.join(told)}, and names it. Check the name: move the text that names the "
            "run nearer to it, and put one that names none on a layer that name_layers under "
            "[drawing] leaves out"
        )
        return self._caution("run-name-unused", message, label, runs) if told else None

    def _names_another(self, label: _Label, other: _Label) -> bool:
        """Whether two labels at one run say different names beside different pieces of it."""
        if other.run is None or _is_same_name(label, other):
            return False
        curves = self.chains[other.run].curves
        if len(curves) == 1 or dist(label.at_m, other.at_m) <= label.letters_m:
            return False
        lines = _lines([_outline(curve.edges) for curve in curves])
        axes = 2 if label.from_above or other.from_above else 3
        nearest = [int(np.argmin(lines.away(at, axes)[0])) for at in (label.at_m, other.at_m)]
        return nearest[0] != nearest[1]

    def _from_above(self, label: _Label) -> Finding:
        length, code = self.text.length, "run-named-from-above"
        stands = f"stands at elevation {length(label.at_m[2])}"
        if label.run is None:
            message = (
                f"the text {label.words!r} names no run: it {stands}, where no run is near, and "
                "seen from above "
                f"{self._runs(label, label.near)}. Draw it at the height of its run, and nearer "
                "to that than to others at the same height"
            )
            return self._caution("run-name-between", message, label, label.near)
        beside = length(float(label.plan_m[label.run]))
        message = (
            f"a run is named {label.words!r} after the text {beside} beside it seen from above: "
            f"that {stands}, and in space the run is {length(float(label.away_m[label.run]))} away"
        )
        if abs(label.at_m[2]) <= COINCIDENT_M:
            return self._note(code, message, label)
        message += ". Check the name, and draw the text at the height of its run"
        return self._caution(code, message, label, (label.run,))

    def _by_height(self, label: _Label, run: int) -> Finding:
        other = label.doubt
        assert other is not None
        away = self.text.length(float(label.away_m[run]))
        above = self.text.length(float(label.plan_m[other]))
        space = self.text.length(float(label.away_m[other]))
        own = self.shown[run] if label.run is None else "this one"
        seen = (
            f"seen from above it stands {above} from {self.shown[other]} ({space} away in space) "
            f"and {self.text.length(float(label.plan_m[run]))} from {own}"
        )
        if label.run is None:
            message = (
                f"the text {label.words!r} names no run: the nearest is {self.shown[run]}, {away} "
                f"away, but {seen}"
            )
        else:
            message = (
                f"a run is named {label.words!r} after the text {away} beside it by the height of "
                f"the text alone: {seen}"
            )
        if not label.is_level_with(run):
            message += ". Draw the text at the height of its run"
        elif label.run is None:
            message += f". Move it nearer, or draw it at the height of {self.shown[other]}"
        else:
            message += (
                f". If it names {self.shown[other]}, draw it at the height of that; if not, give "
                "that a text of its own at its height"
            )
        return self._caution("run-name-by-height", message, label, (run, other))

    def _too_far(self, label: _Label) -> str:
        length = self.text.length
        if label.away_m.min() == inf:
            return f"the text {label.words!r} names no run: its layout holds none"
        return (
            f"the text {label.words!r} names no run: the nearest is "
            f"{length(float(label.away_m.min()))} away, more than {length(label.reach_m)}"
        )

    def _runs(self, label: _Label, runs: Sequence[int]) -> str:
        ordered = sorted(runs, key=lambda run: (float(label.off_m[run]), self.shown[run]))
        told = [
            f"{self.text.length(float(label.off_m[run]))} from {self.shown[run]}" for run in ordered
        ]
        return " and ".join(told)

    def _note(self, code: str, message: str, label: _Label) -> Finding:
        return Finding(code, Severity.NOTE, message, _place(label.text))

    def _caution(self, code: str, message: str, label: _Label, runs: Sequence[int]) -> Finding:
        places = [self.chains[run].path.where for run in runs]
        where = "; ".join([*places, _place(label.text)])
        handles = (curve.handle for run in runs for curve in self.chains[run].curves)
        return Finding(code, Severity.CAUTION, message, where, Concern(entities=tuple(handles)))


def _instead(label: _Label, nearest: int) -> str:
    """Say which texts took the runs of a label."""
    if len(label.instead) > 1:
        names = sentence_list(sorted(other.words for other in label.instead))
        return f"{names} name the runs it stands between"
    (other,) = label.instead
    if label.from_above and not other.from_above:
        return f"{other.words!r} stands nearer to the same run"
    away, mine = float(other.off_m[nearest]), float(label.off_m[nearest])
    how = "nearer to" if away < mine - COINCIDENT_M else "as near to"
    return f"{other.words!r} stands {how} the same run"


def _place(text: DrawnText) -> str:
    return f"layer {text.layer}, handle {text.handle}"
