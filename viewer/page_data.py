"""Everything the page shows, as one set of plain values: choices, legs, shape and words."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product
from typing import Any

from analyzer.analysis import Analysis, RunAnalysis, analyze
from analyzer.findings import Verdict
from analyzer.job.settings import Passage
from analyzer.pulling.limits import sidewall_limit
from analyzer.pulling.results import Direction
from analyzer.reports.cautions import CAUTIONS
from analyzer.reports.content import RunContent, content_of
from analyzer.route.run import Fitting
from analyzer.units import show_force, show_length, show_pressure
from viewer.page_legs import Cells, cells_of, friction_names, stretch_keys, stretch_values
from viewer.page_legs import with_stops as run_with_stops
from viewer.page_scene import scene_values
from viewer.page_units import PageUnits
from viewer.palette import COOL, HOT, MAP_TOP, PLAIN, Theme
from viewer.scene import Scene, build_scene, run_named
from viewer.wording import subline

__all__ = ["MOST_JUDGED", "page_values"]

MOST_JUDGED = 6
"""With more boxes than this only the boxes as drawn are judged: choices double with each box."""


def page_values(
    analysis: Analysis, theme: Theme, run: str | None = None, direction: str = "better",
    friction: str = "expected",
) -> dict[str, Any]:  # fmt: skip
    """Return all that the page of one run holds, as values that become JSON.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.
    theme : Theme
        Neutral colors.
    run : str, optional
        Name of the run; the first by default.
    direction : str
        ``forward``, ``reverse`` or ``better``: what the page opens with.
    friction : str
        ``low``, ``expected`` or ``high``: what the page opens with.

    Raises
    ------
    InputError
        If no run has that name.
    """
    judged = run_named(analysis, run)
    job = analysis.job
    units = PageUnits(job.units)
    scene = build_scene(judged, job, "better")
    cells = cells_of(judged.run)
    stops = [fitting for fitting in judged.run.fittings if fitting.pull_point]
    names = friction_names(job)
    content = content_of(replace(analysis, runs=(judged,)))
    limit = sidewall_limit(job).limit
    stretches, switched = _stretches(judged, stops, analysis, cells, scene, limit, units)
    return {
        "title": content.title,
        "run": judged.run.name,
        "subline": subline(scene),
        "units": units.rules(),
        "length": units.length(scene.length_m),
        "edges": [round(units.length(value), 4) for value in cells.edges_m.tolist()],
        "elevations": [
            round(units.length(float(value)), 3)
            for value in judged.run.centerline.points_at(cells.edges_m)[:, 2]
        ],
        "fittings": [_fitting(fitting, stops, units) for fitting in judged.run.fittings],
        "stops": [
            {"name": stop.name, "through": stop.passage is Passage.THROUGH} for stop in stops
        ],
        "switched": switched,
        "ways": _ways(judged),
        "frictions": [
            {"key": name, "text": f"{name} {getattr(job.pull.friction, name):g}"} for name in names
        ],
        "opens": {"way": direction, "friction": friction if friction in names else "expected"},
        "high_friction": f"{job.pull.friction.high:g}",
        "limits": _limits(scene, limit, units, stretches),
        "stretches": stretches,
        "choices": _choices(analysis, judged, stops, switched),
        "facts": [[fact.name, fact.text] for fact in (*content.inputs, *content.assumptions)],
        "run_facts": [[_as_drawn(fact.name), fact.text] for fact in content.runs[0].facts],
        "findings": {"cautions": list(content.cautions), "notes": list(content.notes)},
        "safety": list(CAUTIONS),
        "notes": _drawn_notes(scene),
        "map": {"cool": COOL, "hot": HOT, "plain": PLAIN, "top": MAP_TOP},
        "theme": _theme_values(theme),
        "scene": scene_values(scene, cells, units, theme),
    }


def _as_drawn(name: str) -> str:
    """Name of a fact of the run; its legs are those of the boxes as drawn."""
    return "Run as drawn" if name == "Run" else name


def _fitting(fitting: Fitting, stops: list[Fitting], units: PageUnits) -> dict[str, Any]:
    return {
        "name": fitting.name,
        "kind": fitting.kind.value,
        "station": units.length(fitting.station_m),
        "stop": stops.index(fitting) if fitting in stops else None,
        "point": [round(value, 4) for value in fitting.position_m],
    }


def _ways(judged: RunAnalysis) -> list[dict[str, str]]:
    first, last = judged.run.fittings[0].name, judged.run.fittings[-1].name
    return [
        {"key": "better", "text": "Each leg its better way"},
        {"key": Direction.FORWARD.value, "text": f"Toward {last}"},
        {"key": Direction.REVERSE.value, "text": f"Toward {first}"},
    ]


def _stretches(
    judged: RunAnalysis,
    stops: list[Fitting],
    analysis: Analysis,
    cells: Cells,
    scene: Scene,
    limit: float | None,
    units: PageUnits,
) -> tuple[dict[str, Any], bool]:
    """Every stretch by its stops, and whether boxes can be switched."""
    keys = stretch_keys(stops)
    switched = keys is not None and len(stops) > 2
    if keys is None:
        feeds = [
            index
            for index, stop in enumerate(stops)
            if index in (0, len(stops) - 1) or stop.passage is not Passage.THROUGH
        ]
        keys = tuple(tuple(range(start, end + 1)) for start, end in pairwise(feeds))
    made = {
        "-".join(str(key) for key in stretch): stretch_values(
            judged.run, stops, stretch, analysis.job, cells, scene.scale, limit, units
        )
        for stretch in keys
    }
    return made, switched


def _limits(
    scene: Scene, sidewall: float | None, units: PageUnits, stretches: dict[str, Any]
) -> dict[str, Any]:
    """Limits of the colors; where none is known, the greatest value that can be shown."""
    figures = [
        figure
        for stretch in stretches.values()
        for leg in stretch["legs"]
        for way in Direction
        for figure in leg[way.value]["at"].values()
    ]
    top = max(figure["tension"]["value"] for figure in figures)
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


def _choices(
    analysis: Analysis, judged: RunAnalysis, stops: list[Fitting], switched: bool
) -> dict[str, Any]:
    """Verdict and sentences for every choice of boxes, by a text of 1 and 0 a box."""
    boxes = len(stops) - 2
    drawn = "1" * boxes
    if not switched or boxes > MOST_JUDGED:
        return {drawn: _judgement(judged, content_of(replace(analysis, runs=(judged,))).runs[0])}
    found = {}
    for bits in product("10", repeat=boxes):
        used = [0, *(n + 1 for n, bit in enumerate(bits) if bit == "1"), len(stops) - 1]
        changed = judged
        if "0" in bits:
            changed = analyze([run_with_stops(judged.run, stops, used)], analysis.job).runs[0]
        content = content_of(replace(analysis, runs=(changed,))).runs[0]
        found["".join(bits)] = _judgement(changed, content)
    return found


def _judgement(judged: RunAnalysis, content: RunContent) -> dict[str, Any]:
    return {
        "verdict": judged.verdict.value,
        "text": content.verdict_text,
        "mark": _MARKS[judged.verdict],
        "failing": list(content.failing),
        "cautions": list(content.cautions),
        "not_checked": list(content.not_checked),
        "notes": list(content.notes),
    }


_MARKS = {
    Verdict.PASS: "✓",
    Verdict.CAUTION: "!",
    Verdict.FAIL: "✕",
    Verdict.NOT_CHECKED: "?",
}


def _drawn_notes(scene: Scene) -> list[str]:
    notes = ["Raceway drawn wider than true."]
    if scene.floor_m != 0.0:
        notes.append(f"Floor drawn at elevation {show_length(scene.floor_m, scene.units)}.")
    return notes


def _theme_values(theme: Theme) -> dict[str, str]:
    names = (
        "name", "ground", "floor", "grid", "ink", "muted", "chip", "chip_border", "drop_line",
        "outline", "band", "equipment", "equipment_edge", "not_reached", "inverted",
        "inverted_ink", "inverted_muted", "ring",
    )  # fmt: skip
    shadows = {
        "light": ["#E9ECEF", "#D9DEE3", "#C6CDD5"],
        "dark": ["#171E25", "#131920", "#0E1318"],
    }
    return {**{name: getattr(theme, name) for name in names}, "shadows": shadows[theme.name]}
