"""Which run of an analysis a study is about, by the name given to it or in the job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.errors import InputError, JobError
from analyzer.job.named_runs import alike_runs_fault, runs_meant
from analyzer.job.settings import Job

__all__ = ["job_naming_run", "named_run"]


def named_run(analysis: Analysis, name: str | None) -> RunAnalysis:
    """Return the run of that name, else the one the job names, else the only one.

    Raises
    ------
    InputError
        If there is no such run, if several are like it, or if none is named of several.
    JobError
        If several are like the one that the job names.
    """
    names = [item.run.name for item in analysis.runs]
    if name is None and len(names) == 1:
        return analysis.runs[0]
    wanted = name if name is not None else job_naming_run(analysis.job, names).boxes.run
    if wanted is None:
        raise InputError(f"there are {len(names)} runs, name one: {', '.join(sorted(names))}")
    meant = runs_meant(wanted, names)
    if not meant:
        raise InputError(f"there is no run {wanted!r}; there is {', '.join(sorted(names))}")
    if len(meant) > 1:
        raise InputError(f'run "{wanted}" {alike_runs_fault(meant, names)}')
    return analysis.runs[meant[0]]


def job_naming_run(job: Job, names: Sequence[str]) -> Job:
    """Return the job with the run of `[boxes]` spelled as that run is.

    Raises
    ------
    InputError, JobError
        If `[boxes]` names no run of these, or one that several are like.
    """
    wanted = job.boxes.run
    if wanted is None:
        return job
    meant = runs_meant(wanted, names)
    at = job.at("boxes", "run")
    if not meant:
        raise InputError(f"{at}[boxes] names run {wanted!r}; there is {', '.join(sorted(names))}")
    if len(meant) > 1:
        fault = alike_runs_fault(meant, names)
        raise JobError(f'{at}[boxes] names run "{wanted}", which {fault}')
    return replace(job, boxes=replace(job.boxes, run=names[meant[0]]))
