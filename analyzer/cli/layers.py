"""`raceway layers`: what a drawing holds."""

from __future__ import annotations

import argparse
from pathlib import Path

__all__ = ["LayersCommand"]


class LayersCommand:
    """List layers, entities, open paths, blocks and extents in each candidate unit."""

    name = "layers"
    help = "show what a drawing holds: layers, entities, lengths, blocks, extents in each unit"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the drawing."""
        parser.epilog = "example: raceway layers example_paths/overhead_feeder.dxf"
        parser.add_argument("file", type=Path, metavar="FILE", help="a .dxf file")

    def run(self, args: argparse.Namespace) -> int:
        """Print what the drawing holds."""
        from analyzer.cli.named_files import check_route
        from analyzer.cli.output import say, terminal_width
        from analyzer.importers.layers import survey_drawing
        from analyzer.reports.drawing_contents import drawing_text

        check_route(args.file)
        say(drawing_text(survey_drawing(args.file), terminal_width()))
        return 0
