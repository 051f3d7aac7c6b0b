"""One check: a verdict with its value, limit, place and clause."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.findings import Verdict

__all__ = ["Check"]


@dataclass(frozen=True, slots=True)
class Check:
    """One check of a leg or run.

    Attributes
    ----------
    code : str
        Fixed code, such as ``bend-total``.
    leg : str or None
        Leg it belongs to; None for the whole run.
    direction : str or None
        ``forward`` or ``reverse`` where the check depends on it.
    verdict : Verdict
        Pass, caution, fail or not checked.
    value, limit : float or None
        In `unit`; None where not known.
    unit : str
        SI or degree unit of both: ``deg``, ``m``, ``N``, ``N/m``, ``ratio``, ``percent``,
        ``count``.
    where : str
        Place in words, end names and stations as people see them.
    station_m : float or None
        Station of the worst place. [m]
    source : str
        Clause or guide the limit comes from, by edition.
    message : str
        What was found, in a sentence or two, or what to add where it is not checked.
    counts : bool
        False for the direction its leg is better not pulled in: shown, but no part of the
        run's verdict.
    bends : tuple of int
        Numbers of the bends above the limit, the worst first, where the check is one of bends.
    doubts : tuple of str
        Assumptions that made a caution of a pass; the message holds them too. Each is told alone
        as well: one on the value of the check holds the figure.
    fittings : tuple of str
        Names of the fittings whose passage is not stated, where the check is on that.
    way_words : str
        What of the message hangs on the direction, where checks alike but for that are told in
        one sentence; else empty.
    """

    code: str
    leg: str | None
    direction: str | None
    verdict: Verdict
    value: float | None
    limit: float | None
    unit: str
    where: str
    station_m: float | None
    source: str
    message: str
    counts: bool = True
    doubts: tuple[str, ...] = ()
    bends: tuple[int, ...] = ()
    fittings: tuple[str, ...] = ()
    way_words: str = ""
