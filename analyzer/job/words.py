"""Words that a job may use for a choice, each with its plain spellings; names to compare."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = [
    "AXES",
    "BENDERS",
    "BOX_DIRECTIONS",
    "INSULATION_CLASSES",
    "LENGTH_UNITS",
    "METALS",
    "READ_AS",
    "ROUTE",
    "STRANDINGS",
    "TABLE_SYNONYMS",
    "TEMPERS",
    "drawn_as_fault",
    "run_name_key",
    "sentence_list",
]

ROUTE = "route"
"""Said of a block that is no fitting: what it draws is raceway."""

AXES = {"east": 0, "west": 0, "north": 1, "south": 1, "up": 2, "depth": 2}
"""What a coordinate column can mean, and which of the three axes that is."""

BENDERS = {"one-shot": "one-shot", "other": "other"}
"""Kind of bender, as the table of smallest bend radii knows it."""

BOX_DIRECTIONS = {"better": "better", "forward": "forward", "reverse": "reverse"}
"""Which way the legs between boxes are to be pulled."""

METALS = {
    "copper": "copper",
    "cu": "copper",
    "aluminum": "aluminum",
    "aluminium": "aluminum",
    "al": "aluminum",
}
"""Conductor metals."""

TEMPERS = {
    "hard": "hard",
    "3/4 hard": "3/4 hard",
    "¾ hard": "3/4 hard",
    "aa-8000": "AA-8000",
    "1/2 hard": "1/2 hard",
    "½ hard": "1/2 hard",
    "soft": "soft",
}
"""Tempers of aluminum that the table of tension limits knows."""

STRANDINGS = {"stranded": "stranded", "compact": "compact", "solid": "solid"}
"""How the metal of a conductor is made up."""

INSULATION_CLASSES = {
    "300 v": "300 V",
    "600 v control": "600 V control",
    "600 v power": "600 V power",
    "5-35 kv shielded": "5-35 kV shielded",
    "interlocked armor": "interlocked armor",
    "corrugated armor": "corrugated armor",
}
"""Classes that the table of sidewall pressures knows."""

TABLE_SYNONYMS = {
    "conduit": "raceway",
    "conduits": "raceway",
    "cable": "conductors",
    "cables": "conductors",
    "wire": "conductors",
    "wires": "conductors",
}
"""What the trade may call a table of the job, with its name; for messages only."""

READ_AS = {"corners": "corners", "chords": "chords", "survey": "survey"}
"""How points and drawn lines can be asked to be read; arcs and splines are read as drawn."""

LENGTH_UNITS = {
    "in": "in", "inch": "in", "inches": "in",
    "ft": "ft", "foot": "ft", "feet": "ft",
    "yd": "yd", "yard": "yd", "yards": "yd",
    "mi": "mi", "mile": "mi", "miles": "mi",
    "us-ft": "us-ft", "us survey foot": "us-ft", "us survey feet": "us-ft",
    "mm": "mm", "millimeter": "mm", "millimeters": "mm", "millimetre": "mm", "millimetres": "mm",
    "cm": "cm", "centimeter": "cm", "centimeters": "cm", "centimetre": "cm", "centimetres": "cm",
    "dm": "dm", "decimeter": "dm", "decimeters": "dm", "decimetre": "dm", "decimetres": "dm",
    "m": "m", "meter": "m", "meters": "m", "metre": "m", "metres": "m",
    "km": "km", "kilometer": "km", "kilometers": "km", "kilometre": "km", "kilometres": "km",
}  # fmt: skip
"""Units a route file can be drawn in."""


def drawn_as_fault(word: str) -> str | None:
    """Return what to say where a run is to be read as a drawn curve, else None.

    Examples
    --------
    >>> drawn_as_fault("survey")
    """
    if word not in ("arcs", "spline"):
        return None
    return (
        f'"{word}" belongs to curves of a drawing, which are always read as drawn: leave it out '
        f"there. Points and straight lines can be read as {sentence_list(READ_AS)}"
    )


def run_name_key(name: str) -> str:
    """Return the name of a fitting or run for comparison: capitals and runs of spaces are alike.

    Examples
    --------
    >>> run_name_key("Panel  P1") == run_name_key("panel p1")
    True
    """
    return " ".join(name.casefold().split())


def sentence_list(words: Iterable[str]) -> str:
    """Return words in quotes, joined for a sentence.

    Examples
    --------
    >>> sentence_list(["us", "metric"])
    '"us", "metric"'
    """
    return ", ".join(f'"{word}"' for word in words)
