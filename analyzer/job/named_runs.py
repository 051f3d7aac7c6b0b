"""Which run of a file a name means, in a job or on the command line.

The name exactly as the run bears it means that run and no other. Without one, capitals and spaces
do not count, as in all names that people write; where several runs are alike then, none is meant.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.job.words import run_name_key, sentence_list

__all__ = ["alike_runs_fault", "runs_meant"]


def runs_meant(wanted: str, names: Sequence[str]) -> list[int]:
    """Return the indices of the runs that a name may mean: one, none, or several alike.

    Examples
    --------
    >>> runs_meant("fdr", ["FDR", "fdr"])
    [1]
    >>> runs_meant("fdr", ["FDR", "Riser"])
    [0]
    >>> runs_meant("Fdr", ["FDR", "fdr"])
    [0, 1]
    """
    if wanted in names:
        return [names.index(wanted)]
    folded = run_name_key(wanted)
    return [index for index, name in enumerate(names) if run_name_key(name) == folded]


def alike_runs_fault(meant: Sequence[int], names: Sequence[str]) -> str:
    """Return what to say, behind the name, where it may mean several runs.

    Examples
    --------
    >>> alike_runs_fault([0, 1], ["FDR", "fdr"])
    'could be any of "FDR", "fdr": write the name exactly as that run has it'
    """
    could = sentence_list(names[index] for index in meant)
    return f"could be any of {could}: write the name exactly as that run has it"
