"""Runs of a file with names of their own, and what a person should know about their numbers.

A number is none of the drawing: it stands as long as no run is added, moved or left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from analyzer.findings import NO_RUN, Concern, Finding, Severity
from analyzer.importers.distinct_names import distinct_names
from analyzer.importers.drawn_file import DrawnFile
from analyzer.importers.numbering_order import numbering_order
from analyzer.importers.told_places import place_list
from analyzer.job.named_runs import runs_meant
from analyzer.job.settings import Job
from analyzer.job.words import sentence_list

__all__ = ["with_run_names"]


def with_run_names(drawn: DrawnFile, stem: str, job: Job) -> DrawnFile:
    """Give every path a name of its own: from the file, else the file stem, numbered.

    Parameters
    ----------
    drawn : DrawnFile
        Paths of a file with the names that it gives them.
    stem : str
        Name of the file.
    job : Job
        What it says of a numbered run is a caution.
    """
    order = numbering_order(drawn.paths)
    given = [path.name.strip() for path in drawn.paths]
    names = distinct_names(given, stem, order)
    paths = tuple(replace(path, name=name) for path, name in zip(drawn.paths, names, strict=True))
    numbered = {*drawn.numbered, *(i for i, name in enumerate(names) if name != (given[i] or stem))}
    named = replace(drawn, paths=paths)
    findings = (
        *drawn.findings,
        *_repeated(named, given, order),
        *_gone_by(named, numbered, job),
    )
    return replace(named, findings=findings)


def _repeated(drawn: DrawnFile, given: Sequence[str], order: Sequence[int]) -> Iterator[Finding]:
    """Note the names that a file gives to several runs."""
    groups: dict[str, list[int]] = defaultdict(list)
    for index in order:
        if given[index]:
            groups[given[index]].append(index)
    for name, runs in groups.items():
        if len(runs) < 2:
            continue
        text = (
            f'{len(runs)} runs are called "{name}": by where they stand they are now '
            f"{sentence_list(drawn.paths[index].name for index in runs)}, the one whose end has "
            "the smaller x, y, z first. Give each a name of its own"
        )
        where = place_list([drawn.paths[index].where for index in runs])
        yield Finding("run-name-repeated", Severity.NOTE, text, where)


def _gone_by(drawn: DrawnFile, numbered: set[int], job: Job) -> Iterator[Finding]:
    """Caution where the job goes by the number of a run."""
    names = [path.name for path in drawn.paths]
    asked = [(f'[[fittings]] "{one.name}"', one.run, True) for one in job.fittings]
    asked += [("read_as under [drawing]", run, True) for run, _ in job.drawing.read_as]
    asked += [("[boxes]", job.boxes.run, False)]
    for what, run, is_on_run in asked:
        meant = [] if run is None else runs_meant(run, names)
        if len(meant) != 1 or meant[0] not in numbered:
            continue
        (index,) = meant
        text = (
            f'{what} is for the run "{names[index]}", which is numbered by where it stands among '
            "others without a name of their own: once a run is added, moved or left out, another "
            "may bear that number. Check that it is the run you mean; a text beside it, on a layer "
            "that name_layers under [drawing] takes, gives it a name of its own"
        )
        entities = drawn.sources[index].entities if drawn.sources and is_on_run else frozenset()
        concern = Concern(entities=tuple(sorted(entities))) if entities else NO_RUN
        yield Finding("run-number", Severity.CAUTION, text, f"run {names[index]}", concern)
