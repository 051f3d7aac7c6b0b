"""The analysis file: one analysis as plain values for JSON, version 1.

Stable: keys are only ever added. SI units, each named in its key; angles in degrees. Every
number is finite. Its JSON Schema stands in ``schemas/analysis-1.schema.json``.
"""

from __future__ import annotations

from importlib.resources import files
from itertools import pairwise
from typing import Any

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.findings import Finding
from analyzer.geometry.features.feature import Feature
from analyzer.geometry.readings import Bend
from analyzer.geometry.segments import Arc, Segment
from analyzer.job.echo import job_values
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.limits import friction_level
from analyzer.pulling.results import Direction, Pull, PullFigures
from analyzer.route.legs import Leg
from analyzer.route.run import Fitting, Run, RunInput
from analyzer.studies.leg_study import LegStudy, refed_pulls, study_leg
from analyzer.units import to_deg

__all__ = ["FORMAT", "VERSION", "analysis_schema", "analysis_values"]

FORMAT = "raceway-analysis"
"""Name of the file format."""

VERSION = 1
"""Version of the file format."""


def analysis_values(analysis: Analysis) -> dict[str, Any]:
    """Return the analysis as nested plain values, ready for JSON.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.

    Returns
    -------
    dict
        Keys of the analysis file, version 1.
    """
    inputs = list(dict.fromkeys(run.run.input for run in analysis.runs))
    return {
        "format": FORMAT,
        "version": VERSION,
        "inputs": [_input(item) for item in inputs],
        "job": job_values(analysis.job),
        "group": _group(analysis.group),
        "findings": [_finding(item) for item in analysis.findings],
        "runs": [_run(item, inputs.index(item.run.input), analysis) for item in analysis.runs],
    }


def analysis_schema() -> str:
    """Return the JSON Schema of the analysis file as text."""
    return (
        files("analyzer.reports").joinpath("schemas", "analysis-1.schema.json").read_text("utf-8")
    )


def _input(item: RunInput) -> dict[str, Any]:
    return {
        "file": item.file,
        "sha256": item.sha256,
        "reader": item.reader,
        "length_unit": item.length_unit,
        "length_unit_from": item.length_unit_from,
        "extents_m": [list(corner) for corner in item.extents_m],
    }


def _group(group: ConductorGroup) -> dict[str, Any]:
    return {
        "description": group.description,
        "arrangements": [item.value for item in group.arrangements],
        "diameter_ratio": group.diameter_ratio,
        "weight_factor": group.weight_factor,
        "sidewall_rule": group.sidewall.name,
        "sidewall_factor": group.sidewall.factor,
        "arrangement_source": group.arrangement_source,
        "weight_factor_source": group.weight_factor_source,
        "sidewall_source": group.sidewall.source,
    }


def _finding(item: Finding) -> dict[str, Any]:
    return {
        "code": item.code,
        "severity": item.severity.value,
        "message": item.message,
        "where": item.where,
    }


def _run(analyzed: RunAnalysis, input_index: int, analysis: Analysis) -> dict[str, Any]:
    run = analyzed.run
    return {
        "name": run.name,
        "input": input_index,
        "length_m": run.centerline.length_m,
        "start_m": list(run.centerline.start_m),
        "end_m": list(run.centerline.end_m),
        "read_as": run.read_as.value,
        "deviation_m": run.deviation_m,
        "findings": [_finding(item) for item in analyzed.findings],
        "segments": _segments(run),
        "bends": [_bend(bend, analyzed) for bend in run.bends],
        "features": [_feature(item) for item in analyzed.features],
        "fittings": [_fitting(item) for item in run.fittings],
        "legs": [_leg(item, analyzed, analysis) for item in analyzed.legs],
        "refed": _refed(analyzed, analysis),
        "through": {
            "forward": _pull(analyzed.through_forward),
            "reverse": _pull(analyzed.through_reverse),
            "corners_not_checked": [fitting.name for fitting, _ in run.corners_inside()],
        },
        "checks": [
            {
                "code": check.code,
                "leg": check.leg,
                "direction": check.direction,
                "verdict": check.verdict.value,
                "counts": check.counts,
                "bends": list(check.bends),
                "friction_level": friction_level(check.code),
                "value": check.value,
                "limit": check.limit,
                "unit": check.unit,
                "where": check.where,
                "station_m": check.station_m,
                "source": check.source,
                "message": check.message,
            }
            for check in analyzed.checks
        ],
        "verdict": analyzed.verdict.value,
    }


def _segments(run: Run) -> list[dict[str, Any]]:
    line = run.centerline
    joints = pairwise(line.stations_m)
    return [
        _segment(segment, start) for (start, _), segment in zip(joints, line.segments, strict=True)
    ]


def _segment(segment: Segment, station_m: float) -> dict[str, Any]:
    values: dict[str, Any] = {
        "kind": "arc" if isinstance(segment, Arc) else "straight",
        "station_m": station_m,
        "length_m": segment.length_m,
        "start_m": list(segment.start_m),
        "end_m": list(segment.end_m),
    }
    if isinstance(segment, Arc):
        values |= {
            "center_m": list(segment.center_m),
            "axis": list(segment.axis),
            "radius_m": segment.radius_m,
            "angle_deg": to_deg(segment.angle_rad),
        }
    return values


def _degrees(angle_rad: float | None) -> float | None:
    return None if angle_rad is None else to_deg(angle_rad)


def _bend(bend: Bend, analyzed: RunAnalysis) -> dict[str, Any]:
    leg = next((item.leg.name for item in analyzed.legs if bend in item.leg.bends), None)
    return {
        "number": bend.number,
        "station_m": bend.station_m,
        "end_station_m": bend.end_station_m,
        "angle_deg": to_deg(bend.angle_rad),
        "radius_m": bend.radius_m,
        "radius_from": None if bend.radius_from is None else bend.radius_from.value,
        "attitude": bend.attitude.value,
        "rotation_deg": _degrees(bend.rotation_rad),
        "leg": leg,
        "in_fitting": bend.in_fitting,
        "read_as": bend.read_as.value,
        "angle_sd_deg": _degrees(bend.angle_sd_rad),
        "radius_sd_m": bend.radius_sd_m,
        "radius_determined": bend.radius_determined,
    }


def _feature(item: Feature) -> dict[str, Any]:
    return {
        "kind": item.kind,
        "bends": list(item.bends),
        "station_m": item.station_m,
        "end_station_m": item.end_station_m,
        **dict(item.figures),
    }


def _fitting(item: Fitting) -> dict[str, Any]:
    return {
        "name": item.name,
        "kind": item.kind.value,
        "station_m": item.station_m,
        "position_m": list(item.position_m),
        "pull_point": item.pull_point,
        "passage": item.passage.value,
        "passage_stated": item.passage_stated,
        "feed_tension_n": item.feed_tension_n,
    }


def _refed(analyzed: RunAnalysis, analysis: Analysis) -> list[dict[str, Any]] | None:
    """Legs fed again at every pull point; None where no pull point is passed through."""
    pulls = refed_pulls(analyzed, analysis)
    if pulls is None:
        return None
    return [
        {"name": item.leg.name, "forward": _pull(ahead), "reverse": _pull(back)}
        for item, ahead, back in zip(analyzed.legs, *pulls, strict=True)
    ]


def _margins(study: LegStudy) -> dict[str, Any]:
    margins = study.margins
    needed = {item.bend.number: item.radius_m for item in margins.over}
    return {
        "spare": margins.spare,
        "highest_friction": margins.highest_friction,
        "pressed_bend": None if margins.bend is None else margins.bend.number,
        "smallest_radius_m": margins.smallest_radius_m,
        "level_bounds": [
            {"friction": bound.friction, "lower_n": bound.lower_n, "upper_n": bound.upper_n}
            for bound in study.bounds
        ],
        "bends": [
            {
                "number": item.bend.number,
                "friction_level": "high",
                "arriving_n": item.arriving_n,
                "leaving_n": item.leaving_n,
                "sidewall_n_per_m": item.sidewall_n_per_m,
                "braked_sidewall_n_per_m": item.braked_sidewall_n_per_m,
                "needs_radius_m": needed.get(item.bend.number),
            }
            for item in study.bends
        ],
    }


def _leg(analyzed: LegAnalysis, run: RunAnalysis, analysis: Analysis) -> dict[str, Any]:
    leg: Leg = analyzed.leg
    return {
        "name": leg.name,
        "from": leg.start.name,
        "to": leg.end.name,
        "start_station_m": leg.start.station_m,
        "end_station_m": leg.end.station_m,
        "length_m": leg.length_m,
        "rise_m": leg.rise_m,
        "bend_count": len(leg.bends),
        "bend_total_deg": to_deg(leg.bend_total_rad),
        "forward": _pull(analyzed.forward),
        "reverse": _pull(analyzed.reverse),
        "better": analyzed.better,
        "pulled": None if analyzed.pulled is None else analyzed.pulled.value,
        "margins": {
            direction.value: _margins(study_leg(run, analyzed, direction, analysis))
            for direction in Direction
        },
    }


def _figures(figures: PullFigures) -> dict[str, Any]:
    return {
        "exit_tension_n": figures.exit_tension_n,
        "max_tension_n": figures.max_tension_n,
        "max_tension_station_m": figures.max_tension_station_m,
        "max_sidewall_n_per_m": figures.max_sidewall_n_per_m,
        "max_sidewall_station_m": figures.max_sidewall_station_m,
    }


def _pull(pull: Pull) -> dict[str, Any]:
    governing = pull.governing
    return {
        "feed_at": pull.feed_at,
        "pull_at": pull.pull_at,
        "friction_level": "expected",
        "feed_tension_n": pull.feed_tension_n,
        **_figures(pull.expected),
        "sidewall_rule": pull.sidewall_rule,
        "braked_friction_level": "low",
        "slack": [list(stretch) for stretch in pull.slack],
        "hold_back_n": pull.braked.hold_back_n,
        "braked_max_tension_n": pull.braked.max_tension_n,
        "braked_max_tension_station_m": pull.braked.max_tension_station_m,
        "braked_max_sidewall_n_per_m": pull.braked.max_sidewall_n_per_m,
        "braked_max_sidewall_station_m": pull.braked.max_sidewall_station_m,
        "share_of_limit": pull.share_of_limit,
        "governed_by": None if governing is None else governing.code,
        "share_friction_level": None if governing is None else friction_level(governing.code),
        "low": _figures(pull.low),
        "high": _figures(pull.high),
        "profile": {
            "friction_level": "expected",
            "station_m": list(pull.profile.station_m),
            "tension_n": list(pull.profile.tension_n),
            "sidewall_n_per_m": list(pull.profile.sidewall_n_per_m),
        },
    }
