"""One run as the page holds it, and the list of runs, worst first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.job.settings import Passage
from analyzer.pulling.limits import sidewall_limit
from analyzer.pulling.results import Direction
from analyzer.reports.content import content_of
from analyzer.reports.overview import overview_table, overview_text, worst_first
from analyzer.route.run import Fitting
from analyzer.studies.feeding import set_up_between
from analyzer.units import show_force, show_length, show_pressure
from viewer.cases import pulled_one_way
from viewer.page_checks import (
    CheckWords,
    passage_caution,
    standing_values,
    whole_values,
)
from viewer.page_legs import (
    MOST_LEGS,
    Basis,
    FrictionStep,
    LegKey,
    drawn_keys,
    key_text,
    keys_between,
    knots_of,
    leg_keys,
    leg_values,
    pulls_of,
)
from viewer.page_scene import scene_values
from viewer.page_series import Series
from viewer.page_units import PageUnits
from viewer.palette import Theme
from viewer.scene import Scene, build_scene
from viewer.wording import subline

__all__ = ["leg_count", "list_values", "run_values"]


def leg_count(judged: RunAnalysis) -> int:
    """Return how many legs the page holds of a run."""
    stops = tuple(fitting for fitting in judged.run.fittings if fitting.pull_point)
    keys = leg_keys(stops)
    return len(drawn_keys(stops) if keys is None else keys)


def run_values(
    analysis: Analysis,
    judged: RunAnalysis,
    theme: Theme,
    steps: Sequence[FrictionStep],
    series: Series,
    words: CheckWords,
    run_count: int = 1,
) -> dict[str, Any]:
    """Return all that the page holds of one run, as values that become JSON.

    Parameters
    ----------
    analysis : Analysis
        The analysis the run is of.
    judged : RunAnalysis
        The run.
    theme : Theme
        Neutral colors.
    steps : sequence of FrictionStep
        Frictions that are calculated.
    series, words : Series, CheckWords
        Take the rows of numbers and the sentences.
    run_count : int
        How many runs the route holds.
    """
    job = analysis.job
    units = PageUnits(job.units)
    scene = build_scene(judged, job, "better", run_count=run_count)
    stops = tuple(fitting for fitting in judged.run.fittings if fitting.pull_point)
    keys = leg_keys(stops)
    tried = None if keys is None else _passages_tried(stops)
    switched = tried is not None and len(stops) > 2
    limit = sidewall_limit(job).limit
    basis = Basis(
        judged.run, stops, job, analysis.group, tuple(steps), knots_of(judged.run),
        scene.scale.limit_n, limit, units, series, words,
    )  # fmt: skip
    used = keys if switched and keys is not None else drawn_keys(stops)
    legs = {key_text(key): leg_values(basis, key) for key in used}
    standing = standing_values(analysis, judged, stops, words)
    if switched and tried is not None:
        standing["passages_between"] = _passages_between(analysis, judged, stops, tried)
        standing["outward"] = _outward(basis)
    elif len(stops) > 2:
        standing["fixed"] = _fixed(analysis, judged)
    return {
        "name": judged.run.name,
        "subline": subline(scene),
        "length": units.length(scene.length_m),
        "knots": series.add([units.length(value) for value in basis.knots.stations_m.tolist()]),
        "fittings": [_fitting(fitting, stops, units) for fitting in judged.run.fittings],
        "stops": [
            {
                "name": stop.name,
                "through": stop.passage is Passage.THROUGH,
                "stated": stop.passage_stated,
            }
            for stop in stops
        ],
        "switched": switched,
        "switch_words": _switch_words(stops, switched),
        "ways": _ways(judged),
        "limits": _limits(scene, limit, units, legs),
        "legs": legs,
        "standing": standing,
        "facts": _facts(analysis, judged),
        "notes": _drawn_notes(scene),
        "scene": scene_values(scene, basis.knots, units, theme, series, run_count > 1),
    }


def _fitting(fitting: Fitting, stops: Sequence[Fitting], units: PageUnits) -> dict[str, Any]:
    return {
        "name": fitting.name,
        "kind": fitting.kind.value,
        "station": round(units.length(fitting.station_m), 5),
        "stop": stops.index(fitting) if fitting in stops else None,
    }


def _ways(judged: RunAnalysis) -> list[dict[str, str]]:
    first, last = judged.run.fittings[0].name, judged.run.fittings[-1].name
    return [
        {"key": "better", "text": "Each leg its better way"},
        {"key": Direction.FORWARD.value, "text": f"Toward {last}"},
        {"key": Direction.REVERSE.value, "text": f"Toward {first}"},
    ]


def _switch_words(stops: Sequence[Fitting], switched: bool) -> str:
    if switched:
        return "A box left out is no pull point: conductors pass it, degrees count on."
    return (
        f"{len(stops) - 2} boxes make more than the {MOST_LEGS} legs that a page holds (30 boxes "
        "taken out and fed again): they are not switched here."
    )


def _passages_tried(stops: Sequence[Fitting]) -> tuple[LegKey, ...] | None:
    """Legs to try where passages are not stated beside boxes stated as taken out and fed again."""
    last = len(stops) - 1
    inner = range(1, last)
    stays = [i for i in inner if stops[i].passage_stated and stops[i].passage is Passage.REFEED]
    if not stays or all(stops[i].passage_stated for i in inner):
        return ()
    keys = keys_between([0, *stays, last], [i for i in inner if i not in stays])
    if keys is None:
        return None
    # with no such box in use the whole run is tried, which is known already
    return tuple(key for key in keys if (key.feed, key.far) != (0, last))


def _passages_between(
    analysis: Analysis, judged: RunAnalysis, stops: Sequence[Fitting], keys: Sequence[LegKey]
) -> dict[str, dict[str, Any]]:
    """Return what is said of legs above a limit if passages not stated were through."""
    job = analysis.job

    def passed(fitting: Fitting) -> Fitting:
        inner = fitting in stops[1:-1]
        if not inner or fitting.passage_stated:
            return fitting
        return replace(fitting, passage=Passage.THROUGH)

    run = replace(judged.run, fittings=tuple(passed(item) for item in judged.run.fittings))
    tried = tuple(passed(stop) for stop in stops)
    found: dict[str, dict[str, Any]] = {}
    for key in keys:
        pulled = pulls_of(run, tried, key, job)
        both = (pulled.pull(Direction.FORWARD), pulled.pull(Direction.REVERSE))
        stretch = stops[key.feed : key.far + 1]
        told = passage_caution(judged, stretch, both, job, analysis.group)
        if told:
            found[key_text(key)] = {
                way.value: [pulled.pull(way).share_of_limit, *told[way.value]]
                for way in Direction
                if way.value in told
            }
    return found


def _outward(basis: Basis) -> dict[str, list[Any]]:
    """Return the pulls outward from fittings passed through, to every place of a feed."""
    stops, job = basis.stops, basis.job
    last = len(stops) - 1
    feeds = [i for i in range(last + 1) if i in (0, last) or not _is_passed(stops[i])]
    return {
        f"{feed}-{far}": whole_values(
            set_up_between(basis.run, job, stops[feed], stops[far]).pull, job, basis.words
        )
        for feed in range(1, last)
        if _is_passed(stops[feed])
        for far in feeds
    }


def _is_passed(stop: Fitting) -> bool:
    return stop.passage is Passage.THROUGH


def _fixed(analysis: Analysis, judged: RunAnalysis) -> dict[str, Any]:
    """Return what is said of the run as drawn, each way, where its boxes cannot be switched."""
    ways = {way.value: pulled_one_way(analysis, judged, way) for way in Direction}
    return {name: _said(analysis, run) for name, run in {"better": judged, **ways}.items()}


def _said(analysis: Analysis, judged: RunAnalysis) -> dict[str, Any]:
    """Return the verdict and sentences of a run."""
    content = content_of(replace(analysis, runs=(judged,))).runs[0]
    return {
        "verdict": judged.verdict.value,
        "text": content.verdict_text,
        "failing": list(content.failing),
        "cautions": list(content.cautions),
        "not_checked": list(content.not_checked),
        "notes": list(content.notes),
    }


def _limits(
    scene: Scene, sidewall: float | None, units: PageUnits, legs: dict[str, Any]
) -> dict[str, Any]:
    """Limits of the colors; where none is known, the greatest value that can be shown."""
    top = max(
        figure["tension"]["value"]
        for leg in legs.values()
        for way in Direction
        for figure in leg[way.value]["at"]
    )
    tension = scene.scale.limit_n
    return {
        "tension": None
        if tension is None
        else {
            "value": units.force(tension),
            "text": show_force(tension, scene.units),
            "of": scene.scale.limit_of,
        },
        "sidewall": None
        if sidewall is None
        else {"value": units.pressure(sidewall), "text": show_pressure(sidewall, scene.units)},
        "tension_top": top or 1.0,
    }


def _facts(analysis: Analysis, judged: RunAnalysis) -> list[list[str]]:
    """Facts of the run; its legs are those of the boxes as drawn."""
    bare = replace(analysis, runs=(replace(judged, checks=()),))
    return [
        ["Run as drawn" if fact.name == "Run" else fact.name, fact.text]
        for fact in content_of(bare).runs[0].facts
    ]


def _drawn_notes(scene: Scene) -> list[str]:
    if scene.floor_m == 0.0:
        return []
    return [f"Floor drawn at elevation {show_length(scene.floor_m, scene.units)}."]


def list_values(analysis: Analysis) -> dict[str, Any]:
    """Return the list of runs, worst first: figures in words, and the share as a number.

    `text` says how many have which verdict.
    """
    table = overview_table(analysis)
    ordered = worst_first(analysis)
    rows = []
    # what could not be read stands in front and has nothing to pick
    for judged, row in zip(ordered, table.rows[-len(ordered) :], strict=True):
        name, told, share, governs, length, bends, *boxes, fails = row
        found = [leg.best.share_of_limit for leg in judged.legs]
        known = [value for value in found if value is not None]
        rows.append(
            {
                "name": name,
                "verdict": judged.verdict.value,
                "told": told,
                "share": share,
                "value": max(known) if known else None,
                "governs": governs,
                "length": length,
                "bends": bends,
                "boxes": boxes[0] if boxes else "",
                "fails": fails,
                "runs": False,
            }
        )
    return {"title": table.title, "text": overview_text(analysis), "rows": rows}
