"""Every value a job was settled to, as plain data for the analysis file."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any

from analyzer.job.settings import ConductorLine, Job
from analyzer.job.words import ROUTE

__all__ = ["job_values"]


def job_values(job: Job) -> dict[str, Any]:
    """Return every value of a job, defaults filled in, ready for JSON.

    Keys are those of the job file, with the SI unit in the name where a value has one. Findings
    are left out: they stand in the analysis file itself.

    Parameters
    ----------
    job : Job
        A settled job.

    Returns
    -------
    dict
        Text, numbers, true or false, None, lists and dicts of these.
    """
    drawing = _plain(job.drawing)
    drawing["fittings"] = {
        name: kind.value if kind else ROUTE for name, kind in job.drawing.fitting_kinds
    }
    del drawing["fitting_kinds"]
    drawing["read_as"] = dict(job.drawing.read_as)
    raceway = _plain(job.raceway) if job.raceway is not None else {"type": None}
    raceway["table_bend_radius_m"] = dict(raceway.pop("bend_radius_m", None) or [])
    raceway["bender"] = job.bender
    raceway["bend_radius_m"] = job.bend_radius_m

    return {
        "title": job.title,
        "source": job.source,
        "units": job.units.value,
        "drawing": drawing,
        "raceway": raceway,
        "conductors": [_conductor(line) for line in job.conductors],
        "existing_conductors": [_conductor(line) for line in job.existing],
        "pull": _plain(job.pull),
        "limits": _plain(job.limits),
        "boxes": _plain(job.boxes),
        "plan": _plain(job.plan),
        "fittings": [_plain(entry) for entry in job.fittings],
    }


def _conductor(line: ConductorLine) -> dict[str, Any]:
    return {
        "count": line.count,
        **_plain(line.conductor),
        "full_name": line.conductor.full_name,
        "pulling_weight_n_per_m": line.conductor.pulling_weight_n_per_m,
    }


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    return value
