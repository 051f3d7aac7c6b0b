"""How the job asks for runs to be read: `read_as` under `[drawing]`."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.catalog.nearest import nearest_name
from analyzer.errors import JobError
from analyzer.geometry.readings import ReadAs
from analyzer.job.named_runs import alike_runs_fault, runs_meant
from analyzer.job.settings import Job
from analyzer.job.words import READ_AS, drawn_as_fault, sentence_list

__all__ = ["forced_readings"]


def forced_readings(names: Sequence[str], job: Job) -> list[ReadAs | None]:
    """Return the reading that the job asks for, for each run; None where it asks for none.

    Parameters
    ----------
    names : sequence of str
        Names of the runs.
    job : Job
        Its `read_as`.

    Raises
    ------
    JobError
        If it names a run that the file does not hold, one that several are like, or one twice,
        or a reading that cannot be asked for.
    """
    forced: list[ReadAs | None] = [None] * len(names)
    by_run: dict[int, str] = {}
    for run, word in job.drawing.read_as:
        at = job.at("drawing", "read_as", run)
        meant = runs_meant(run, names)
        if not meant:
            close = nearest_name(run, names)
            hint = f'; did you mean "{close}"? It' if close else ": it"
            raise JobError(
                f'{at}read_as under [drawing] names the run "{run}", which the file does not hold'
                f"{hint} holds {sentence_list(names)}"
            )
        if len(meant) > 1:
            raise JobError(
                f'{at}read_as under [drawing] names the run "{run}", which '
                f"{alike_runs_fault(meant, names)}"
            )
        (index,) = meant
        if index in by_run:
            raise JobError(
                f'{at}read_as under [drawing]: the runs "{by_run[index]}" and "{run}" are the '
                f'same run, "{names[index]}": keep one'
            )
        by_run[index] = run
        fault = drawn_as_fault(word)
        if fault is not None:
            raise JobError(f'{at}read_as under [drawing], run "{run}": {fault}')
        if word not in READ_AS:
            raise JobError(
                f'{at}read_as under [drawing]: "{word}" for run "{run}" is none of '
                f"{sentence_list(READ_AS)}"
            )
        forced[index] = ReadAs(word)
    return forced
