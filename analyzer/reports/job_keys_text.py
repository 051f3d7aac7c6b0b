"""Every key of the job file, told on a terminal: an example, what it means, what holds without."""

from __future__ import annotations

from textwrap import wrap

from analyzer.job.key_meanings import JOB_TABLES, KeyMeaning, TableMeaning
from analyzer.reports.folding import hung

__all__ = ["job_keys_text"]

_HEAD = (
    "Keys of the job file, NAME.toml beside NAME.dxf or NAME.csv. Quantities are text with their "
    "unit. Leave out what you have nothing to say on; raceway check names what it needs."
)


def job_keys_text(width: int, *, find: str = "") -> str:
    """Return the keys of the job file, table by table; empty where none holds the text looked for.

    Parameters
    ----------
    width : int
        Columns to stay within.
    find : str
        Only keys whose heading, name, example or meaning holds it, in any case.
    """
    wanted = find.casefold()
    blocks = []
    told: dict[tuple[KeyMeaning, ...], str] = {}
    for table in JOB_TABLES:
        keys = tuple(key for key in table.keys if wanted in _all_of(table, key))
        if not keys:
            continue
        lines = hung(f"{table.heading}  ".lstrip(), table.meaning, width)
        if keys in told:
            lines += hung("  ", f"the keys of {told[keys]}", width)
        else:
            for key in keys:
                lines += _key_lines(key, width)
        told.setdefault(keys, table.heading)
        blocks.append("\n".join(lines))
    return "\n\n".join(["\n".join(wrap(_HEAD, width)), *blocks]) if blocks else ""


def _all_of(table: TableMeaning, key: KeyMeaning) -> str:
    texts = (table.heading, key.name, key.example, key.meaning, key.default)
    return " ".join(texts).casefold()


def _key_lines(key: KeyMeaning, width: int) -> list[str]:
    without = f"; without it: {key.default}" if key.default else ""
    return [
        *hung("  ", f"{key.name} = {key.example}", width),
        *hung("      ", key.meaning + without, width),
    ]
