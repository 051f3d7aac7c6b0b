"""Every key of the job file, with what its value must be; values come out in SI.

One model a table. Numbers that carry a unit are text, and nothing is converted in silence.
Loaded only when a job is read: it needs pydantic.

Longer than most modules, because it is one table: whoever looks for a key finds it here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from fractions import Fraction
from math import isfinite
from re import fullmatch
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, PlainValidator

from analyzer.catalog.frictions import find_friction
from analyzer.catalog.nearest import nearest_name
from analyzer.errors import CatalogError, InputError
from analyzer.geometry.segments import Vector
from analyzer.job.key_lines import KeyPath
from analyzer.job.settings import Arrangement, Attachment, FittingKind, Friction, Passage
from analyzer.job.words import (
    AXES,
    BENDERS,
    BOX_DIRECTIONS,
    INSULATION_CLASSES,
    LENGTH_UNITS,
    METALS,
    READ_AS,
    ROUTE,
    STRANDINGS,
    TEMPERS,
    drawn_as_fault,
    sentence_list,
)
from analyzer.units import (
    LengthUnit,
    UnitSystem,
    parse_angle,
    parse_force,
    parse_length,
    parse_number,
    parse_pressure,
    parse_weight,
    to_deg,
)

__all__ = [
    "BoxesTable",
    "ConductorTable",
    "DrawingTable",
    "FittingTable",
    "InnerFaultsError",
    "JobTable",
    "LimitsTable",
    "PlanTable",
    "PullTable",
    "RacewayTable",
    "SidewallFrictionTable",
]

Choice = TypeVar("Choice", bound=Enum)

_MOST = 10_000
_MOST_BOXES = 60
_LARGEST, _SMALLEST = 1e9, 1e-9  # of lengths, forces, weights, pressures, all in SI


class InnerFaultsError(ValueError):
    """Faults inside one value: `faults` holds the rest of the path and the message of each."""

    def __init__(self, faults: Sequence[tuple[KeyPath, str]]) -> None:
        super().__init__("; ".join(message for _, message in faults))
        self.faults = faults


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f'"{value}"' if isinstance(value, str) else str(value)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"needs text in quotes; got {_shown(value)}")
    if not value.strip():
        raise ValueError("is empty")
    return value.strip()


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"needs true or false; got {_shown(value)}")
    return value


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= _MOST:
        raise ValueError(f"needs a whole number from 1 to {_MOST:,}; got {_shown(value)}")
    return value


def _number(value: Any, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"needs a number without quotes; got {_shown(value)}")
    if not isfinite(value) or not low <= value <= high:
        raise ValueError(f"needs a number from {low:g} to {high:g}; got {value}")
    return float(value)


def _percent(value: Any) -> float:
    return _number(value, 0.0, 100.0)


_TOML_NUMBER = r"[+-]?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?"
_NO_FRICTION = "needs more than zero: every pull rubs; only the low end of a band may be 0"


def _friction_value(value: Any) -> float:
    return _number(value, 0.0, 2.0)


def _quantity(
    parse: Callable[[str], float], example: str, least: str = "zero"
) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        if not isinstance(value, str):
            raise ValueError(f'needs text with a unit, such as "{example}"; got {_shown(value)}')
        number = parse(value)
        if least == "zero" and number < 0:
            raise ValueError(f"cannot be negative; got {_shown(value)}")
        if least == "positive" and number <= 0:
            raise ValueError(f"needs more than zero; got {_shown(value)}")
        if abs(number) > _LARGEST or (least == "positive" and number < _SMALLEST):
            size = "large" if abs(number) > _LARGEST else "small"
            raise ValueError(f"is too {size} to be meant; got {_shown(value)}: check its unit")
        return number + 0.0

    return read


_any_length = _quantity(parse_length, "10 ft", least="any")
_length = _quantity(parse_length, "6 in")
_positive_length = _quantity(parse_length, "9-1/2 in", least="positive")
_force = _quantity(parse_force, "900 lbf")
_positive_force = _quantity(parse_force, "900 lbf", least="positive")
_positive_weight = _quantity(parse_weight, "0.32 lbf/ft", least="positive")
_positive_pressure = _quantity(parse_pressure, "500 lbf/ft", least="positive")


def _degrees(value: Any) -> float:
    if isinstance(value, str) and _is_bare(value):
        bare = value.strip()
        unquoted = f"{bare} without quotes, or " if fullmatch(_TOML_NUMBER, bare) else ""
        raise ValueError(f'"{bare}" has no unit: write {unquoted}"{bare} deg"')
    number = to_deg(parse_angle(value)) if isinstance(value, str) else value
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise ValueError(f"needs a number of degrees; got {_shown(value)}")
    if not isfinite(number) or number <= 0:
        raise ValueError(f"needs more than zero degrees; got {_shown(value)}")
    # an angle written in degrees comes back through radians: drop the last binary digits
    return round(float(number), 9)


def _is_bare(text: str) -> bool:
    try:
        parse_number(text)
    except InputError:
        return False
    return True


def _list(value: Any, read: Callable[[Any], Any], counts: range) -> tuple[Any, ...]:
    if not isinstance(value, list) or len(value) not in counts:
        least, most = counts.start, counts.stop - 1
        many = f"{least}" if least == most else f"{least} to {most}"
        many = many if counts.stop < 1000 else f"{least} or more"
        raise ValueError(f"needs a list of {many} in square brackets; got {_shown(value)}")
    items, faults = [], []
    for index, item in enumerate(value):
        try:
            items.append(read(item))
        except ValueError as error:
            faults.append(((index,), str(error)))
    if faults:
        raise InnerFaultsError(faults)
    return tuple(items)


def _texts(value: Any) -> tuple[str, ...]:
    return _list(value, _text, range(1, 1000))


def _point(value: Any) -> Vector:
    x, y, z = _list(value, _any_length, range(3, 4))
    return (x, y, z)


def _size(value: Any) -> tuple[float, ...]:
    return _list(value, _positive_length, range(1, 4))


def _stations(value: Any) -> tuple[float, ...]:
    return _list(value, _length, range(1, 10_000))


def _stretch(value: Any) -> tuple[float, float]:
    low, high = _list(value, _length, range(2, 3))
    if not low < high:
        raise ValueError(f"needs the lower station first, then a higher one; got {_shown(value)}")
    return (low, high)


def _stretches(value: Any) -> tuple[tuple[float, float], ...]:
    return _list(value, _stretch, range(1, 1000))


def _most_boxes(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= _MOST_BOXES:
        raise ValueError(f"needs a whole number from 0 to {_MOST_BOXES}; got {_shown(value)}")
    return value


def _cost(value: Any) -> float:
    return _number(value, 0.0, 1e12)


def _start(value: Any) -> str | Vector:
    return _text(value) if isinstance(value, str) else _point(value)


def _axes(value: Any) -> tuple[str, str, str]:
    x, y, z = _list(value, _word({word: word for word in AXES}), range(3, 4))
    if {AXES[x], AXES[y], AXES[z]} != {0, 1, 2}:
        raise ValueError(
            "needs one of east or west, one of north or south, one of up or depth, in the order "
            f"of the columns; got {x}, {y}, {z}"
        )
    return (x, y, z)


def _word(words: Mapping[str, str]) -> Callable[[Any], str]:
    """Read one of several words; `words` maps each spelling, in lower case, to the word used."""

    def read(value: Any) -> str:
        text = _text(value)
        found = words.get(" ".join(text.lower().split()))
        if found is None:
            raise ValueError(_none_of(text, list(dict.fromkeys(words.values()))))
        return found

    return read


def _none_of(text: str, words: list[str]) -> str:
    close = nearest_name(text, words)
    hint = f'did you mean "{close}"? It can be ' if close else "it can be "
    return f'"{text}" is not known; {hint}{sentence_list(words)}'


def _choice(enum: type[Choice], *left_out: Choice) -> Callable[[Any], Choice]:
    choices = {member.value: member for member in enum if member not in left_out}
    read_word = _word({word: word for word in choices})

    def read(value: Any) -> Choice:
        return choices[read_word(value)]

    return read


def _length_unit(value: Any) -> LengthUnit:
    return LengthUnit(_word(LENGTH_UNITS)(value))


_fitting_kind = _choice(FittingKind, FittingKind.END)


def _pairs(value: Any, read: Callable[[Any], Any], example: str) -> tuple[tuple[str, Any], ...]:
    if not isinstance(value, dict):
        raise ValueError(
            f"needs a table of name = value, as {example} below a heading of its own; "
            f"got {_shown(value)}"
        )
    pairs, faults = [], []
    for name, item in value.items():
        try:
            pairs.append((name, read(item)))
        except ValueError as error:
            faults.append(((name,), str(error)))
    if faults:
        raise InnerFaultsError(faults)
    return tuple(pairs)


_KIND_WORDS = [kind.value for kind in FittingKind if kind is not FittingKind.END]
_block_word = _word({word: word for word in (*_KIND_WORDS, ROUTE)})


def _block_kind(value: Any) -> FittingKind | None:
    word = _block_word(value)
    return None if word == ROUTE else FittingKind(word)


def _fitting_kinds(value: Any) -> tuple[tuple[str, FittingKind | None], ...]:
    return _pairs(value, _block_kind, '"JB*" = "junction box"')


def _read_as(value: Any) -> str:
    fault = drawn_as_fault(" ".join(_text(value).lower().split()))
    if fault is not None:
        raise ValueError(fault)
    return _word(READ_AS)(value)


def _read_as_by_run(value: Any) -> tuple[tuple[str, str], ...]:
    word = value if isinstance(value, str) else "corners"
    return _pairs(value, _read_as, f'"run 1" = {_shown(word)}')


def _friction_preset(name: str) -> Friction:
    try:
        preset = find_friction(name)
    except CatalogError as error:
        raise ValueError(str(error)) from error
    return Friction(preset.low, preset.expected, preset.high, preset=preset.name)


def _friction(value: Any) -> Friction:
    if isinstance(value, str) and value.strip()[:1].isalpha():
        return _friction_preset(value)
    if isinstance(value, list):
        raise ValueError(
            "needs one number, a name, or a band written { low = 0.20, expected = 0.35, "
            f"high = 0.50 }}; got {_shown(value)}"
        )
    if not isinstance(value, dict):
        number = _friction_value(value)
        if number == 0.0:
            raise ValueError(_NO_FRICTION)
        return Friction(number, number, number)
    names = ("low", "expected", "high")
    faults: list[tuple[KeyPath, str]] = []
    for name in value:
        if name not in names:
            close = nearest_name(name, names, is_key=True)
            hint = f'did you mean "{close}"?' if close else "use low, expected and high"
            faults.append(((name,), f"unknown key; {hint}"))
    read = {}
    for name in names:
        if name not in value:
            faults.append(((), f"needs {name}: a band has low, expected and high"))
            continue
        try:
            read[name] = _friction_value(value[name])
        except ValueError as error:
            faults.append(((name,), str(error)))
    if not faults and not read["low"] <= read["expected"] <= read["high"]:
        text = ", ".join(f"{name} {read[name]:g}" for name in names)
        faults.append(((), f"needs low <= expected <= high; got {text}"))
    if not faults and read["expected"] == 0.0:
        faults.append((("expected",), _NO_FRICTION))
    if faults:
        raise InnerFaultsError(faults)
    return Friction(read["low"], read["expected"], read["high"])


def _trade_size(value: Any) -> str:
    if isinstance(value, str):
        if not value.strip():
            raise ValueError(
                'names no trade size: write type and trade size with a space, like "EMT 2"'
            )
        return _text(value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f'needs a trade size such as "1-1/2"; got {_shown(value)}')
    if not isfinite(value) or value <= 0:
        raise ValueError(f"needs more than zero; got {value}")
    number = Fraction(str(value))
    whole, rest = divmod(number, 1)
    if rest == 0:
        return str(whole)
    return f"{whole}-{rest}" if whole else str(rest)


def _conductor_size(value: Any) -> str:
    if isinstance(value, int) and not isinstance(value, bool) and value > 0:
        return str(value)
    return _text(value)


Text = Annotated[str | None, PlainValidator(_text)]
Flag = Annotated[bool | None, PlainValidator(_flag)]
Length = Annotated[float | None, PlainValidator(_length)]
PositiveLength = Annotated[float | None, PlainValidator(_positive_length)]
Force = Annotated[float | None, PlainValidator(_force)]
PositiveForce = Annotated[float | None, PlainValidator(_positive_force)]
Texts = Annotated[tuple[str, ...], PlainValidator(_texts)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class JobTable(_Table):
    """The whole file; its tables are checked one by one by their own models."""

    title: Annotated[str, PlainValidator(_text)] = ""
    units: Annotated[UnitSystem, PlainValidator(_choice(UnitSystem))] = UnitSystem.US
    drawing: Any = None
    raceway: Any = None
    conductors: Any = None
    existing_conductors: Any = None
    pull: Any = None
    limits: Any = None
    boxes: Any = None
    plan: Any = None
    fittings: Any = None


class DrawingTable(_Table):
    """How to read the route file."""

    units: Annotated[LengthUnit | None, PlainValidator(_length_unit)] = None
    layers: Texts = ()
    start: Annotated[str | Vector | None, PlainValidator(_start)] = None
    snap: Length = None
    accuracy: PositiveLength = None
    fittings: Annotated[
        tuple[tuple[str, FittingKind | None], ...], PlainValidator(_fitting_kinds)
    ] = ()
    read_as: Annotated[tuple[tuple[str, str], ...], PlainValidator(_read_as_by_run)] = ()
    axes: Annotated[tuple[str, str, str] | None, PlainValidator(_axes)] = None
    layouts: Texts = ()
    name_layers: Texts = ()
    join: Length = None


class RacewayTable(_Table):
    """The raceway and its bends."""

    type: Text = None
    trade_size: Annotated[str | None, PlainValidator(_trade_size)] = None
    bend_radius: PositiveLength = None
    bender: Annotated[str | None, PlainValidator(_word(BENDERS))] = None


class ConductorTable(_Table):
    """A number of like conductors: chosen from the catalog, stated, or both."""

    name: Text = None
    count: Annotated[int, PlainValidator(_count)] = 1
    size: Annotated[str | None, PlainValidator(_conductor_size)] = None
    insulation: Text = None
    metal: Annotated[str | None, PlainValidator(_word(METALS))] = None
    temper: Annotated[str | None, PlainValidator(_word(TEMPERS))] = None
    stranding: Annotated[str | None, PlainValidator(_word(STRANDINGS))] = None
    diameter: PositiveLength = None
    weight: Annotated[float | None, PlainValidator(_positive_weight)] = None
    max_tension: PositiveForce = None
    insulation_class: Annotated[str | None, PlainValidator(_word(INSULATION_CLASSES))] = None


class PullTable(_Table):
    """How the conductors are pulled; its table `friction_by_sidewall` has a model of its own."""

    friction: Annotated[Friction | None, PlainValidator(_friction)] = None
    feed_tension: Force = None
    arrangement: Annotated[Arrangement | None, PlainValidator(_choice(Arrangement))] = None
    weight_factor_in_bends: Flag = None
    attachment: Annotated[Attachment | None, PlainValidator(_choice(Attachment))] = None
    line_working_load: PositiveForce = None
    puller_capacity: PositiveForce = None
    lubricant_reach: Length = None
    dry_friction: Annotated[float | None, PlainValidator(_friction_value)] = None
    friction_by_sidewall: Any = None


class SidewallFrictionTable(_Table):
    """Friction in a bend where the conductors press hard."""

    above: Annotated[float, PlainValidator(_positive_pressure)]
    friction: Annotated[float, PlainValidator(_friction_value)]
    source: Text = None


class LimitsTable(_Table):
    """A named rule set, and single values that override it."""

    rules: Text = None
    degrees_between_pull_points: Annotated[float | None, PlainValidator(_degrees)] = None
    length_between_pull_points: PositiveLength = None
    sidewall_pressure: Annotated[float | None, PlainValidator(_positive_pressure)] = None
    clearance: Length = None


class BoxesTable(_Table):
    """Where boxes may be added, and what they cost."""

    run: Text = None
    candidates: Annotated[tuple[float, ...], PlainValidator(_stations)] = ()
    spacing: PositiveLength = None
    need: Length = None
    keep_out: Annotated[tuple[tuple[float, float], ...], PlainValidator(_stretches)] = ()
    allowed: Annotated[tuple[tuple[float, float], ...], PlainValidator(_stretches)] = ()
    at_corners: Flag = None
    most: Annotated[int | None, PlainValidator(_most_boxes)] = None
    direction: Annotated[str | None, PlainValidator(_word(BOX_DIRECTIONS))] = None
    cost_per_box: Annotated[float | None, PlainValidator(_cost)] = None
    cost_per_setup: Annotated[float | None, PlainValidator(_cost)] = None


class PlanTable(_Table):
    """What the plan for the crew needs beside the pull."""

    feed_at: Text = None
    slack_each_end: Length = None
    slack_per_box: Length = None
    slack_percent: Annotated[float | None, PlainValidator(_percent)] = None
    call_out_every: PositiveLength = None
    line_breaking_strength: PositiveForce = None


class FittingTable(_Table):
    """Settings for a drawn fitting of that name, or a fitting placed by the job."""

    name: Annotated[str, PlainValidator(_text)]
    kind: Annotated[FittingKind | None, PlainValidator(_fitting_kind)] = None
    at: Length = None
    position: Annotated[Vector | None, PlainValidator(_point)] = None
    run: Text = None
    passage: Annotated[Passage | None, PlainValidator(_choice(Passage))] = None
    pull_point: Flag = None
    feed_tension: Force = None
    size: Annotated[tuple[float, ...] | None, PlainValidator(_size)] = None
