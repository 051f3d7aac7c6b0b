"""Rehearse a conductor pull in 3D: read a route, analyze it, and say what passes and what fails.

`open_route` reads a drawn centerline, `read_job` a job file, `analyze` does the whole job.
Names are loaded when first used, so that `import analyzer` stays fast.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analyzer.analysis import Analysis, analyze
    from analyzer.importers.reading import open_route
    from analyzer.job.reading import read_job
    from analyzer.reports.analysis_file import analysis_values

__all__ = ["Analysis", "analysis_values", "analyze", "open_route", "read_job"]

_HOMES = {
    "Analysis": "analyzer.analysis",
    "analysis_values": "analyzer.reports.analysis_file",
    "analyze": "analyzer.analysis",
    "open_route": "analyzer.importers.reading",
    "read_job": "analyzer.job.reading",
}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'analyzer' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
