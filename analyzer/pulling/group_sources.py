"""Where the rules for a group of conductors come from, in the short words that people are shown.

Status of each rule as in `groups` and `sidewall`: read in a document, derived here, from memory,
or own choice. What rests on one page without an author is marked secondary.
"""

from __future__ import annotations

from analyzer.job.settings import Arrangement

__all__ = [
    "ARRANGEMENT_BANDS_SOURCE",
    "DERIVED",
    "SECONDARY_PAGE",
    "TRANSMISSION_STANDARD",
    "sidewall_source",
    "weight_factor_source",
]

TRANSMISSION_STANDARD = "transmission engineering standard, 2007"
SECONDARY_PAGE = "anonymous reference page (secondary)"
DERIVED = "derived here, not published"
ARRANGEMENT_BANDS_SOURCE = "by D/d, bands from memory"
"""How three like conductors lie: triangular below D/d 2.5, cradled above 3.0, between them both."""

_OWN_CHOICE = "own choice, the safe side"

_WEIGHT_FACTORS = {
    Arrangement.SINGLE: TRANSMISSION_STANDARD,
    Arrangement.PAIR: DERIVED,
    Arrangement.TRIANGULAR: TRANSMISSION_STANDARD,
    Arrangement.CRADLED: SECONDARY_PAGE,
    Arrangement.DIAMOND: DERIVED,
    Arrangement.BUNCHED: SECONDARY_PAGE,
}
_SIDEWALL = {
    Arrangement.SINGLE: TRANSMISSION_STANDARD,
    Arrangement.PAIR: DERIVED,
    Arrangement.TRIANGULAR: "from memory, derived here too",
    Arrangement.CRADLED: SECONDARY_PAGE,
    Arrangement.DIAMOND: DERIVED,
    Arrangement.BUNCHED: _OWN_CHOICE,
}


def weight_factor_source(arrangement: Arrangement, *, is_beyond_diamond: bool) -> str:
    """Return where the weight factor of an arrangement comes from.

    Parameters
    ----------
    arrangement : Arrangement
        How the conductors lie.
    is_beyond_diamond : bool
        Four conductors where a diamond cannot stand.

    Examples
    --------
    >>> weight_factor_source(Arrangement.CRADLED, is_beyond_diamond=False)
    'anonymous reference page (secondary)'
    """
    if is_beyond_diamond:
        return f"as bunched, {SECONDARY_PAGE}"  # 1.4: a diamond's is below 1.25 there
    return _WEIGHT_FACTORS[arrangement]


def sidewall_source(arrangement: Arrangement, *, is_beyond_diamond: bool) -> str:
    """Return where the form of the sidewall pressure of an arrangement comes from.

    Parameters
    ----------
    arrangement : Arrangement
        How the conductors lie.
    is_beyond_diamond : bool
        Four conductors where a diamond cannot stand: all the pressure on one of them.

    Examples
    --------
    >>> sidewall_source(Arrangement.BUNCHED, is_beyond_diamond=False)
    'own choice, the safe side'
    """
    return _OWN_CHOICE if is_beyond_diamond else _SIDEWALL[arrangement]
