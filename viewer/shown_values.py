"""Values, limits and names as pictures write them: every number in one way."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from math import floor
from unicodedata import east_asian_width

from analyzer.units import (
    UnitSystem,
    show_force,
    show_length,
    show_number,
    show_pressure,
    to_ft,
    to_inches,
    to_lbf,
    to_lbf_per_ft,
)
from viewer.quantities import ColorScale, Quantity

__all__ = [
    "elevation_text",
    "force_number",
    "force_unit",
    "limit_name",
    "limit_text",
    "of_limit",
    "percent_text",
    "scale_numbers",
    "short_name",
    "shown_length",
    "times",
    "value_number",
    "value_text",
    "value_unit",
]

_LONGEST_NAME = 32
_MOST_TIMES = 1000.0
_MOST_DECIMALS = 4
_LONG_NUMBER = 1e6


def force_unit(units: UnitSystem) -> str:
    """Return the unit tensions are drawn in."""
    return "lbf" if units is UnitSystem.US else "kN"


def force_number(force_n: float, units: UnitSystem) -> str:
    """Return a tension without its unit, in the unit of `force_unit`, for scales and ticks."""
    if units is UnitSystem.US:
        value = to_lbf(force_n)
        return show_number(value, 0 if abs(value) >= 9.95 or value == 0 else 1)
    text = show_number(force_n / 1000, 2)
    return text.rstrip("0").rstrip(".") if "." in text else text


def value_unit(quantity: Quantity, units: UnitSystem) -> str:
    """Return the unit a quantity is drawn in."""
    us = units is UnitSystem.US
    if quantity is Quantity.TENSION:
        return force_unit(units)
    if quantity is Quantity.SIDEWALL:
        return "lbf/ft" if us else "kN/m"
    if quantity is Quantity.SHARE:
        return "%"
    return "ft" if us else "m"


def value_number(value: float, quantity: Quantity, units: UnitSystem) -> str:
    """Return a value of a quantity without its unit, alone on a scale."""
    if quantity is Quantity.TENSION:
        return force_number(value, units)
    number = _in_unit(value, quantity, units)
    if quantity is Quantity.SHARE:
        return show_number(number, 0)
    if quantity is Quantity.SIDEWALL:
        small = abs(number) < 9.95 and number != 0
        text = show_number(number, (1 if units is UnitSystem.US else 2) if small else 0)
        return text.rstrip("0").rstrip(".") if "." in text else text
    return show_number(number, 0 if abs(number - round(number)) < 0.05 else 1)


def scale_numbers(values: Sequence[float], quantity: Quantity, units: UnitSystem) -> list[str]:
    """Return the numbers of one scale without their unit, all to the decimals the finest needs.

    None is rounded by more than a hundredth of what the scale spans, so that equal steps read so.
    From a million on a number is written by its power of ten, which fits beside any axis.

    Examples
    --------
    >>> scale_numbers([0.0, 2966.0, 8896.0], Quantity.TENSION, UnitSystem.METRIC)
    ['0', '2.97', '8.90']
    >>> scale_numbers([0.0, 4.45e12, 8.9e12], Quantity.TENSION, UnitSystem.METRIC)
    ['0', '4.45e9', '8.9e9']
    """
    alone = [value_number(value, quantity, units) for value in values]
    decimals = max((len(text.partition(".")[2]) for text in alone), default=0)
    numbers = [_in_unit(value, quantity, units) for value in values]
    allowed = (max(numbers) - min(numbers)) / 100
    while decimals < _MOST_DECIMALS and any(
        abs(round(number, decimals) - number) > allowed for number in numbers
    ):
        decimals += 1
    return [
        "0"
        if not number
        else show_number(number, decimals)
        if abs(number) < _LONG_NUMBER
        else _short_number(number)
        for number in numbers
    ]


def _short_number(number: float) -> str:
    """Return a very large number by its power of ten, three digits at most: ``2.5e12``."""
    digits, power = f"{number:.2e}".split("e")
    return f"{digits.rstrip('0').rstrip('.')}e{int(power)}"


def _in_unit(value: float, quantity: Quantity, units: UnitSystem) -> float:
    """Return a value in the unit its quantity is drawn in, as `value_unit` names it."""
    us = units is UnitSystem.US
    if quantity is Quantity.TENSION:
        return float(to_lbf(value)) if us else value / 1000
    if quantity is Quantity.SIDEWALL:
        return float(to_lbf_per_ft(value)) if us else value / 1000
    if quantity is Quantity.SHARE:
        return 100 * value
    return float(to_ft(value)) if us else value


def value_text(value: float, quantity: Quantity, units: UnitSystem) -> str:
    """Return a value of a quantity with its unit."""
    if quantity is Quantity.TENSION:
        return show_force(value, units)
    if quantity is Quantity.SIDEWALL:
        return show_pressure(value, units)
    if quantity is Quantity.SHARE:
        return f"{percent_text(value)}" if value <= 1 else f"{times(value)} × limit"
    return shown_length(value, units)


def limit_text(scale: ColorScale, units: UnitSystem) -> str:
    """Return the limit of a scale with its unit, such as ``400 lbf`` or ``100 %``."""
    if scale.limit is None:
        return "not known"
    if scale.quantity is Quantity.SHARE:
        return "100 %"
    return value_text(scale.limit, scale.quantity, units)


def shown_length(length_m: float, units: UnitSystem) -> str:
    """Return a length along the run."""
    return show_length(length_m, units)


def elevation_text(height_m: float, units: UnitSystem) -> str:
    r"""Return an elevation for people: feet and whole inches, or meters.

    Examples
    --------
    >>> elevation_text(5.0, UnitSystem.US)
    '16\'-5"'
    """
    if units is UnitSystem.METRIC:
        return f"{show_number(height_m, 2)} m"
    inches = round(abs(to_inches(height_m)))
    sign = "-" if height_m < 0 and inches else ""
    return f"{sign}{inches // 12:,}'-{inches % 12}\""


def of_limit(share: float, limit: str = "limit") -> str:
    """Return value over limit in words, never rounded across the limit.

    Parameters
    ----------
    share : float
        Value over limit.
    limit : str
        What the limit is called, as `limit_name` gives it.

    Examples
    --------
    >>> of_limit(0.346)
    '35 % of limit'
    >>> of_limit(2.528)
    '2.5 × limit'
    >>> of_limit(1.0004)
    '1.0004 × limit'
    """
    if share <= 1.0:
        return f"{percent_text(share)} of {limit}"
    return f"{times(share)} × {limit}"


def limit_name(quantity: Quantity) -> str:
    """Return what the limit of a quantity is called; of several together, just limit."""
    return {Quantity.TENSION: "tension limit", Quantity.SIDEWALL: "sidewall limit"}.get(
        quantity, "limit"
    )


def percent_text(share: float) -> str:
    """Return a share up to one in percent, never rounded onto the limit."""
    value = share * 100
    if 0 < value < 9.95:
        return f"{value:.1f} %" if value >= 0.05 else "under 0.1 %"
    if value < 100 and round(value) >= 100:
        return f"{floor(value * 10) / 10:.1f} %"
    return f"{value:.0f} %"


def times(share: float) -> str:
    """Return a share above one as a number of times, never rounded onto one.

    Beyond a thousand the number tells nothing more.
    """
    if share > _MOST_TIMES:
        return f"over {_MOST_TIMES:,.0f}"
    for decimals in (1, 2, 3, 4, 5, 6):
        if round(share, decimals) > 1.0 and (share >= 1.95 or decimals > 1):
            return show_number(share, decimals)
    return "just over 1"


def short_name(name: str) -> str:
    """Return a name for a picture: a very wide one is cut in its middle.

    East Asian letters are twice as wide as Latin ones and count so.

    Examples
    --------
    >>> short_name("Panel P1")
    'Panel P1'
    """
    widths = [2 if east_asian_width(letter) in "WF" else 1 for letter in name]
    if sum(widths) <= _LONGEST_NAME:
        return name
    head = _fitting(widths, _LONGEST_NAME - 10)
    tail = _fitting(widths[::-1], 8)
    return f"{name[:head].rstrip()}…{name[len(name) - tail :].lstrip()}"


def _fitting(widths: Sequence[int], most: int) -> int:
    """Return how many of the first letters stay within a width."""
    return sum(1 for total in accumulate(widths) if total <= most)
