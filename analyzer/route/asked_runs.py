"""Which runs of a file the entries of `[[fittings]]` mean."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.errors import ElsewhereError, JobError
from analyzer.job.named_runs import alike_runs_fault, runs_meant
from analyzer.job.settings import FittingEntry, Job
from analyzer.job.words import run_name_key, sentence_list
from analyzer.route.claims import entry_place

__all__ = ["asked_runs", "told_entry"]


def asked_runs(job: Job, names: Sequence[str]) -> dict[FittingEntry, tuple[int, ...]]:
    """Return the indices of the runs that each entry may mean: the one it names, else all.

    Parameters
    ----------
    job : Job
        Its `fittings`.
    names : sequence of str
        Names of the runs.

    Raises
    ------
    ElsewhereError
        If an entry names a run that the file does not hold.
    JobError
        If it names one that several runs are like, has two places, or stands in the job twice.
    """
    found: dict[FittingEntry, tuple[int, ...]] = {}
    seen: set[tuple[str, tuple[int, ...] | None]] = set()
    for entry in job.fittings:
        runs = _runs_of(entry, job, names)
        if entry.at_m is not None and entry.position_m is not None:
            raise JobError(
                f"{told_entry(entry, job)} has both at and position: a fitting has one place"
            )
        key = (run_name_key(entry.name), None if entry.run is None else runs)
        if key in seen:
            raise JobError(f"{told_entry(entry, job)} stands twice in the job: keep one")
        seen.add(key)
        found[entry] = runs
    return found


def told_entry(entry: FittingEntry, job: Job) -> str:
    """Return how an error names an entry: file, line and name."""
    return job.at_entry(entry) + entry_place(entry)


def _runs_of(entry: FittingEntry, job: Job, names: Sequence[str]) -> tuple[int, ...]:
    if entry.run is None:
        return tuple(range(len(names)))
    meant = runs_meant(entry.run, names)
    stands = f'{told_entry(entry, job)} stands on run "{entry.run}", which'
    if not meant:
        raise ElsewhereError(f"{stands} is none of {sentence_list(sorted(names))}", entry)
    if len(meant) > 1:
        raise JobError(f"{stands} {alike_runs_fault(meant, names)}")
    return tuple(meant)
