"""Runs longer or higher than raceway is built: the unit of the file is wrong as a rule.

The bounds are our own estimate: a run between two ends of 20 km, and 1 km between its lowest and
highest point, which is more than the tallest buildings.
"""

from __future__ import annotations

from analyzer.findings import Finding, Severity
from analyzer.geometry.centerline import Centerline
from analyzer.job.settings import Job
from analyzer.route.run import RunInput
from analyzer.units import show_length

__all__ = ["run_extent_findings"]

_LONGEST_M = 20_000.0
_HIGHEST_M = 1_000.0


def run_extent_findings(
    name: str, centerline: Centerline, source: RunInput, job: Job
) -> list[Finding]:
    """Return a caution for a run longer or higher than raceway is built.

    Parameters
    ----------
    name : str
        Name of the run.
    centerline : Centerline
        Its centerline.
    source : RunInput
        Its file, and who named the unit.
    job : Job
        Its units say how lengths are written.
    """
    heights = [centerline.start_m[2], *(segment.end_m[2] for segment in centerline.segments)]
    height_m = max(heights) - min(heights)
    too_large = [
        f"{show_length(length_m, job.units)} {word} (more than {show_length(most_m, job.units)})"
        for word, length_m, most_m in (
            ("long", centerline.length_m, _LONGEST_M),
            ("from its lowest to its highest point", height_m, _HIGHEST_M),
        )
        if length_m > most_m
    ]
    if not too_large:
        return []
    text = (
        f"the run is {' and '.join(too_large)}, which raceway hardly ever is. The file was read in "
        f"{source.length_unit}, named by the {source.length_unit_from}: check that unit, and that "
        "no point lies far off by mistake"
    )
    return [Finding("run-very-large", Severity.CAUTION, text, f"{source.file}, run {name}")]
