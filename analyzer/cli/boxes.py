"""`raceway boxes`: where boxes go, what if one were added, and the trainer's lesson."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.cli.options import add_job_options

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.analysis import Analysis
    from analyzer.findings import Finding
    from analyzer.job.settings import Job
    from analyzer.studies.boxes import BoxStudy
    from analyzer.studies.what_if import Changes

__all__ = ["BoxesCommand"]


class BoxesCommand:
    """Find the fewest boxes and the best places, or compare a run before and after a change."""

    name = "boxes"
    help = "find the fewest boxes and the best places for them, or ask what if"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the route, job options, what-ifs and outputs."""
        parser.epilog = (
            "examples: raceway boxes example_paths/training_yard.csv\n"
            '          raceway boxes example_paths/training_yard.csv --add "95 ft"\n'
            '          raceway boxes example_paths/overhead_feeder.dxf --move "Box B" "140 ft"\n'
            "          raceway boxes example_paths/training_yard.csv --lesson\n"
            "exit: 0 a placement passes, 1 none does (what-if: the changed run fails), 2 wrong\n"
            "job or output, 3 the route cannot be read. [boxes] in the job says where boxes may\n"
            "stand and what they cost: need, spacing, candidates, keep_out, allowed, at_corners,\n"
            "most, direction, cost_per_box, cost_per_setup, run."
        )
        parser.add_argument("routes", nargs=1, metavar="ROUTE", help="a .dxf or .csv file")
        parser.add_argument("--run", dest="run_name", metavar="NAME", help="which run of the route")
        add_job_options(parser)
        changes = parser.add_argument_group(
            "what if (before and after side by side, without --json and --lesson)"
        )
        changes.add_argument(
            "--add", action="append", metavar="STATION", help='a box at a station, "120 ft"'
        )
        changes.add_argument(
            "--remove", action="append", metavar="NAME", help='without a box, "Box B"'
        )
        changes.add_argument(
            "--move",
            action="append",
            nargs=2,
            metavar=("NAME", "STATION"),
            help='a box elsewhere, "Box B" "95 ft"',
        )
        changes.add_argument(
            "--passage", choices=("through", "refeed"), help="how conductors pass every box"
        )
        outputs = parser.add_argument_group("outputs")
        outputs.add_argument(
            "--lesson", action="store_true", help="the trainer's sheet instead of the answer"
        )
        outputs.add_argument(
            "--json", type=Path, metavar="FILE", help="boxes file; - is standard output"
        )

    def run(self, args: argparse.Namespace) -> int:
        """Find boxes, or compare; the exit code follows the answer."""
        from analyzer.cli.loading import load
        from analyzer.cli.output import say, say_job, terminal_width
        from analyzer.errors import InputError

        changes = _changes(args)
        if changes is not None and (args.json or args.lesson):
            raise InputError("a what-if goes without --json and --lesson: leave them out")
        loaded = load(args)
        for error in loaded.failed:
            say(f"raceway: {error}", to_error=True)
        if loaded.analysis is None:
            return 3
        to_error = str(args.json) == "-"
        analysis, width = loaded.analysis, terminal_width()
        names = [item.run.name for item in analysis.runs]
        wanted = names if args.run_name is None else [args.run_name]
        if changes is not None:
            code = _compare(analysis, _only(wanted, "a what-if"), changes, width)
        else:
            if args.json:
                _only(wanted, "--json")
            code = _search(analysis, wanted, args, width)
        say_job(loaded.job_from, to_error=to_error)
        return 3 if loaded.failed else code


def _search(analysis: Analysis, names: list[str], args: argparse.Namespace, width: int) -> int:
    """Study the runs one by one and print them; 1 where a run has no placement."""
    from analyzer.cli.output import say, write_text
    from analyzer.reports.boxes_in_all_text import boxes_in_all_text
    from analyzer.reports.boxes_text import boxes_text
    from analyzer.studies.boxes import find_boxes

    studies = [find_boxes(analysis, name) for name in names]
    if args.json:
        write_text(args.json, _json_text(studies[0], analysis.findings))
    texts = [
        _lesson_text(study, width, analysis.findings)
        if args.lesson
        else boxes_text(study, width=width, of_files=analysis.findings)
        for study in studies
    ]
    if len(studies) > 1 and not args.lesson:
        texts.append(boxes_in_all_text(studies, width=width))
    say("\n".join(texts), to_error=str(args.json) == "-")
    return 0 if all(study.fewest is not None for study in studies) else 1


def _compare(analysis: Analysis, name: str, changes: Changes, width: int) -> int:
    from analyzer.cli.output import say
    from analyzer.findings import Verdict
    from analyzer.reports.boxes_what_if_text import what_if_text
    from analyzer.studies.named_run import job_naming_run, named_run
    from analyzer.studies.what_if import what_if

    run = named_run(analysis, name).run
    job: Job = job_naming_run(analysis.job, [item.run.name for item in analysis.runs])
    compared = what_if(run, job, changes)
    say(what_if_text(compared, job, width=width, of_files=analysis.findings))
    return 1 if compared.after.verdict is Verdict.FAIL else 0


def _changes(args: argparse.Namespace) -> Changes | None:
    """Return the changes asked for; None without any."""
    if not (args.add or args.remove or args.move or args.passage):
        return None
    from analyzer.job.settings import Passage
    from analyzer.studies.what_if import Changes
    from analyzer.units import parse_length

    return Changes(
        remove=tuple(args.remove or ()),
        move=tuple((name, parse_length(station)) for name, station in args.move or ()),
        add=tuple(parse_length(station) for station in args.add or ()),
        passage=None if args.passage is None else Passage(args.passage),
    )


def _only(names: list[str], what: str) -> str:
    from analyzer.errors import InputError

    if len(names) > 1:
        raise InputError(f"{what} is for one run: name it with --run, one of {', '.join(names)}")
    return names[0]


def _lesson_text(study: BoxStudy, width: int, of_files: Sequence[Finding]) -> str:
    from analyzer.reports.boxes_lesson_text import lesson_text
    from analyzer.studies.lesson import make_lesson

    return lesson_text(make_lesson(study), width=width, of_files=of_files)


def _json_text(study: BoxStudy, of_files: Sequence[Finding]) -> str:
    import json

    from analyzer.reports.boxes_file import boxes_values

    values = boxes_values(study, of_files)
    return json.dumps(values, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
