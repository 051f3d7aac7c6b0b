"""Many runs in one scene: every run in the color of its share of limit, worst first."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.checks.run_checks import count_not_checked
from analyzer.findings import Severity, Verdict
from analyzer.geometry.segments import Arc
from analyzer.job.settings import Job
from analyzer.pulling.results import Direction
from analyzer.reports.check_words import count_cautions
from analyzer.units import show_length, show_share
from viewer.cases import pulled_one_way
from viewer.ground import floor_under
from viewer.palette import Theme, rgb, share_colors
from viewer.quantities import ColorScale, Quantity
from viewer.shown_values import times
from viewer.wording import LISTED

__all__ = [
    "ManyScene",
    "RunRow",
    "build_many",
    "many_headline",
    "many_subline",
    "row_words",
    "way_words",
]

Floats = NDArray[np.float64]

_ARC_STEP_DEG = 15.0
_WAYS = {"forward": "forward", "reverse": "in reverse"}


@dataclass(frozen=True, slots=True)
class RunRow:
    """One run in the list and in the picture.

    Attributes
    ----------
    name : str
        Its name.
    verdict : Verdict
        Of the run with each leg in the direction shown.
    better : Verdict
        As its analysis says: each leg in its better direction.
    share : float or None
        Largest share of any limit, each leg in the direction shown; None where nothing could be
        checked.
    governs : str
        Name of the limit it is the share of; empty where there is none.
    fails : tuple of str
        What fails in the direction shown, in plain words.
    not_checked : int
        Checks that were not made: their number stands beside the verdict.
    cautions : int
        Cautions that the verdict counts.
    length_m : float
        Length. [m]
    points_m, tangents : (n, 3) float
        Samples of the centerline and unit tangents. [m]
    """

    name: str
    verdict: Verdict
    better: Verdict
    share: float | None
    governs: str
    fails: tuple[str, ...]
    not_checked: int
    cautions: int
    length_m: float
    points_m: Floats
    tangents: Floats

    def color(self, theme: Theme) -> Floats:
        """Return its color, shape (3,): neutral where nothing could be checked."""
        if self.share is None:
            return rgb(theme.unchecked)
        return np.asarray(share_colors([self.share])[0])


@dataclass(frozen=True, slots=True)
class ManyScene:
    """All runs of a route, worst first; `floor_m` and `grid_m` as in a scene of one run. [m]

    `direction` is the way all legs are shown pulled: ``forward``, ``reverse`` or ``better``.
    """

    rows: tuple[RunRow, ...]
    job: Job
    floor_m: float
    grid_m: float
    direction: str = "better"

    @property
    def scale(self) -> ColorScale:
        """Scale of the colors: the share of the limit that governs."""
        return ColorScale(Quantity.SHARE, 1.0, "", 0.0, 1.0)

    @property
    def points_m(self) -> Floats:
        """Samples of all runs, a row of NaN between two, shape (n, 3). [m]"""
        gap = np.full((1, 3), np.nan)
        return np.concatenate([part for row in self.rows for part in (row.points_m, gap)][:-1])


def build_many(analysis: Analysis, direction: str = "better") -> ManyScene:
    """Return the scene of all runs, worst first.

    Worst is a verdict of fail, then runs of which nothing could be checked, then the larger share
    of limit, all with the legs pulled in that direction; of equals the first in the route.
    """
    rows = [_row(analysis, item, direction) for item in analysis.runs]
    rows.sort(key=_order)
    points = np.concatenate([row.points_m for row in rows])
    floor_m, grid_m = floor_under(points, analysis.job.units)
    return ManyScene(tuple(rows), analysis.job, floor_m, grid_m, direction)


def _order(row: RunRow) -> tuple[bool, bool, float]:
    share = np.inf if row.share is None else row.share
    return row.verdict is not Verdict.FAIL, row.share is not None, -share


def _row(analysis: Analysis, judged: RunAnalysis, direction: str) -> RunRow:
    share, governs = None, ""
    for leg in judged.legs:
        ways = {"better": leg.best, "forward": leg.forward, "reverse": leg.reverse}
        found = ways[direction].governing
        if found is not None and (share is None or found.share > share):
            share, governs = found.share, found.name
    item = judged
    if direction != "better":
        item = pulled_one_way(analysis, judged, Direction(direction))
    fails = [c.code for c in item.checks if c.verdict is Verdict.FAIL and c.counts]
    fails += [finding.code for finding in item.findings if finding.severity is Severity.ERROR]
    points, tangents = _samples(item)
    return RunRow(
        name=item.run.name,
        verdict=item.verdict,
        better=judged.verdict,
        share=share,
        governs=governs,
        fails=tuple(dict.fromkeys(code.replace("-", " ") for code in fails)),
        not_checked=count_not_checked(item.checks),
        cautions=count_cautions(item, analysis.job),
        length_m=item.run.centerline.length_m,
        points_m=points,
        tangents=tangents,
    )


def _samples(item: RunAnalysis) -> tuple[Floats, Floats]:
    line = item.run.centerline
    found = [np.array([0.0])]
    for start, end, segment in zip(
        line.stations_m[:-1], line.stations_m[1:], line.segments, strict=True
    ):
        count = 1
        if isinstance(segment, Arc):
            count = max(1, int(np.ceil(np.degrees(segment.angle_rad) / _ARC_STEP_DEG)))
        found.append(np.linspace(start, end, count + 1)[1:])
    stations = np.concatenate(found)
    inner = np.clip(stations, 1e-7, line.length_m - 1e-7)
    return line.points_at(stations), line.tangents_at(inner)


def many_headline(scene: ManyScene) -> str:
    """Return the finding on all runs in one sentence, with the way they are pulled if chosen."""
    text = _finding(scene)
    if scene.direction == "better":
        return text
    return f"Pulled {_WAYS[scene.direction]}, {text[0].lower()}{text[1:]}"


def _finding(scene: ManyScene) -> str:
    failed = [row for row in scene.rows if row.verdict is Verdict.FAIL]
    total = len(scene.rows)
    shares = [row.share for row in scene.rows if row.share is not None]
    most = max(shares, default=None)
    if failed:
        count = f"{len(failed)} of {total} runs fail"
        if len(failed) == total:
            count = f"All {total} runs fail"
        elif len(failed) == 1:
            count = f"1 of {total} runs fails"
        if most is not None and most > 1.0:
            return f"{count}; the worst takes {times(most)} times its limit"
        return count
    if most is None:
        return f"No limit of any of the {total} runs could be checked"
    unknown = total - len(shares)
    rest = f"; {unknown} could not be checked" if unknown else ""
    partly = sum(row.verdict is Verdict.NOT_CHECKED and row.share is not None for row in scene.rows)
    rest += f"; {partly} only in part" if partly and unknown else ""
    rest += f"; {partly} could be checked only in part" if partly and not unknown else ""
    return f"No run of {total} fails; the worst takes {show_share(most)} of its limit{rest}"


def many_subline(scene: ManyScene) -> str:
    """Return the line below the headline: what the runs are, and how many have which verdict."""
    told = _counted_verdicts([row.verdict for row in scene.rows])
    way = "" if scene.direction == "better" else f" pulled {_WAYS[scene.direction]}"
    length = show_length(sum(row.length_m for row in scene.rows), scene.job.units)
    lead = f"{scene.job.title} · " if scene.job.title else ""
    line = f"{lead}{len(scene.rows)} runs, {length} together · verdicts{way}: {told}"
    open_checks = _in_each([row.not_checked for row in scene.rows])
    if open_checks:
        line += f" · checks not made: {open_checks}"
    cautions = _in_each([row.cautions for row in scene.rows])
    return f"{line} · cautions: {cautions}, {LISTED}" if cautions else line


def way_words(scene: ManyScene) -> tuple[str, str]:
    """Return which way the legs are shown pulled, and the verdicts of the better ways behind it.

    The second is empty where those are shown.
    """
    if scene.direction == "better":
        return "each leg in its better direction", ""
    ends = ("first", "last") if scene.direction == "forward" else ("last", "first")
    told = _counted_verdicts([row.better for row in scene.rows])
    return (
        f"every leg pulled {_WAYS[scene.direction]}, from the {ends[0]} point of its run toward "
        f"the {ends[1]}",
        f"Verdicts hold for the way shown; each leg pulled its better way: {told}.",
    )


def _counted_verdicts(verdicts: list[Verdict]) -> str:
    """Return how many there are of each verdict: ``1 fail, 2 caution``."""
    counts = Counter(verdicts)
    return ", ".join(f"{counts[verdict]} {verdict.value}" for verdict in Verdict if counts[verdict])


def _in_each(counts: list[int]) -> str:
    """Return the least and the most of counts, such as ``0 to 3 in each run``; empty if all 0."""
    low, high = min(counts), max(counts)
    if not high:
        return ""
    return f"{high if low == high else f'{low} to {high}'} in each run"


def row_words(row: RunRow) -> tuple[str, str]:
    """Return the share of a run and what is behind it, for the list."""
    share = "not checked" if row.share is None else show_share(row.share)
    missing = f", {row.not_checked} not checked" if row.not_checked else ""
    if row.verdict is Verdict.FAIL and row.fails:
        extra = f" and {len(row.fails) - 1} more" if len(row.fails) > 1 else ""
        return share, f"fail: {row.fails[0]}{extra}{missing}"
    nearest = f" · nearest limit: {row.governs}" if row.governs else ""
    return share, f"{row.verdict.value}{missing}{nearest}"
