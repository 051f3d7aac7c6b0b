"""Raceways of the published tables.

Dimensions: NEC Chapter 9 Table 4. Bend radii: NEC Chapter 9 Table 2 by kind of bender, and Table
354.24 for HDPE. Values keep the published inch figures; lengths are turned into meters here.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.catalog.nearest import fold_name, nearest_names, nearest_words
from analyzer.catalog.tables import Row, find_row, read_table
from analyzer.errors import CatalogError, InputError
from analyzer.units import inches, parse_number

__all__ = ["Raceway", "find_raceway", "raceway_types", "trade_size_number", "trade_sizes"]


@dataclass(frozen=True, slots=True)
class Raceway:
    """One raceway type in one trade size.

    Attributes
    ----------
    type : str
        Name that finds it again, such as ``EMT``, ``PVC-40`` or ``HDPE``.
    trade_size : str
        Trade size, such as ``1-1/2``.
    inside_diameter_m, outside_diameter_m : float
        Outside is None where the table has none. [m]
    area_in2 : float
        Published total inside area, the one fill is counted with. [in²]
    bend_radius_m : tuple of (bender, float)
        Smallest centerline radius by kind of bender, ``one-shot`` and ``other``
        (or one entry, ``table 354.24``, for HDPE); empty where no table has the size. [m]
    default_bender : str
        Which of them applies when the job names no bender.
    confirmed : bool
        False where one text only was read: carried through to the user.
    source : str
        Published table the row comes from.
    article : str
        NEC article, such as ``358``.
    doubt : str
        What is doubtful about the row; empty where nothing is.
    inch_seen : bool
        False where the inch figure was not read on a page but agrees with the metric one:
        its last digit can differ from print.
    outside_confirmed : bool
        False where the table's outside diameter is not confirmed.
    """

    type: str
    trade_size: str
    inside_diameter_m: float
    outside_diameter_m: float | None
    area_in2: float
    bend_radius_m: tuple[tuple[str, float], ...]
    default_bender: str
    confirmed: bool
    source: str
    article: str = ""
    doubt: str = ""
    inch_seen: bool = True
    outside_confirmed: bool = True


@dataclass(frozen=True, slots=True)
class _Kind:
    """One raceway type: its table rows, its article in `bend_limits`, bender and plain names."""

    table_type: str
    limits_type: str
    bender: str
    aliases: tuple[str, ...]


_ONE_SHOT, _OTHER, _OWN_TABLE = "one-shot", "other", "table 354.24"
_KINDS = {
    "EMT": _Kind("EMT", "EMT", _ONE_SHOT, ("electrical metallic tubing", "thinwall")),
    "IMC": _Kind("IMC", "IMC", _ONE_SHOT, ("intermediate metal conduit", "intermediate")),
    "RMC": _Kind(
        "RMC",
        "RMC",
        _ONE_SHOT,
        ("rigid", "rigid metal conduit", "rigid metal", "rigid steel", "GRC", "GRS"),
    ),
    "PVC-40": _Kind(
        "PVC-40/HDPE",
        "PVC",
        _ONE_SHOT,
        ("PVC 40", "PVC Sch 40", "PVC Schedule 40", "Schedule 40 PVC", "Sch 40 PVC"),
    ),
    "PVC-80": _Kind(
        "PVC-80",
        "PVC",
        _ONE_SHOT,
        ("PVC 80", "PVC Sch 80", "PVC Schedule 80", "Schedule 80 PVC", "Sch 80 PVC"),
    ),
    "PVC-A": _Kind("PVC-A", "PVC", _ONE_SHOT, ("PVC Type A", "Type A PVC")),
    "PVC-EB": _Kind("PVC-EB", "PVC", _ONE_SHOT, ("PVC Type EB", "Type EB PVC")),
    "HDPE": _Kind(
        "PVC-40/HDPE",
        "HDPE",
        _OWN_TABLE,
        ("HDPE 40", "HDPE Sch 40", "HDPE Schedule 40", "high density polyethylene conduit"),
    ),
    "FMC": _Kind("FMC", "FMC", _OTHER, ("flexible metal conduit", "flex", "flexible metal")),
    "LFMC": _Kind("LFMC", "LFMC", _OTHER, ("liquidtight flexible metal conduit",)),
    "LFNC-A": _Kind(
        "LFNC-A", "LFNC", _OTHER, ("FNMC-A", "liquidtight flexible nonmetallic conduit A")
    ),
    "LFNC-B": _Kind(
        "LFNC-B", "LFNC", _OTHER, ("FNMC-B", "liquidtight flexible nonmetallic conduit B")
    ),
    "ENT": _Kind("ENT", "ENT", _OTHER, ("electrical nonmetallic tubing", "ENT-2011")),
    "ENT-2020": _Kind("ENT-2020", "ENT", _OTHER, ("ENT 2023", "ENT 2017")),
}
_TWO_MEANINGS = {
    "pvc40/hdpe": "PVC-40 or HDPE (one row of Table 4, but each has its own bend radius)",
    "hdpe/pvc40": "PVC-40 or HDPE (one row of Table 4, but each has its own bend radius)",
    "pvc": "PVC-40 or PVC-80",
    "lfnc": "LFNC-A or LFNC-B",
    "conduit": "RMC, IMC, PVC-40 or another type",
}


def raceway_types() -> tuple[str, ...]:
    """Return the raceway types that can be named, in the order of the catalog."""
    return tuple(_KINDS)


def trade_sizes(type: str) -> tuple[str, ...]:
    """Return the trade sizes the tables have for a raceway type, smallest first.

    Raises
    ------
    CatalogError
        If there is no such type; the message names the nearest.
    """
    table_type = _KINDS[_find_type(type)].table_type
    return tuple(
        row["trade_size"] for row in read_table("raceways").rows if row["type"] == table_type
    )


def find_raceway(type: str, trade_size: str | float) -> Raceway:
    """Return a raceway by type and trade size, both as people write them.

    PVC takes the one-shot column of Table 2 unless the job names the bender: identified bending
    equipment forms the bend over a full shoe, and factory elbows have these radii; a bend warmed
    and formed by hand is an ``other`` bend. ``ENT`` is the older and smaller table, on the safe
    side; ``ENT-2020`` the later one, which is not confirmed.

    Parameters
    ----------
    type : str
        Type or alias, in any case: ``EMT``, ``rigid``, ``PVC Sch 40``, ``HDPE``, ``LFNC-A``.
    trade_size : str or float
        ``2``, ``"1-1/2"``, ``1.5``, ``'1 1/2 in'``.

    Raises
    ------
    CatalogError
        If type or size is unknown, or a type could mean two; the message names the nearest.

    Examples
    --------
    >>> find_raceway("rigid", 1.5).trade_size
    '1-1/2'

    References
    ----------
    NFPA 70, *National Electrical Code*, 2020 and 2023, Chapter 9 Tables 2 and 4, Table 354.24.
    """
    name = _find_type(type)
    kind = _KINDS[name]
    wanted = trade_size_number(trade_size)
    sizes = trade_sizes(name)
    size = next((size for size in sizes if wanted == trade_size_number(size)), None)
    if size is None:
        raise CatalogError(
            f"no {name} of trade size {trade_size} in the tables; there are {', '.join(sizes)}"
        )
    row = find_row("raceways", type=kind.table_type, trade_size=size)
    outside = row["outside_diameter_in"]
    limits = find_row("bend_limits", type=kind.limits_type)
    return Raceway(
        type=name,
        trade_size=size,
        inside_diameter_m=inches(float(row["internal_diameter_in"])),
        outside_diameter_m=inches(float(outside)) if outside else None,
        area_in2=float(row["total_area_in2"]),
        bend_radius_m=_bend_radii(size, kind),
        default_bender=kind.bender,
        confirmed=row["confirmed"] == "yes",
        source=_source(row),
        article=limits["article"],
        doubt=row["note"] if row["confirmed"] == "no" else "",
        inch_seen=row["inch_value_seen"] != "no",
        outside_confirmed=row["od_confirmed"] != "no",
    )


def _find_type(text: str) -> str:
    folded = fold_name(text)
    if folded in _TWO_MEANINGS:
        raise CatalogError(f"raceway type {text!r} could mean two: write {_TWO_MEANINGS[folded]}")
    for name, kind in _KINDS.items():
        if folded in map(fold_name, (name, *kind.aliases)):
            return name
    names = {alias: name for name, kind in _KINDS.items() for alias in (name, *kind.aliases)}
    words = nearest_words(names[name] for name in nearest_names(text, names))
    raise CatalogError(
        f"no raceway type {text!r} in the catalog{words}. There are {', '.join(_KINDS)}"
    )


def trade_size_number(trade_size: str | float) -> float:
    """Return a trade size as a number, whichever way it is written.

    It is a name, not a length: nothing measures just so many inches.

    Raises
    ------
    CatalogError
        If it is no number.

    Examples
    --------
    >>> trade_size_number("1-1/2 in")
    1.5
    """
    if not isinstance(trade_size, str):
        return float(trade_size)
    text = trade_size.strip().casefold().removesuffix(".")
    for word in ('"', "″", "”", "inches", "inch", "in"):
        text = text.removesuffix(word).strip()
    try:
        return parse_number(text.removesuffix("-"))
    except InputError as error:
        raise CatalogError(
            f"{trade_size!r} is no trade size: write it like 2, 1-1/2 or 1.5"
        ) from error


def _bend_radii(size: str, kind: _Kind) -> tuple[tuple[str, float], ...]:
    if kind.bender == _OWN_TABLE:
        own = [r for r in read_table("bend_radius_table_354_24").rows if r["trade_size"] == size]
        return tuple((_OWN_TABLE, inches(float(row["bend_radius_in"]))) for row in own)
    rows = [r for r in read_table("bend_radius_table_2").rows if r["trade_size"] == size]
    return tuple(
        (bender, inches(float(row[column])))
        for row in rows
        for bender, column in ((_ONE_SHOT, "one_shot_full_shoe_in"), (_OTHER, "other_bends_in"))
    )


def _source(row: Row) -> str:
    edition = "NEC 2011" if row["edition"].startswith("NEC 2011") else "later editions"
    source = f"NEC Chapter 9 Table 4, values of {edition}"
    if "superseded" in row["edition"]:
        source += ", on the safe side of the larger ones of later editions"
    if row["confirmed"] == "no":
        source += ", not confirmed"
    if row["inch_value_seen"] == "no":
        source += ", inch figure not read on a page"
    return source
