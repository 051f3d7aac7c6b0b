"""Quick use: a job from options of the command line, alone or laid over a job file."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from analyzer.errors import CatalogError
from analyzer.job.faults import Faults
from analyzer.job.key_lines import KeyPath
from analyzer.job.reading import parse_tables, read_text
from analyzer.job.settings import DrawingSettings, Job
from analyzer.job.words import METALS, STRANDINGS, TEMPERS

__all__ = ["drawing_from_options", "job_from_options"]

_SIZE_UNITS = ("awg", "kcmil", "mcm")


def job_from_options(
    *,
    base: Path | None = None,
    raceway: str | None = None,
    conductor: Sequence[str] = (),
    friction: str | None = None,
    units: str | None = None,
    feed_tension: str | None = None,
    bend_radius: str | None = None,
    rules: str | None = None,
    layers: Sequence[str] = (),
    snap: str | None = None,
    accuracy: str | None = None,
    metric: bool = False,
) -> Job:
    """Return the settled job of options, laid over a job file where one is given.

    Options win over the file, key by key; conductors given as options replace those of the file.

    Parameters
    ----------
    base : Path, optional
        Job file underneath.
    raceway : str, optional
        Type and trade size, such as ``EMT 2`` or ``PVC 40 1-1/2``.
    conductor : sequence of str
        Such as ``3 x 4/0 THHN copper``, with temper and stranding where they matter.
    friction : str, optional
        Low, expected and high, such as ``0.2,0.35,0.5``, one number, or a name of the catalog.
    units : str, optional
        Unit of the route file where it does not say.
    feed_tension, bend_radius, snap, accuracy : str, optional
        Quantities with their unit.
    rules : str, optional
        Name of a rule set.
    layers : sequence of str
        Patterns of the layers to read; one may hold several, with commas between.
    metric : bool
        Show results in metric units.

    Raises
    ------
    JobError
        If file or options cannot be used; each fault quotes its option, or file, line and key.
    """
    from analyzer.job.settling import settle_job

    raw: dict[str, Any] = {}
    faults = Faults()
    if base is not None:
        raw, lines = parse_tables(read_text(base), base.name)
        faults = Faults(base.name, lines)
    options: dict[KeyPath, str] = {}
    faults.options = options

    def put(path: KeyPath, value: Any, option: str) -> None:
        table, key = path
        inner = raw.setdefault(str(table), {})
        if isinstance(inner, dict):
            inner[key] = value
            options[path] = option

    if raceway is not None and not raceway.strip():
        options["raceway",] = '--raceway ""'
        faults.add(("raceway",), 'is empty: write it like "EMT 2"')
    elif raceway is not None:
        option = f'--raceway "{raceway}"'
        type_name, trade_size = _split_raceway(raceway)
        put(("raceway", "type"), type_name, option)
        put(("raceway", "trade_size"), trade_size, option)
    if conductor:
        raw["conductors"] = []
        for index, text in enumerate(conductor):
            options["conductors", index] = f'--conductor "{text}"'
            raw["conductors"].append(_conductor(text, ("conductors", index), faults))
    if friction is not None:
        put(("pull", "friction"), _friction(friction, faults), f'--friction "{friction}"')
    quantities = {
        ("drawing", "units"): units,
        ("pull", "feed_tension"): feed_tension,
        ("raceway", "bend_radius"): bend_radius,
        ("limits", "rules"): rules,
        ("drawing", "snap"): snap,
        ("drawing", "accuracy"): accuracy,
    }
    for path, quantity in quantities.items():
        if quantity is not None:
            put(path, quantity, f'--{path[1].replace("_", "-")} "{quantity}"')
    if layers:
        put(("drawing", "layers"), _patterns(layers), f'--layers "{",".join(layers)}"')
    if metric:
        raw["units"] = "metric"
        options["units",] = "--metric"
    return settle_job(raw, faults)


def drawing_from_options(*, units: str | None, layers: Sequence[str]) -> DrawingSettings:
    """Return how a drawing is read by options alone, without conductors to pull.

    Parameters
    ----------
    units : str or None
        Unit of the drawing where it does not say.
    layers : sequence of str
        Patterns of the layers to read; one may hold several, with commas between.

    Raises
    ------
    JobError
        If an option cannot be used.
    """
    from analyzer.job.settling import settle_drawing

    table: dict[str, Any] = {}
    faults = Faults()
    options: dict[KeyPath, str] = {}
    faults.options = options
    if units is not None:
        table["units"] = units
        options["drawing", "units"] = f'--units "{units}"'
    if layers:
        table["layers"] = _patterns(layers)
        options["drawing", "layers"] = f'--layers "{",".join(layers)}"'
    return settle_drawing({"drawing": table}, faults)


def _patterns(layers: Sequence[str]) -> list[str]:
    return [name.strip() for text in layers for name in text.split(",")]


def _split_raceway(text: str) -> tuple[str, str]:
    """Split type from trade size; a mixed fraction may have its space (``EMT 1 1/2``)."""
    from analyzer.catalog.raceways import trade_sizes

    words = re.sub(r"\s*(?:\"|\bin)\s*$", "", text.strip()).split()
    splits = [(" ".join(words[:-n]), " ".join(words[-n:])) for n in (1, 2) if len(words) > n]
    for type_name, trade_size in splits:
        try:
            trade_sizes(type_name)
        except CatalogError:
            continue
        return type_name, trade_size
    return splits[0] if splits else (text.strip(), "")


def _conductor(text: str, path: KeyPath, faults: Faults) -> dict[str, Any]:
    """Read ``3 x 4/0 AWG THHN copper``: count, size, insulation, then metal, temper, stranding."""
    match = re.fullmatch(r"\s*(\d{1,6})\s*[xX×]\s*(.+)", text)
    words = match[2].split() if match else []
    if match is None or len(words) < 3:
        faults.add(path, 'is not understood: write it like "3 x 4/0 THHN copper"')
        return _PLACEHOLDER
    entry: dict[str, Any] = {"count": int(match[1]), "size": words.pop(0)}
    if words[0].lower() in _SIZE_UNITS:
        entry["size"] += f" {words.pop(0)}"
    entry["insulation"] = words.pop(0) if words else ""
    rest = " ".join(words).lower()
    for key, choices in (("temper", TEMPERS), ("metal", METALS), ("stranding", STRANDINGS)):
        for word in sorted(choices, key=len, reverse=True):
            found = re.search(rf"(?<!\S){re.escape(word)}(?!\S)", rest)
            if found and key not in entry:
                entry[key] = choices[word]
                rest = f"{rest[: found.start()]} {rest[found.end() :]}"
    if rest.strip():
        faults.add(
            path,
            f'"{" ".join(rest.split())}" is not understood: after size and insulation come metal, '
            'temper and stranding, as in "3 x 4/0 XHHW aluminum AA-8000 compact"',
        )
        return _PLACEHOLDER
    return entry


_PLACEHOLDER: dict[str, Any] = {"diameter": "1 in", "weight": "1 lbf/ft"}


def _friction(text: str, faults: Faults) -> Any:
    try:
        numbers = [float(part) for part in text.split(",")]
    except ValueError:
        numbers = []
    if not numbers and text[:1].isalpha():
        return text.strip()
    if len(numbers) == 1:
        return numbers[0]
    if len(numbers) == 3:
        return dict(zip(("low", "expected", "high"), numbers, strict=True))
    faults.add(
        ("pull", "friction"),
        "is not understood: write low, expected and high like 0.2,0.35,0.5, or one number",
    )
    return 0.5
