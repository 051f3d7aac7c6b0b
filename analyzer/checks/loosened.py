"""What the rule set or a published table allows, where a job states a limit of its own.

A job may allow more than they do, by a cable maker's value or an agreement. What passes by the
job's own limit and would not pass by theirs is a caution. What passes by both is told by its
source alone, and so is a job that is stricter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from analyzer.catalog.conductors import Conductor
from analyzer.catalog.rules import bend_number_section
from analyzer.catalog.tables import read_table
from analyzer.checks.situation import Situation, at_least, at_most
from analyzer.job.settings import Job, Limits
from analyzer.job.words import INSULATION_CLASSES
from analyzer.pulling.groups import ConductorGroup
from analyzer.pulling.limits import braked_limit, conductor_limit_n, tension_limits
from analyzer.units import lbf_per_ft

__all__ = [
    "LEAST_CLEARANCE",
    "Published",
    "loosened_words",
    "published_pull_limit",
    "rules_words",
]

_DEFAULT = Limits()
_CLASSES = frozenset(INSULATION_CLASSES.values())
_UNCONFIRMED = " (not confirmed)"


@dataclass(frozen=True, slots=True)
class Published:
    """A limit that a job overrides.

    Attributes
    ----------
    limit : float
        In the unit of its check.
    whose : str
        What it is of, as the end of ``of``: ``NEC 2023 358.24(B)``.
    is_least : bool
        Whether a value must not be below it, instead of not above.
    """

    limit: float
    whose: str
    is_least: bool = False

    def holds(self, value: float) -> bool:
        """Whether a value keeps it, within the allowance of all checks."""
        return (at_least if self.is_least else at_most)(value, self.limit)


LEAST_CLEARANCE = Published(_DEFAULT.clearance_m, "a cable distributor's tips", is_least=True)
"""Clearance where the job states none. [m]"""


def loosened_words(published: Published, value: float, stated: str, shown: str) -> tuple[str, ...]:
    """Return the doubt on a value that passes by a limit of the job's own alone; empty without.

    Limits that read alike are one limit, rounded, as 6 mm for 1/4 in.

    ``the job allows 450°, above the 360° of NEC 2023 358.24(B)``

    Parameters
    ----------
    published : Published
        The limit overridden.
    value : float
        What passed by the job's.
    stated, shown : str
        The job's limit and the published one, for people.
    """
    if published.holds(value) or stated == shown:
        return ()
    relation = "below" if published.is_least else "above"
    return (f"the job allows {stated}, {relation} the {shown} of {published.whose}",)


def rules_words(situation: Situation) -> str:
    """Return whose limit between pull points is overridden: a section, or a named rule set."""
    rules = situation.rules
    if rules.name.startswith("nec-"):
        return bend_number_section(rules, situation.job.raceway)
    return f"rule set {rules.name}"


def published_pull_limit(code: str, job: Job, group: ConductorGroup) -> Published | None:
    """Return the published limit of a pull that the job overrides; None where there is none.

    Sidewall pressure: the least of the insulation classes that the conductors name; without a
    class nothing published is for them. Tension of the conductors: stress by their metal.

    Parameters
    ----------
    code : str
        Of the check.
    job : Job
        Conductors and limits.
    group : ConductorGroup
        How the conductors lie.
    """
    if code in ("sidewall", "sidewall-braked"):
        return _sidewall(job)
    if code in ("conductor-tension", "tension-braked"):
        return _conductors(code, job, group)
    return None


def _sidewall(job: Job) -> Published | None:
    if job.limits.sidewall_from != "job":
        return None
    named = _CLASSES & {line.conductor.insulation_class for line in job.conductors}
    rows = [
        row
        for row in read_table("pull_limits").rows
        if row["limit"] == "sidewall pressure" and row["applies_to"] in named
    ]
    if not rows:
        return None
    least = min(rows, key=lambda row: float(row["value"]))
    mark = "" if least["confirmed"] == "yes" else _UNCONFIRMED
    whose = f"class {least['applies_to']} in the table{mark}"
    return Published(lbf_per_ft(float(least["value"])), whose)


def _conductors(code: str, job: Job, group: ConductorGroup) -> Published | None:
    """Return the limit with stated tensions brought down to those of the conductors' metal."""
    lines = tuple(
        replace(line, conductor=_by_metal_at_most(line.conductor)) for line in job.conductors
    )
    if lines == job.conductors:
        return None
    by_metal = replace(job, conductors=lines)
    limit = braked_limit(by_metal, group) if code.endswith("-braked") else None
    limit = limit or next(item for item in tension_limits(by_metal, group) if item.code == code)
    if limit.limit is None:
        return None
    # a limit by metal has a caution where its stress, its temper or the cap is not confirmed
    return Published(limit.limit, f"the conductors' metal{_UNCONFIRMED if limit.cautions else ''}")


def _by_metal_at_most(conductor: Conductor) -> Conductor:
    by_metal = replace(conductor, max_tension_n=None)
    limit, stated = conductor_limit_n(by_metal), conductor.max_tension_n
    is_above = limit is not None and stated is not None and stated > limit
    return by_metal if is_above else conductor
