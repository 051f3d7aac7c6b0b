"""The pulling line: working load against tension, breaking strength against the puller."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.practice import find_practice
from analyzer.catalog.pull_lines import PullLine, weakest_line_for
from analyzer.catalog.raceways import trade_size_number
from analyzer.job.settings import Job
from analyzer.pulling.limits import line_limit

__all__ = ["LinePlan", "plan_line"]


@dataclass(frozen=True, slots=True)
class LinePlan:
    """What the pulling line must bear.

    Attributes
    ----------
    tension_n : float
        Greatest tension of all set-ups at high friction. [N]
    working_load_n : float or None
        As the job states; None: not checked. [N]
    breaking_strength_n : float or None
        As the job states; None: not checked. [N]
    allowed_n : float or None
        What the line may carry: the working load, otherwise a part of the breaking strength;
        None: not checked. [N]
    needed_strength_n : float or None
        Breaking strength that the puller asks for; None without its capacity. [N]
    twine, tape : bool
        Whether the trade takes light pull twine or flat tape for this trade size, and a listed
        one carries the tension.
    tape_line, rope_line : PullLine or None
        Weakest listed tape and double-braided rope whose working load carries the tension.
    """

    tension_n: float
    working_load_n: float | None
    breaking_strength_n: float | None
    allowed_n: float | None
    needed_strength_n: float | None
    twine: bool
    tape: bool
    tape_line: PullLine | None
    rope_line: PullLine | None


def plan_line(job: Job, tension_n: float) -> LinePlan:
    """Return what the pulling line must bear.

    Parameters
    ----------
    job : Job
        Line, puller and raceway.
    tension_n : float
        Greatest tension of all set-ups at high friction. [N]

    References
    ----------
    Trade journal, 2012: the line breaks at four times the capacity of the puller at least, not of
    the tension expected, because the puller can reach its capacity. Twine and tape by trade size:
    common practice.
    """
    puller = job.pull.puller_capacity_n
    times = find_practice("line to puller").value
    size = None if job.raceway is None else trade_size_number(job.raceway.trade_size)
    twine_line = weakest_line_for("polypropylene pull twine", tension_n)
    tape_line = weakest_line_for("flat woven polyester", tension_n)
    takes_twine = size is not None and size <= find_practice("twine up to trade size").value
    takes_tape = size is not None and size >= find_practice("tape from trade size").value
    return LinePlan(
        tension_n=tension_n,
        working_load_n=job.pull.line_working_load_n,
        breaking_strength_n=job.plan.line_breaking_strength_n,
        allowed_n=line_limit(job).limit,
        needed_strength_n=None if puller is None else times * puller,
        twine=takes_twine and twine_line is not None,
        tape=takes_tape and tape_line is not None,
        tape_line=tape_line,
        rope_line=weakest_line_for("double-braided polyester", tension_n),
    )
