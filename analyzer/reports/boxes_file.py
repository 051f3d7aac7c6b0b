"""The boxes file: where boxes go, as plain values for JSON, version 1.

Stable: keys are only ever added. SI units, each named in its key. Its JSON Schema stands in
``schemas/boxes-1.schema.json``.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from typing import Any

from analyzer.checks.check import Check
from analyzer.checks.joints import JointNeed
from analyzer.findings import Finding, Verdict
from analyzer.studies.boxes import BoxStudy
from analyzer.studies.boxes_placements import BOX_CHECKS, Placement

__all__ = ["FORMAT", "VERSION", "boxes_schema", "boxes_values"]

FORMAT = "raceway-boxes"
"""Name of the file format."""

VERSION = 1
"""Version of the file format."""


def boxes_values(study: BoxStudy, of_files: Sequence[Finding]) -> dict[str, Any]:
    """Return a study of boxes as nested plain values, ready for JSON.

    Stations are those of the run as drawn. Tension and sidewall pressure are the larger of pulled
    at high friction and held back at low friction, each leg in the direction it is pulled.

    Parameters
    ----------
    study : BoxStudy
        What `find_boxes` returned.
    of_files : sequence of Finding
        Those on the job and the files; they stand behind the run's own.

    Returns
    -------
    dict
        Keys of the boxes file, version 1.
    """
    left, cheapest = study.left_out, study.cheapest
    return {
        "format": FORMAT,
        "version": VERSION,
        "run": study.analyzed.run.name,
        "direction": study.job.boxes.direction,
        "fewest": study.fewest,
        "needed": study.needed,
        "trade_off": [_placement(row) for row in study.trade_off],
        "best_extra_m": study.best_extra_m,
        "best_left_out": None if left is None else {"name": left.name, **_figures(left.placement)},
        "cheapest": None
        if cheapest is None
        else {
            "cost": cheapest.cost,
            "setups": cheapest.setups,
            "refed_m": list(cheapest.refed_m),
            "passed_m": list(cheapest.passed_m),
            "joints": cheapest.joints,
        },
        "fewest_whole": None if study.whole is None else _placement(study.whole),
        "blocked": [
            {
                "code": item.code,
                "from_m": item.from_m,
                "to_m": item.to_m,
                "value": item.value,
                "limit": item.limit,
                "unit": item.unit,
                "message": item.message,
            }
            for item in study.blocked
        ],
        "not_checked": sorted(
            {
                check.code
                for check in study.other_checks
                if check.verdict is Verdict.NOT_CHECKED and check.code in BOX_CHECKS
            }
        ),
        "other_checks": [
            _check(check) for check in study.other_checks if check.code not in BOX_CHECKS
        ],
        "caution_checks": [_check(check) for check in study.caution_checks],
        "findings": [
            {
                "code": item.code,
                "severity": item.severity.value,
                "message": item.message,
                "where": item.where,
            }
            for item in dict.fromkeys((*study.analyzed.findings, *of_files))
        ],
    }


def boxes_schema() -> str:
    """Return the JSON Schema of the boxes file as text."""
    return files("analyzer.reports").joinpath("schemas", "boxes-1.schema.json").read_text("utf-8")


def _placement(row: Placement) -> dict[str, Any]:
    return {
        "count": row.count,
        "stations_m": [box.station_m for box in row.boxes],
        "replaces_bends": [box.replaces_bend for box in row.boxes],
        **_figures(row),
        "proven_share": row.proven_share,
    }


def _figures(row: Placement) -> dict[str, Any]:
    return {
        "max_tension_n": row.max_tension_n,
        "max_sidewall_n_per_m": row.max_sidewall_n_per_m,
        "bend_total_deg": row.bend_total_deg,
        "share_of_limit": row.share_of_limit,
        "governed_by": None if row.governing is None else row.governing.code,
        "passes": row.passes,
        "failing": list(row.failing),
        "joints": None if row.joints is None else _joints(row.joints),
    }


def _joints(need: JointNeed) -> dict[str, Any]:
    governing = need.whole.governing
    return {
        "at": list(need.places),
        "needed": need.is_needed,
        "whole": {
            "feed_at": need.whole.feed_at,
            "max_tension_n": need.whole.max_tension_n,
            "share_of_limit": None if governing is None else governing.share,
            "governed_by": None if governing is None else governing.code,
            "passes": need.whole.passes,
        },
    }


def _check(check: Check) -> dict[str, Any]:
    return {"code": check.code, "verdict": check.verdict.value, "message": check.message}
