"""`raceway catalog`: what a job can name."""

from __future__ import annotations

import argparse

__all__ = ["CatalogCommand"]


class CatalogCommand:
    """List what the catalog holds, with sources and whether each row is confirmed."""

    name = "catalog"
    help = "list raceways, conductors, rule sets, frictions, pulling lines and limits with sources"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add what to list, and a word to look for."""
        parser.epilog = "example: raceway catalog conductors --find 4/0"
        parser.add_argument(
            "what",
            nargs="?",
            metavar="WHAT",
            help="raceways, conductors, rules, frictions, lines, limits or practice",
        )
        parser.add_argument("--find", metavar="TEXT", help="only rows that hold this text")

    def run(self, args: argparse.Namespace) -> int:
        """Print the listing."""
        from analyzer.catalog.listing import CATALOG_PARTS, list_catalog
        from analyzer.cli.output import say, terminal_width
        from analyzer.reports.grid import Column, Table, grid_text

        width = terminal_width()
        if args.what is None:
            say("raceway catalog lists one of: " + ", ".join(CATALOG_PARTS))
            for part in CATALOG_PARTS:
                listing = list_catalog(part)
                say(f"  {part:12}{len(listing.rows):4} rows  {listing.title}")
            return 0
        listing = list_catalog(args.what)
        rows = listing.rows
        if args.find:
            wanted = args.find.casefold()
            rows = tuple(row for row in rows if any(wanted in cell.casefold() for cell in row))
            if not rows:
                say(f"no row of {args.what} holds {args.find!r}", to_error=True)
                return 0
        table = Table(listing.title, tuple(Column(name) for name in listing.columns), rows)
        say(grid_text(table, width))
        say("\nSources: " + "; ".join(listing.sources))
        return 0
