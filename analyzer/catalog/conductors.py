"""Conductors: from the published tables, or stated in a job.

Dimensions: NEC Chapter 9 Table 5 (stranded and solid), Table 5A (compact), Table 8 (bare, metal
area). Weights: published data sheets where one was read for that metal, insulation and stranding;
otherwise metal area and insulation annulus by density, which reads up to 5.6 % low and is raised
by an allowance for every force.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from analyzer.catalog.conductor_sizes import parse_conductor_size, size_name
from analyzer.catalog.nearest import fold_name, nearest_names, nearest_words
from analyzer.catalog.tables import Row, find_row, read_table
from analyzer.errors import CatalogError
from analyzer.units import inches, parse_weight, to_inches

__all__ = ["Conductor", "find_conductor", "insulation_types", "metal_weight_n_per_m"]


@dataclass(frozen=True, slots=True)
class Conductor:
    """One conductor or cable of a pull.

    Attributes
    ----------
    name : str
        As the job or the tables call it: ``control cable``, ``4/0 AWG THHN copper``. People see
        `full_name`.
    size : str or None
        Table size (``12``, ``4/0``, ``250``); None when stated by diameter and weight.
    insulation, metal, temper, stranding : str or None
        Choices made; None where they do not apply.
    diameter_m : float
        Over the insulation. [m]
    area_in2 : float
        Area for fill: the published one, else pi/4 d². [in²]
    weight_n_per_m : float
        Weight without any allowance. [N/m]
    weight_from : str
        ``published``, ``computed`` or ``stated``.
    weight_allowance : float
        Factor on the weight for every force: 1.06 for a computed weight, else 1.
    metal_area_cmil : float or None
        Metal area. [circular mils]
    max_tension_n : float or None
        Stated limit of one conductor; None: from the metal area and table of limits. [N]
    insulation_class : str or None
        Class that the sidewall pressure table knows, stated in the job.
    confirmed : bool
        False where a table value used has one source only.
    source : str
        Tables used, or ``job``.
    assumptions : tuple of str
        What was taken because the job does not say, one sentence each.
    doubt : str
        What is doubtful where `confirmed` is False; empty otherwise.
    inch_seen : bool
        False where the inch figure was computed from the metric one: its last digit can differ
        from print.
    weight_doubt : str
        Parts of a computed weight that no data sheet was compared with, ``the insulation density of
        THW``; empty otherwise.
    """

    name: str
    size: str | None
    insulation: str | None
    metal: str | None
    temper: str | None
    stranding: str | None
    diameter_m: float
    area_in2: float
    weight_n_per_m: float
    weight_from: str
    weight_allowance: float
    metal_area_cmil: float | None
    max_tension_n: float | None
    insulation_class: str | None
    confirmed: bool
    source: str
    assumptions: tuple[str, ...] = ()
    doubt: str = ""
    inch_seen: bool = True
    weight_doubt: str = ""

    @property
    def pulling_weight_n_per_m(self) -> float:
        """Weight that every force is computed with: allowance included. [N/m]"""
        return self.weight_n_per_m * self.weight_allowance

    @property
    def full_name(self) -> str:
        """Name, followed in brackets by size, insulation and metal where it does not hold them."""
        if self.size is None:
            return self.name
        made_of = _made_of(self.size, self.insulation, self.metal, self.stranding)
        return self.name if made_of in self.name else f"{self.name} ({made_of})"


_BARE = "bare"
_USE = ("USE", "USE-2")
_METALS = {"copper": "copper", "cu": "copper", "aluminum": "aluminum", "aluminium": "aluminum",
           "al": "aluminum"}  # fmt: skip
_TEMPERS = ("hard", "3/4 hard", "AA-8000", "1/2 hard", "soft")
_STRANDINGS = ("stranded", "compact", "solid")
_COMPACT_COLUMNS = {"THHN": "thhn", "XHHW": "xhhw", "THW": "thw_thhw"}
_INCH_COMPUTED = ", inch figure computed from the metric one"


@dataclass(frozen=True, slots=True)
class _Dimensions:
    """Diameter and area as published, and where they were read."""

    diameter_in: float
    area_in2: float
    source: str
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class _Weight:
    """Weight of one conductor, where it comes from, and what is doubtful about it."""

    n_per_m: float
    published: bool
    source: str
    doubt: str = ""
    model_doubt: str = ""


def insulation_types() -> tuple[str, ...]:
    """Return the insulation types that can be named, ``bare`` last."""
    return (*_insulation_groups(), _BARE)


def find_conductor(
    size: str | int,
    insulation: str,
    metal: str,
    temper: str | None = None,
    stranding: str | None = None,
) -> Conductor:
    """Return a conductor of the tables.

    Where no stranding is given, copper is taken stranded and aluminum compact (aluminum building
    wire is made compact: common practice), stranded where the table has no compact one; the
    choice stands in `assumptions` and `source`. USE and USE-2 have no column of their own:
    compact aluminum takes the maker's sheet, anything else the RHH rows with outer covering, the
    larger ones. THW insulation is taken as dense as that of THHN, the safe side; all others
    as 1.15 g/cm3.

    Parameters
    ----------
    size : str or int
        As `parse_conductor_size` reads it.
    insulation : str
        Any type of Table 5 (``THHN``, ``THWN-2``, ``XHHW-2``, ``RHH*`` for RHH without outer
        covering, ``THHN/THWN-2``), ``USE-2`` or ``bare``.
    metal : str
        ``copper`` or ``aluminum``.
    temper : str, optional
        Of aluminum: ``hard``, ``3/4 hard``, ``AA-8000``, ``1/2 hard``, ``soft``.
    stranding : str, optional
        ``stranded``, ``compact`` or ``solid``.

    Raises
    ------
    CatalogError
        If a name is unknown (the nearest is named) or the tables hold no such conductor.

    Examples
    --------
    >>> find_conductor("4/0", "THHN", "copper").name
    '4/0 AWG THHN copper'

    References
    ----------
    NFPA 70, *National Electrical Code*, 2020 and 2023, Chapter 9 Tables 5, 5A and 8.
    """
    size = parse_conductor_size(size)
    written, group = _find_insulation(insulation)
    metal = _choose(metal, _METALS, "metal")
    temper = None if temper is None else _choose(temper, {t: t for t in _TEMPERS}, "temper")
    if temper is not None and metal == "copper":
        raise CatalogError(f"a temper goes with aluminum: leave out temper = {temper!r} for copper")
    assumptions: list[str] = []
    stranding_note = ""
    if stranding is None:
        stranding = _default_stranding(size, written, group, metal)
        if metal == "aluminum":
            stranding_note = f"; stranding taken as {stranding}"
            why = (
                "as aluminum building wire is made" if stranding == "compact" else "no compact one"
            )
            assumptions.append(
                f"{size_name(size)} {written} aluminum: stranding not stated, "
                f"{stranding} taken ({why}; common practice)"
            )
    else:
        stranding = _choose(stranding, {s: s for s in _STRANDINGS}, "stranding")
    if written in _USE:
        group = "RHH*" if (metal, stranding) == ("aluminum", "compact") else "RHH"
        if group == "RHH":
            assumptions.append(
                f"{size_name(size)} {written}: the tables have no {written} column, the RHH rows "
                "with outer covering are taken, the larger ones; write RHH* for one without"
            )
    metal_row = _metal_row(size, stranding)
    dimensions = _dimensions(size, group, metal, stranding, metal_row)
    weight = _weight(size, group, metal, stranding, dimensions.diameter_in, metal_row)
    doubt = "; ".join(dict.fromkeys(text for text in (dimensions.doubt, weight.doubt) if text))
    return Conductor(
        name=_made_of(size, written, metal, stranding),
        size=size,
        insulation=written,
        metal=metal,
        temper=temper,
        stranding=stranding,
        diameter_m=inches(dimensions.diameter_in),
        area_in2=dimensions.area_in2,
        weight_n_per_m=weight.n_per_m,
        weight_from="published" if weight.published else "computed",
        weight_allowance=1.0 if weight.published else _model("weight allowance", "computed weight"),
        metal_area_cmil=float(metal_row["circular_mils"]),
        max_tension_n=None,
        insulation_class=None,
        confirmed=not doubt,
        source=f"{dimensions.source}; {weight.source}{stranding_note}",
        assumptions=tuple(assumptions),
        doubt=doubt,
        weight_doubt=weight.model_doubt,
        inch_seen=_INCH_COMPUTED not in dimensions.source,
    )


def _made_of(size: str, insulation: str | None, metal: str | None, stranding: str | None) -> str:
    """Size, insulation, stranding and metal in words; stranded goes without saying."""
    told = None if stranding == "stranded" else stranding
    return " ".join(filter(None, (size_name(size), insulation, told, metal)))


def _insulation_groups() -> dict[str, str]:
    """Every type name of Table 5 and the row group that holds it."""
    groups: dict[str, str] = {}
    for row in read_table("insulated_conductors").rows:
        for name in row["types"].split("(")[0].split(","):
            groups.setdefault(name.strip(), row["insulation"])
    return groups | dict.fromkeys(_USE, "RHH")


def _find_insulation(text: str) -> tuple[str, str]:
    """Return the type as the table writes it, and its row group."""
    groups = _insulation_groups() | {_BARE: _BARE}
    folded = {fold_name(name): name for name in groups}
    parts = text.replace(",", "/").split("/")
    names = []
    for part in parts:
        key = fold_name(part.replace("type", "").replace("Type", ""))
        if key not in folded:
            words = nearest_words(nearest_names(part, groups))
            raise CatalogError(
                f"no insulation {text!r} in the tables{words}. There are {', '.join(groups)}"
            )
        names.append(folded[key])
    held = {groups[name] for name in names}
    if len(held) > 1:
        raise CatalogError(
            f"insulation {text!r} names types of different size: write one of {', '.join(names)}"
        )
    return "/".join(names), held.pop()


def _choose(text: str, choices: dict[str, str], what: str) -> str:
    folded = {fold_name(name): value for name, value in choices.items()}
    found = folded.get(fold_name(text))
    if found is None:
        words = nearest_words(choices[name] for name in nearest_names(text, choices))
        values = ", ".join(dict.fromkeys(choices.values()))
        raise CatalogError(f"no {what} {text!r}{words}. There are {values}")
    return found


def _default_stranding(size: str, written: str, group: str, metal: str) -> str:
    if metal == "copper":
        return "stranded"
    if written in _USE or group == "RHH*":
        return "compact" if _weight_row(size, "RHH*", metal, "compact") else "stranded"
    return "compact" if _compact_row(size, group) is not None else "stranded"


def _metal_row(size: str, stranding: str) -> Row:
    rows = [r for r in read_table("conductor_properties").rows if r["size_awg_kcmil"] == size]
    for row in rows:
        if (row["strands"] == "1") == (stranding == "solid"):
            return row
    raise CatalogError(f"no {stranding} {size_name(size)} in NEC Chapter 9 Table 8")


def _compact_row(size: str, group: str) -> Row | None:
    column = _COMPACT_COLUMNS.get(group, _BARE if group == _BARE else None)
    for row in read_table("compact_conductors").rows:
        if column and row["size_awg_kcmil"] == size and row[f"{column}_diameter_in"]:
            return row
    return None


def _weight_row(size: str, group: str, metal: str, stranding: str) -> Row | None:
    for row in read_table("conductor_weights").rows:
        if (row["insulation"], row["metal"], row["stranding"], row["size_awg_kcmil"]) == (
            group,
            metal,
            stranding,
            size,
        ):
            return row
    return None


def _dimensions(size: str, group: str, metal: str, stranding: str, metal_row: Row) -> _Dimensions:
    if stranding == "compact":
        return _compact_dimensions(size, group, metal)
    if group == _BARE:
        area_in2 = float(metal_row["overall_area_mm2"]) * to_inches(0.001) ** 2
        diameter = float(metal_row["overall_diameter_in"])
        return _Dimensions(
            diameter, area_in2, "NEC Chapter 9 Table 8, values of NEC 2011" + _INCH_COMPUTED
        )
    for row in read_table("insulated_conductors").rows:
        if row["insulation"] == group and row["size_awg_kcmil"] == size:
            source = "NEC Chapter 9 Table 5, values of NEC 2011"
            source += _INCH_COMPUTED if row["inch_value_seen"] == "no" else ""
            return _Dimensions(float(row["diameter_in"]), float(row["area_in2"]), source)
    sizes = [
        row["size_awg_kcmil"]
        for row in read_table("insulated_conductors").rows
        if row["insulation"] == group
    ]
    raise CatalogError(
        f"no {size_name(size)} {group} in NEC Chapter 9 Table 5, which holds {sizes[0]} to "
        f"{size_name(sizes[-1])}"
    )


def _compact_dimensions(size: str, group: str, metal: str) -> _Dimensions:
    row = _compact_row(size, group)
    if row is not None:
        column = _COMPACT_COLUMNS.get(group, _BARE)
        diameter = float(row[f"{column}_diameter_in"])
        area = float(row[f"{column}_area_in2"]) if group != _BARE else pi / 4 * diameter**2
        return _Dimensions(
            diameter, area, "NEC Chapter 9 Table 5A, values of NEC 2011" + _INCH_COMPUTED
        )
    sheet = _weight_row(size, group, metal, "compact")
    if sheet is not None and sheet["sheet_diameter_in"]:
        diameter = float(sheet["sheet_diameter_in"])
        doubt = f"the diameter of compact {size_name(size)} {group} is from one maker's sheet"
        return _Dimensions(diameter, pi / 4 * diameter**2, "maker's data sheet", doubt)
    raise CatalogError(
        f"no compact {size_name(size)} {group} {metal} in NEC Chapter 9 Table 5A: give "
        "stranding = 'stranded', or state diameter and weight"
    )


def _weight(
    size: str, group: str, metal: str, stranding: str, diameter_in: float, metal_row: Row
) -> _Weight:
    row = _weight_row(size, group, metal, stranding)
    if row is not None:
        doubt = ""
        if row["confirmed"] == "no":
            why = f" ({row['note']})" if row["note"] else ""
            doubt = (
                f"the published weight of {size_name(size)} {group} {metal} is not confirmed{why}"
            )
        weight = parse_weight(f"{row['weight_lb_per_1000ft']} lb/1000 ft")
        return _Weight(weight, True, "published weight of a data sheet", doubt)
    solid = metal_weight_n_per_m(float(metal_row["circular_mils"]), metal)
    mass = solid / parse_weight("1 kg/m") * _model("stranding factor", stranding)
    used = [("metal density", metal), ("stranding factor", stranding)]
    if group != _BARE:
        inside_m = inches(_metal_diameter_in(size, stranding, metal_row))
        annulus_m2 = pi / 4 * (inches(diameter_in) ** 2 - inside_m**2)
        mass += annulus_m2 * 1000 * _model("insulation density", group)
        used.append(("insulation density", group))
    weight = mass * parse_weight("1 kg/m")
    parts = "metal" if group == _BARE else "metal and insulation"
    unsure = [
        f"the {part} of {of}" for part, of in used if _model_row(part, of)["confirmed"] == "no"
    ]
    return _Weight(weight, False, f"weight computed from {parts}", model_doubt=" and ".join(unsure))


def metal_weight_n_per_m(area_cmil: float, metal: str) -> float:
    """Return the weight of bare solid metal of an area in circular mils. [N/m]

    Raises
    ------
    CatalogError
        If the density of the metal is not in the table.
    """
    area_m2 = pi / 4 * inches(0.001) ** 2 * area_cmil
    return area_m2 * 1000 * _model("metal density", metal) * parse_weight("1 kg/m")


def _metal_diameter_in(size: str, stranding: str, metal_row: Row) -> float:
    if stranding == "compact":
        for row in read_table("compact_conductors").rows:
            if row["size_awg_kcmil"] == size:
                return float(row["bare_diameter_in"])
    return float(metal_row["overall_diameter_in"])


def _model(part: str, applies_to: str) -> float:
    return float(_model_row(part, applies_to)["value"])


def _model_row(part: str, applies_to: str) -> Row:
    return find_row("weight_model", part=part, applies_to=applies_to)
