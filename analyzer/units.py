"""Units: every conversion factor, reading quantities people write, writing them for people.

Inside the analyzer everything is meters, newtons, radians. Conversion happens once on the way in
and once on the way out. Numbers are read exactly, as fractions, before they become floats.
Factors: one inch is 0.0254 m and one pound 0.45359237 kg exactly (international yard and pound
agreement, 1959); standard gravity 9.80665 m/s² exactly (3rd CGPM, 1901).

Longer than most modules: what is written for people has to be read back with the same factors.
"""

from __future__ import annotations

import re
from enum import Enum
from fractions import Fraction
from math import degrees, floor, inf, isfinite, log10, radians

from analyzer.errors import InputError

__all__ = [
    "STANDARD_GRAVITY",
    "LengthUnit",
    "UnitSystem",
    "deg",
    "ft",
    "gallons",
    "inches",
    "lbf",
    "lbf_per_ft",
    "parse_angle",
    "parse_force",
    "parse_length",
    "parse_number",
    "parse_pressure",
    "parse_weight",
    "rounded_volume",
    "show_angle",
    "show_degrees",
    "show_deviation",
    "show_diameter",
    "show_force",
    "show_length",
    "show_number",
    "show_pressure",
    "show_radius",
    "show_share",
    "show_short",
    "show_station",
    "show_stop",
    "show_volume",
    "show_weight",
    "to_deg",
    "to_ft",
    "to_gallons",
    "to_inches",
    "to_lbf",
    "to_lbf_per_ft",
    "written_unit",
]

_INCH = Fraction(254, 10000)
_FOOT = 12 * _INCH
_POUND_FORCE = Fraction(45359237, 100000000) * Fraction(980665, 100000)
_GRAVITY = Fraction(980665, 100000)
STANDARD_GRAVITY = float(_GRAVITY)
"""[m/s²]"""


class LengthUnit(Enum):
    """Length units a file can be drawn in; `factor` is meters per unit, exact."""

    INCH = "in"
    FOOT = "ft"
    YARD = "yd"
    MILE = "mi"
    US_SURVEY_FOOT = "us-ft"
    MILLIMETER = "mm"
    CENTIMETER = "cm"
    DECIMETER = "dm"
    METER = "m"
    KILOMETER = "km"

    @property
    def factor(self) -> Fraction:
        """Meters in one unit, exact."""
        return _LENGTHS[self.value]


class UnitSystem(Enum):
    """How people see results: US customary first, or metric."""

    US = "us"
    METRIC = "metric"


_LENGTHS = {
    "in": _INCH,
    "ft": _FOOT,
    "yd": 3 * _FOOT,
    "mi": 5280 * _FOOT,
    "us-ft": Fraction(1200, 3937),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "dm": Fraction(1, 10),
    "m": Fraction(1),
    "km": Fraction(1000),
}
_LENGTH_NAMES = {
    **_LENGTHS,
    '"': _INCH,
    "inch": _INCH,
    "inches": _INCH,
    "'": _FOOT,
    "foot": _FOOT,
    "feet": _FOOT,
    "yard": 3 * _FOOT,
    "yards": 3 * _FOOT,
}
_SPELLINGS = _LENGTH_NAMES.keys() - _LENGTHS.keys()
_FORCES = {
    "lbf": _POUND_FORCE,
    "N": Fraction(1),
    "kN": Fraction(1000),
    "kgf": _GRAVITY,
}
_WEIGHTS = {
    "lbf/ft": _POUND_FORCE / _FOOT,
    "lb/ft": _POUND_FORCE / _FOOT,
    "lb/1000 ft": _POUND_FORCE / (1000 * _FOOT),
    "lb/1000ft": _POUND_FORCE / (1000 * _FOOT),
    "lbf/1000 ft": _POUND_FORCE / (1000 * _FOOT),
    "lbf/1000ft": _POUND_FORCE / (1000 * _FOOT),
    "kg/m": _GRAVITY,
    "kg/km": _GRAVITY / 1000,
    "N/m": Fraction(1),
}
_PRESSURES = {
    "lbf/ft": _POUND_FORCE / _FOOT,
    "N/m": Fraction(1),
    "kN/m": Fraction(1000),
}
_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip
_LONGEST = 100
_NUMBER = r"\d+(?:\.\d*)?(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?"
_AMOUNT = (
    r"(?:(?P<whole>\d+)(?: - |[ -])(?P<num1>\d+)/(?P<den1>\d+)"
    rf"|(?P<num2>\d+)/(?P<den2>\d+)|(?P<dec>{_NUMBER}))"
)
_QUANTITY = re.compile(rf"^(?P<sign>[+-]?)\s*{_AMOUNT}\s*(?P<unit>.*)$")
_FEET_INCHES = re.compile(
    rf"^(?P<sign>[+-]?)\s*(?P<feet>\d+(?:\.\d+)?)\s*(?:'|ft\.?|feet|foot)\s*-?\s*"
    rf"(?:{_AMOUNT}\s*(?:\"|in\.?|inch|inches)?)$"
)
_GROUP_OF_THREE = re.compile(r"^[+-]?\s*\d{1,3}'\d{3}(?:\.\d*)?$")


def deg(angle: float) -> float:
    """Return degrees as radians."""
    return radians(angle)


def to_deg(angle_rad: float) -> float:
    """Return radians as degrees."""
    return degrees(angle_rad)


def ft(length: float) -> float:
    """Return feet as meters."""
    return length * float(_FOOT)


def to_ft(length_m: float) -> float:
    """Return meters as feet."""
    return length_m / float(_FOOT)


def inches(length: float) -> float:
    """Return inches as meters."""
    return length * float(_INCH)


def to_inches(length_m: float) -> float:
    """Return meters as inches."""
    return length_m / float(_INCH)


def lbf(force: float) -> float:
    """Return pounds-force as newtons."""
    return force * float(_POUND_FORCE)


def to_lbf(force_n: float) -> float:
    """Return newtons as pounds-force."""
    return force_n / float(_POUND_FORCE)


def lbf_per_ft(value: float) -> float:
    """Return pounds-force per foot as newtons per meter."""
    return value * float(_POUND_FORCE / _FOOT)


def to_lbf_per_ft(value_n_per_m: float) -> float:
    """Return newtons per meter as pounds-force per foot."""
    return value_n_per_m / float(_POUND_FORCE / _FOOT)


def gallons(volume: float) -> float:
    """Return US gallons, 231 cubic inches each, as cubic meters."""
    return volume * float(231 * _INCH**3)


def to_gallons(volume_m3: float) -> float:
    """Return cubic meters as US gallons."""
    return volume_m3 / float(231 * _INCH**3)


def _clean(text: str) -> str:
    text = text.strip()
    if len(text) > _LONGEST:
        raise InputError(f"'{text[:20]}...' is too long for a number")
    for curly, plain in (("’", "'"), ("‘", "'"), ("′", "'"), ("”", '"'), ("“", '"'), ("″", '"')):
        text = text.replace(curly, plain)
    text = text.replace("−", "-").replace("–", "-").replace("⁄", "/").replace("''", '"')
    for sign, plain in _VULGAR.items():
        text = re.sub(rf"(?<=\d){sign}", f" {plain}", text).replace(sign, plain)
    return re.sub(r"\s+", " ", text)


def _amount(match: re.Match[str], text: str) -> Fraction:
    parts = match.groupdict()
    for denominator in ("den1", "den2"):
        if parts[denominator] is not None and int(parts[denominator]) == 0:
            raise InputError(f"{text!r} divides by zero")
    if parts["num1"] is not None and int(parts["num1"]) >= int(parts["den1"]):
        raise InputError(f"{text!r} has a fraction of one or more after a whole number")
    if parts["num1"] is not None:
        return int(parts["whole"]) + Fraction(int(parts["num1"]), int(parts["den1"]))
    if parts["num2"] is not None:
        return Fraction(int(parts["num2"]), int(parts["den2"]))
    exponent = re.search(r"[eE]([+-]?\d+)$", parts["dec"])
    if exponent is not None and abs(int(exponent[1])) > 400:
        raise InputError(f"{text!r} is too large or too small")
    return Fraction(parts["dec"])


def _a(what: str) -> str:
    return f"{'an' if what[0] in 'aeiou' else 'a'} {what}"


def _parse(text: str, units: dict[str, Fraction], what: str, example: str) -> float:
    cleaned = _clean(text)
    match = _QUANTITY.match(cleaned)
    if match is None:
        raise InputError(f"{text!r} is not {_a(what)}: write it like {example!r}")
    unit = match["unit"].strip()
    factor = units.get(unit)
    if factor is None:
        factor = units.get(unit.rstrip(".")) or units.get(unit.lower().rstrip("."))
    if factor is None:
        names = ", ".join(name for name in units if name not in _SPELLINGS)
        if unit.startswith(","):
            raise InputError(
                f"{text!r} has a comma: write thousands without one, and decimals with a point"
            )
        if not unit:
            raise InputError(f"{text!r} has no unit: {_a(what)} needs one of {names}")
        slip = " (a letter among the digits?)" if re.fullmatch(r"[A-Za-z]\d+", unit) else ""
        raise InputError(f"{text!r} has the unit {unit!r}{slip}, which is none of {names}")
    value = _amount(match, text) * factor
    return _to_float(-value if match["sign"] == "-" else value, text)


def _to_float(value: Fraction, text: str) -> float:
    try:
        number = float(value)
    except OverflowError as error:
        raise InputError(f"{text!r} is too large") from error
    if not isfinite(number):
        raise InputError(f"{text!r} is too large")
    if number == 0.0 and value != 0:
        raise InputError(f"{text!r} is too small")
    return number


def parse_number(text: str) -> float:
    """Return a plain number: decimal, fraction, mixed fraction or exponent.

    Raises
    ------
    InputError
        If the text is no finite number.

    Examples
    --------
    >>> parse_number("1-1/2")
    1.5
    """
    match = _QUANTITY.match(_clean(text))
    if match is None or match["unit"].strip():
        raise InputError(f"{text!r} is not a number")
    value = _amount(match, text)
    return _to_float(-value if match["sign"] == "-" else value, text)


def parse_length(text: str, default: LengthUnit | None = None) -> float:
    r"""Return a length in meters from text such as ``9-1/2 in``, ``12'-6 1/2"`` or ``150 mm``.

    Parameters
    ----------
    text : str
        The quantity with its unit.
    default : LengthUnit, optional
        Unit of a bare number; without it a bare number is an error.

    Raises
    ------
    InputError
        If the text is no length, has no unit, writes 12 inches or more after feet, or three
        digits that may be thousands, as in ``5'000``.

    Examples
    --------
    >>> round(parse_length('10 ft 6-1/2 in'), 6)
    3.2131
    """
    cleaned = _clean(text)
    both = _FEET_INCHES.match(cleaned)
    if both is not None:
        within = _amount(both, text)
        if within >= 12:
            raise InputError(f"{text!r} has 12 inches or more after the feet")
        if "." in both["feet"]:
            raise InputError(f"{text!r} has decimal feet before inches")
        if _GROUP_OF_THREE.match(cleaned):
            raise InputError(
                f"{text!r} may be feet and inches or thousands: write feet and inches with an inch "
                "mark, thousands without a mark"
            )
        value = Fraction(both["feet"]) * _FOOT + within * _INCH
        return _to_float(-value if both["sign"] == "-" else value, text)
    if default is not None:
        plain = _QUANTITY.match(cleaned)
        if plain is not None and not plain["unit"].strip():
            value = _amount(plain, text) * default.factor
            return _to_float(-value if plain["sign"] == "-" else value, text)
    return _parse(text, _LENGTH_NAMES, "length", "9-1/2 in")


def written_unit(text: str) -> str:
    r"""Return the unit that the text of a length is written in; empty for a bare number.

    Parameters
    ----------
    text : str
        A length that `parse_length` reads.

    Returns
    -------
    str
        The short name of a unit, or ``feet and inches`` where both or their marks are used.

    Examples
    --------
    >>> written_unit("10 feet"), written_unit("5'-6\"")
    ('ft', 'feet and inches')
    """
    cleaned = _clean(text)
    if "'" in cleaned or '"' in cleaned or _FEET_INCHES.match(cleaned):
        return "feet and inches"
    match = _QUANTITY.match(cleaned)
    unit = match["unit"].strip() if match is not None else ""
    for name in (unit, unit.rstrip("."), unit.lower().rstrip(".")):
        if name in _LENGTH_NAMES:
            return next(
                short for short, factor in _LENGTHS.items() if factor == _LENGTH_NAMES[name]
            )
    return ""


def parse_force(text: str) -> float:
    """Return a force in newtons from text such as ``900 lbf`` or ``4 kN``."""
    return _parse(text, _FORCES, "force", "900 lbf")


def parse_weight(text: str) -> float:
    """Return a weight per length in N/m from text such as ``0.32 lbf/ft`` or ``3.1 kg/m``."""
    return _parse(text, _WEIGHTS, "weight per length", "0.32 lbf/ft")


def parse_pressure(text: str) -> float:
    """Return a sidewall pressure in N/m from text such as ``500 lbf/ft`` or ``4.4 kN/m``."""
    return _parse(text, _PRESSURES, "sidewall pressure", "500 lbf/ft")


def parse_angle(text: str) -> float:
    """Return an angle in radians from text such as ``22.5 deg`` or ``22.5°``."""
    return radians(_parse(text, {"deg": Fraction(1), "°": Fraction(1)}, "angle", "22.5 deg"))


def show_number(value: float, decimals: int) -> str:
    """Return a number with thousands separators and a fixed number of decimals; never ``-0``."""
    text = f"{value:,.{decimals}f}"
    return text.lstrip("-") if float(text.replace(",", "")) == 0 else text


def show_degrees(angle_deg: float) -> str:
    """Return an angle with as many of three decimals as it needs: ``360°``, ``360.004°``."""
    return f"{show_number(angle_deg, 3).rstrip('0').rstrip('.')}°"


def show_length(length_m: float, system: UnitSystem) -> str:
    """Return a run length or station for people: ``197.2 ft`` or ``60.11 m``."""
    if system is UnitSystem.US:
        return f"{show_number(to_ft(length_m), 1)} ft"
    return f"{show_number(length_m, 2)} m"


def show_radius(length_m: float, system: UnitSystem) -> str:
    """Return a radius, diameter or small length for people: ``9.5 in`` or ``241 mm``."""
    if system is UnitSystem.US:
        text = show_number(to_inches(length_m), 2)
        return f"{text.rstrip('0').rstrip('.')} in"
    return f"{show_number(length_m * 1000, 0)} mm"


def show_diameter(diameter_m: float, system: UnitSystem) -> str:
    """Return a diameter for people, digits enough to work out D/d: ``2.067 in`` or ``52.5 mm``."""
    value, decimals, unit = (
        (to_inches(diameter_m), 4, "in")
        if system is UnitSystem.US
        else (diameter_m * 1000.0, 2, "mm")
    )
    return f"{show_number(value, decimals).rstrip('0').rstrip('.')} {unit}"


def show_deviation(length_m: float, system: UnitSystem) -> str:
    """Return the deviation of a radius for people, two digits: ``0.016 in`` or ``0.41 mm``."""
    value, unit = (
        (to_inches(length_m), "in") if system is UnitSystem.US else (length_m * 1000.0, "mm")
    )
    if not 0.0 < value < inf:
        return f"{value:g} {unit}"
    return f"{show_number(value, max(1 - floor(log10(value)), 0))} {unit}"


def show_station(station_m: float) -> str:
    """Return a station in both systems: ``197.20 ft (60.107 m)``."""
    return f"{show_number(to_ft(station_m), 2)} ft ({show_number(station_m, 3)} m)"


def show_short(length_m: float) -> str:
    """Return a short length in both systems, digits as it needs them: ``0.250 in (6.35 mm)``."""
    places = 2 if length_m >= 0.01 else 3 if length_m >= 0.001 else 4
    inch, mm = show_number(to_inches(length_m), places), show_number(length_m * 1000.0, places - 1)
    return f"{inch} in ({mm} mm)"


def show_force(force_n: float, system: UnitSystem) -> str:
    """Return a tension for people: ``2,275 lbf``, ``84.2 lbf`` or ``10.12 kN``."""
    if system is UnitSystem.US:
        value = to_lbf(force_n)
        return f"{show_number(value, 0 if abs(value) >= 99.95 else 1)} lbf"
    if abs(force_n) >= 999.5:
        return f"{show_number(force_n / 1000, 2)} kN"
    return f"{show_number(force_n, 0)} N"


def show_stop(force_n: float, system: UnitSystem) -> str:
    """Return a tension that must not be passed, as `show_force` does, but never rounded up.

    Examples
    --------
    >>> show_stop(999.7, UnitSystem.METRIC), show_stop(1239.9, UnitSystem.METRIC)
    ('999 N', '1.23 kN')
    """
    unit_n, decimals, unit = 1.0, 0, "N"
    if system is UnitSystem.US:
        unit_n, unit = lbf(1.0), "lbf"
        decimals = 0 if abs(to_lbf(force_n)) >= 100.0 else 1
    elif abs(force_n) >= 1000.0:
        unit_n, decimals, unit = 1000.0, 2, "kN"
    step = 10.0**-decimals
    # a value stated in whole steps may come a rounding error below one
    steps = floor(force_n / unit_n / step * (1.0 + 1e-12))
    return f"{show_number(steps * step, decimals)} {unit}"


def show_pressure(value_n_per_m: float, system: UnitSystem) -> str:
    """Return a sidewall pressure for people: ``312 lbf/ft`` or ``4.55 kN/m``."""
    if system is UnitSystem.US:
        value = to_lbf_per_ft(value_n_per_m)
        return f"{show_number(value, 0 if abs(value) >= 99.95 else 1)} lbf/ft"
    return f"{show_number(value_n_per_m / 1000, 2)} kN/m"


def show_weight(value_n_per_m: float, system: UnitSystem) -> str:
    """Return a weight per length for people, three digits at least: ``2.148 lbf/ft``, ``8.32 N/m``.

    Examples
    --------
    >>> show_weight(0.0613, UnitSystem.US), show_weight(0.0613, UnitSystem.METRIC)
    ('0.00420 lbf/ft', '0.0613 N/m')
    """
    value, unit, decimals = value_n_per_m, "N/m", 1
    if system is UnitSystem.US:
        value, unit, decimals = to_lbf_per_ft(value), "lbf/ft", 3
    if value > 0.0:
        # of the number as it is shown: 9.996 is 10.0, not 10.00
        rounded = float(f"{value:.2e}")
        decimals = max(decimals, min(2 - floor(log10(rounded)), 9))
    return f"{show_number(value, decimals)} {unit}"


def show_volume(volume_m3: float, system: UnitSystem) -> str:
    """Return a volume for people, ``1.02 gal`` or ``3.9 L``; one too small to show is ``under``.

    Examples
    --------
    >>> show_volume(0.0039, UnitSystem.METRIC), show_volume(0.00004, UnitSystem.METRIC)
    ('3.9 L', 'under 0.1 L')
    """
    value, decimals, unit = _volume_in(volume_m3, system)
    text = show_number(value, decimals)
    if volume_m3 > 0.0 and float(text.replace(",", "")) == 0.0:
        return f"under {0.1**decimals:g} {unit}"
    return f"{text} {unit}"


def rounded_volume(volume_m3: float, system: UnitSystem) -> float:
    """Return the volume that `show_volume` shows; 0 for one too small. [m³]"""
    value, decimals, _ = _volume_in(volume_m3, system)
    shown = round(value, decimals)
    return gallons(shown) if system is UnitSystem.US else shown / 1000.0


def _volume_in(volume_m3: float, system: UnitSystem) -> tuple[float, int, str]:
    """Return a volume in the unit people read, its decimals and its unit."""
    if system is UnitSystem.US:
        return to_gallons(volume_m3), 2, "gal"
    return volume_m3 * 1000.0, 1, "L"


def show_share(share: float) -> str:
    """Return a share of limit for people: ``47 %``; never rounded onto the limit from either side.

    Examples
    --------
    >>> show_share(1.0004), show_share(0.996)
    ('just over 100 %', '99.6 %')
    """
    percent = 100.0 * share
    if 0.0 < percent < 0.5:
        return "under 1 %"
    if abs(percent - 100.0) >= 1.0:
        return f"{show_number(percent, 0)} %"
    text = f"{show_number(percent, 1)} %"
    if text == "100.0 %":
        if share == 1.0:
            return "100 %"
        return "just over 100 %" if share > 1.0 else "just under 100 %"
    return text


def show_angle(angle_rad: float) -> str:
    """Return an angle for people, at most one decimal: ``90°`` or ``22.5°``."""
    text = show_number(to_deg(angle_rad), 1)
    return f"{text.removesuffix('.0')}°"
