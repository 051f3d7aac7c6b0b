"""`raceway catalog`: what a job can name, and its keys."""

from __future__ import annotations

import argparse
from textwrap import wrap

__all__ = ["CatalogCommand"]


_FOOTNOTES = ("source", "basis", "note")
"""Columns of long text: a number stands in the table, the text below it."""

_KEYS = "keys"

_LONGEST_NAME = 26  # names up to here stay on one line


class CatalogCommand:
    """List the keys of a job and what it can name, with sources and whether they are confirmed."""

    name = "catalog"
    help = "list the keys of a job, and raceways, conductors, rules, frictions, limits with sources"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add what to list, and a word to look for."""
        parser.epilog = "example: raceway catalog conductors --find 4/0"
        parser.add_argument(
            "what",
            nargs="?",
            metavar="WHAT",
            help="raceways, conductors, rules, frictions, lines, limits, practice, or "
            "keys: every key of the job file with an example, its meaning and its default",
        )
        parser.add_argument(
            "--find", metavar="TEXT", help="only rows that hold this text, or all its words"
        )

    def run(self, args: argparse.Namespace) -> int:
        """Print the listing."""
        from analyzer.catalog.listing import CATALOG_PARTS, catalog_part, list_catalog
        from analyzer.cli.output import say, terminal_width
        from analyzer.reports.folding import hung
        from analyzer.reports.grid import Column, Table, table_text

        width = terminal_width()
        if args.what is None:
            lines = wrap(
                "raceway catalog lists one of: " + ", ".join((*CATALOG_PARTS, _KEYS)), width
            )
            for part in CATALOG_PARTS:
                listing = list_catalog(part)
                lines += hung(f"  {part:12}{len(listing.rows):4} rows  ", listing.title, width)
            lines += hung(f"  {_KEYS:12}", "every key of the job file, with an example", width)
            say("\n".join(lines))
            return 0
        part = catalog_part(args.what, (*CATALOG_PARTS, _KEYS))
        if part == _KEYS:
            return _say_keys(args.find or "", width)
        listing = list_catalog(part)
        rows = listing.rows
        if args.find:
            rows = _found(rows, args.find)
            if not rows:
                say(f"no row of {args.what} holds {args.find!r}", to_error=True)
                return 0
        names, rows, footnotes = _with_footnotes(listing.columns, rows)
        is_short = all(len(row[0]) <= _LONGEST_NAME for row in rows)
        columns = tuple(Column(name, is_name=is_short and not i) for i, name in enumerate(names))
        say(table_text(Table(listing.title, columns, rows), width))
        say("\nSources and notes" if footnotes else "\nSources")
        for source in footnotes or listing.sources:
            say("\n".join(wrap(source, width, initial_indent="  ", subsequent_indent="      ")))
        return 0


def _say_keys(text: str, width: int) -> int:
    from analyzer.cli.output import say
    from analyzer.reports.job_keys_text import job_keys_text

    told = job_keys_text(width, find=text)
    say(told or f"no key of the job file holds {text!r}", to_error=not told)
    return 0


def _found(rows: tuple[tuple[str, ...], ...], text: str) -> tuple[tuple[str, ...], ...]:
    """Return rows with a cell that holds a text; else those with all its words, whole if any."""
    wanted = text.casefold()
    held = [(row, [cell.casefold() for cell in row]) for row in rows]
    found = tuple(row for row, cells in held if any(wanted in cell for cell in cells))
    if found:
        return found
    words = wanted.split()
    whole = tuple(row for row, cells in held if set(words) <= set(" ".join(cells).split()))
    return whole or tuple(
        row for row, cells in held if all(any(word in cell for cell in cells) for word in words)
    )


def _with_footnotes(
    columns: tuple[str, ...], rows: tuple[tuple[str, ...], ...]
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...], list[str]]:
    """Put the columns of long text into one of numbers, and return the numbered texts."""
    if not set(columns) & set(_FOOTNOTES):
        return columns, rows, []
    numbers: dict[str, int] = {}
    numbered = []
    for row in rows:
        kept, marks = [], []
        for name, cell in zip(columns, row, strict=True):
            if name not in _FOOTNOTES:
                kept.append(cell)
            elif cell:
                marks.append(f"[{numbers.setdefault(cell, len(numbers) + 1)}]")
        numbered.append((*kept, " ".join(marks)))
    names = (*(name for name in columns if name not in _FOOTNOTES), "see")
    return names, tuple(numbered), [f"[{number}] {text}" for text, number in numbers.items()]
