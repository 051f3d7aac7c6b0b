"""`raceway layers`: what a drawing holds."""

from __future__ import annotations

import argparse
from pathlib import Path

from analyzer.cli.options import add_drawing_options

__all__ = ["LayersCommand"]


class LayersCommand:
    """List layers, entities, open paths, blocks and extents, and what `raceway check` reads."""

    name = "layers"
    help = "show what a drawing holds: layers, lengths, blocks, extents, and what check would read"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the drawing and what decides how it is read."""
        parser.epilog = (
            "example: raceway layers example_paths/overhead_feeder.dxf\n"
            "exit: 0 listed, 2 wrong job, 3 the drawing cannot be read. The job is that of\n"
            "raceway check: --job, or NAME.toml beside NAME.dxf, options going on top of it."
        )
        parser.add_argument("file", type=Path, metavar="FILE", help="a .dxf file")
        add_drawing_options(parser)

    def run(self, args: argparse.Namespace) -> int:
        """Print what the drawing holds."""
        from analyzer.cli.named_files import check_route
        from analyzer.cli.options import drawing_for
        from analyzer.cli.output import say, say_job, terminal_width
        from analyzer.importers.drawings.layers import survey_drawing
        from analyzer.reports.drawing_contents import drawing_text

        check_route(args.file)
        settings, asked_from, system, job_from = drawing_for(args, args.file)
        contents = survey_drawing(args.file, settings, asked_from)
        say(drawing_text(contents, terminal_width(), system))
        say_job(job_from)
        return 0
