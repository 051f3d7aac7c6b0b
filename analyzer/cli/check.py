"""`raceway check`: the main job."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.cli.named_files import named_path
from analyzer.cli.options import add_route_arguments

if TYPE_CHECKING:
    from analyzer.cli.loading import Loaded

__all__ = ["CheckCommand"]


class CheckCommand:
    """Read routes, analyze them, say what passes and what fails, and write what is asked for."""

    name = "check"
    help = "read routes, pull the conductors through both ways, say what passes and what fails"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add routes, job options and outputs."""
        parser.epilog = (
            "example: raceway check example_paths/overhead_feeder.dxf --sheet sheet.html\n"
            "exit: 0 nothing fails, 1 a run fails, 2 wrong job or output, 3 a route cannot be read"
        )
        add_route_arguments(parser)
        outputs = parser.add_argument_group("outputs")
        outputs.add_argument("--sheet", type=Path, metavar="FILE", help="calculation sheet, HTML")
        outputs.add_argument(
            "--json", type=Path, metavar="FILE", help="analysis file; - is standard output"
        )
        outputs.add_argument("--csv", type=named_path, metavar="DIR", help="folder of CSV tables")
        outputs.add_argument("--xlsx", type=Path, metavar="FILE", help="the tables as a workbook")
        outputs.add_argument(
            "--write-job", type=Path, metavar="FILE", help="save the options as a job file"
        )

    def run(self, args: argparse.Namespace) -> int:
        """Do the main job; the exit code follows the verdicts."""
        from analyzer.cli.loading import load
        from analyzer.cli.output import is_terminal, say, say_job, terminal_width

        loaded = load(args)
        to_error = "-" in {str(args.json), str(args.sheet)}
        if args.write_job is not None:
            _write_job(loaded, args.write_job)
        for error in loaded.failed:
            say(f"raceway: {error}", to_error=True)
        if loaded.analysis is None:
            return 3
        from analyzer.findings import Verdict
        from analyzer.reports.content import content_of
        from analyzer.reports.terminal import terminal_text

        content = content_of(loaded.analysis)
        _write_outputs(args, loaded)
        color = is_terminal() and not to_error
        say(terminal_text(content, width=terminal_width(), color=color), to_error=to_error)
        say_job(loaded.job_from, to_error=to_error)
        if loaded.failed:
            return 3
        failed = any(run.verdict is Verdict.FAIL for run in loaded.analysis.runs)
        return 1 if failed else 0


def _write_job(loaded: Loaded, path: Path) -> None:
    from analyzer.cli.output import say, write_text
    from analyzer.job.writing import job_text

    write_text(path, job_text(loaded.job))
    say(f"Job file written: {path}.", to_error=True)


def _write_outputs(args: argparse.Namespace, loaded: Loaded) -> None:
    """Write every file asked for; all texts are made before the first is written."""
    from analyzer.cli.output import write_bytes, write_text

    analysis = loaded.analysis
    if analysis is None or not (args.json or args.csv or args.sheet or args.xlsx):
        return
    from analyzer.reports.analysis_file import analysis_values

    values = analysis_values(analysis)
    texts: list[tuple[Path, str]] = []
    if args.json:
        import json

        text = json.dumps(values, indent=1, ensure_ascii=False, allow_nan=False)
        texts.append((args.json, text + "\n"))
    if args.sheet:
        from analyzer.reports.sheet import sheet_html

        texts.append((args.sheet, sheet_html(analysis)))
    if args.csv:
        from analyzer.reports.csv_tables import csv_texts

        texts += [(args.csv / name, text) for name, text in csv_texts(values).items()]
    workbook = b""
    if args.xlsx:
        from analyzer.reports.workbook import workbook_bytes

        workbook = workbook_bytes(values)
    if args.csv:
        _make_folder(args.csv)
    for path, text in texts:
        write_text(path, text)
    if args.xlsx:
        write_bytes(args.xlsx, workbook)


def _make_folder(path: Path) -> None:
    from analyzer.errors import OutputError

    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"cannot make folder {path}: {error.strerror or error}") from error
