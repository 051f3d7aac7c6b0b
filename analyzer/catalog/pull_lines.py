"""Pulling lines: kinds and sizes with breaking strength and working load as listed."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.tables import read_table
from analyzer.units import lbf, parse_length

__all__ = ["PullLine", "list_pull_lines", "weakest_line_for"]


@dataclass(frozen=True, slots=True)
class PullLine:
    """One pulling line of a list.

    Attributes
    ----------
    kind, size : str
        Generic name, and its size in inches as listed, ``5/8``; size is empty for tapes, named by
        strength. [in]
    size_m : float or None
        The same size as a length; the lists name no metric ones. [m]
    breaking_strength_n, working_load_n : float
        As listed. [N]
    basis : str
        What the two figures are.
    source : str
        Codes of the table header, or ``common practice``.
    confirmed : bool
        Whether two lists name it.
    """

    kind: str
    size: str
    size_m: float | None
    breaking_strength_n: float
    working_load_n: float
    basis: str
    source: str
    confirmed: bool


def list_pull_lines() -> tuple[PullLine, ...]:
    """Return all pulling lines, in the order of the table."""
    return tuple(
        PullLine(
            kind=row["kind"],
            size=row["size_in"],
            size_m=parse_length(f"{row['size_in']} in") if row["size_in"] else None,
            breaking_strength_n=lbf(float(row["breaking_strength_lbf"])),
            working_load_n=lbf(float(row["working_load_lbf"])),
            basis=row["basis"],
            source=row["source"],
            confirmed=row["confirmed"] == "yes",
        )
        for row in read_table("pull_lines").rows
    )


def weakest_line_for(kind: str, tension_n: float) -> PullLine | None:
    """Return the weakest line of a kind whose working load carries a tension; None without one.

    Parameters
    ----------
    kind : str
        Beginning of the kind, such as ``flat woven polyester``.
    tension_n : float
        Greatest tension to be carried. [N]
    """
    strong = [
        line
        for line in list_pull_lines()
        if line.kind.startswith(kind) and line.working_load_n >= tension_n
    ]
    return min(strong, key=lambda line: line.working_load_n, default=None)
