"""Rule sets by name: bend and length between pull points, and the code edition cited.

Each set is an editable copy of an excerpt, never the standard itself. The two `nec-` sets hold
360 degrees and no length; public bodies and owner presets hold less. Section numbers follow the
raceway's article and the edition, because the 2023 edition moved the number of bends.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.nearest import fold_name, nearest_names, nearest_words
from analyzer.catalog.raceways import Raceway
from analyzer.catalog.tables import Row, find_row, read_table
from analyzer.errors import CatalogError
from analyzer.units import ft

__all__ = [
    "RuleSet",
    "bend_number_section",
    "bend_radius_section",
    "find_rules",
    "rule_set_names",
]


@dataclass(frozen=True, slots=True)
class RuleSet:
    """How much may lie between two pull points.

    Attributes
    ----------
    name : str
        Name a job writes, such as ``nec-2023``.
    title : str
        What people see.
    edition : str
        NEC edition that sections are cited by, such as ``2023``.
    degrees_between_pull_points : float
        Largest sum of bends. [deg]
    length_between_pull_points_m : float or None
        Longest leg; None where the rule has none. [m]
    source : str
        Where the rule was read.
    confirmed : bool
        False where one text only was read; carried through to the user.
    note : str
        What else the rule says.
    """

    name: str
    title: str
    edition: str
    degrees_between_pull_points: float
    length_between_pull_points_m: float | None
    source: str
    confirmed: bool
    note: str = ""


def rule_set_names() -> tuple[str, ...]:
    """Return the names a job can write, the default first."""
    return tuple(row["name"] for row in read_table("rule_sets").rows)


def find_rules(name: str) -> RuleSet:
    """Return a rule set by name, in any case.

    Raises
    ------
    CatalogError
        If there is none of that name; the message names the nearest.

    Examples
    --------
    >>> find_rules("NEC 2023").degrees_between_pull_points
    360.0
    """
    for row in read_table("rule_sets").rows:
        if fold_name(row["name"]) == fold_name(name):
            return _rule_set(row)
    names = rule_set_names()
    raise CatalogError(
        f"no rule set {name!r}{nearest_words(nearest_names(name, names))}. "
        f"There are {', '.join(names)}"
    )


def bend_number_section(rules: RuleSet, raceway: Raceway | None) -> str:
    """Return the section that limits the bends between pull points, by edition.

    Examples
    --------
    >>> from analyzer.catalog.raceways import find_raceway
    >>> bend_number_section(find_rules("nec-2020"), find_raceway("EMT", 2))
    'NEC 2020 358.26'
    """
    if raceway is None:
        return f"NEC {rules.edition}, the raceway's article"
    return f"NEC {rules.edition} {_section(rules, raceway, 'number')}"


def bend_radius_section(rules: RuleSet, raceway: Raceway) -> str:
    """Return the section that holds the bend radius, by edition, with its table.

    A section number that was not read says so.

    Examples
    --------
    >>> from analyzer.catalog.raceways import find_raceway
    >>> bend_radius_section(find_rules("nec-2023"), find_raceway("HDPE", 2))
    'NEC 2023 353.24(A), Table 354.24'
    """
    section = f"NEC {rules.edition} {_section(rules, raceway, 'radius')}"
    own_table = raceway.default_bender == "table 354.24"
    return f"{section}, {'Table 354.24' if own_table else 'Chapter 9 Table 2'}"


def _section(rules: RuleSet, raceway: Raceway, what: str) -> str:
    row = find_row("bend_limits", article=raceway.article)
    column = f"{what}_section_nec{rules.edition}"
    is_read = row.get(f"{column}_read", "yes") == "yes"
    return row[column] + ("" if is_read else " (number from memory)")


def _rule_set(row: Row) -> RuleSet:
    length = row["length_between_pull_points_ft"]
    return RuleSet(
        name=row["name"],
        title=row["title"],
        edition=row["edition_nec"],
        degrees_between_pull_points=float(row["degrees_between_pull_points"]),
        length_between_pull_points_m=ft(float(length)) if length else None,
        source=row["source"],
        confirmed=row["confirmed"] == "yes",
        note=row["note"],
    )
