"""Lengths that findings tell in both units: those of the job first."""

from __future__ import annotations

import re

from analyzer.units import UnitSystem

__all__ = ["in_order_of"]

_NUMBER = r"-?[\d.,]*\d(?:e[-+]\d+)?"
_NUMBERS = rf"{_NUMBER}(?: x {_NUMBER})*"  # a length, or a size of several
_US_LENGTH, _METRIC_LENGTH = rf"{_NUMBERS} (?:in|ft)", rf"{_NUMBERS} (?:mm|m)"
_BOTH_UNITS = re.compile(
    rf"(?P<us>{_US_LENGTH}(?: to {_US_LENGTH})?|half an inch)"
    rf" \((?P<metric>{_METRIC_LENGTH}(?: to {_METRIC_LENGTH})?)\)"
)


def in_order_of(system: UnitSystem, text: str) -> str:
    """Return a text that tells lengths in both units with those of a system first.

    Parameters
    ----------
    system : UnitSystem
        How people see results.
    text : str
        With lengths such as ``9.50 in (241.3 mm)`` or ``6.6 ft to 9.1 ft (2.00 m to 2.78 m)``, or
        sizes such as ``10 x 20 ft (3.048 x 6.096 m)``.

    Examples
    --------
    >>> in_order_of(UnitSystem.METRIC, "station 68.82 ft (20.976 m)")
    'station 20.976 m (68.82 ft)'
    """
    if system is UnitSystem.US:
        return text
    return _BOTH_UNITS.sub(lambda match: f"{match['metric']} ({match['us']})", text)
