"""Options that several commands share: the job, or what stands for one."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.cli.named_files import named_path

if TYPE_CHECKING:
    from analyzer.job.settings import DrawingSettings, Job
    from analyzer.units import UnitSystem

__all__ = [
    "QUICK_OPTIONS",
    "StoreOnce",
    "add_drawing_options",
    "add_job_options",
    "add_route_arguments",
    "drawing_for",
    "job_for",
]

QUICK_OPTIONS = (
    "raceway",
    "conductor",
    "friction",
    "units",
    "feed_tension",
    "bend_radius",
    "rules",
    "layers",
    "snap",
    "accuracy",
    "metric",
)
"""Options that stand for keys of a job file."""


class StoreOnce(argparse.Action):
    """Keep the value of an option, and refuse to have it given twice: which one counts?"""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: object,
        option_string: str | None = None,
    ) -> None:
        """Store the value."""
        if option_string and getattr(namespace, self.dest, self.default) is not self.default:
            parser.error(f"{option_string} is given twice: give it once")
        setattr(namespace, self.dest, values)


def add_route_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the routes and everything that stands for their job."""
    parser.add_argument("routes", nargs="+", metavar="ROUTE", help="a .dxf or .csv file")
    add_job_options(parser)


def add_job_options(parser: argparse.ArgumentParser) -> None:
    """Add `--job` and the options that work without a job file."""
    group = parser.add_argument_group("the job")
    _add_job(group)
    group.add_argument("--raceway", metavar="TEXT", help='such as "EMT 2"')
    group.add_argument(
        "--conductor",
        action="append",
        metavar="TEXT",
        help='such as "3 x 4/0 THHN copper"; repeat for other sizes',
    )
    group.add_argument(
        "--friction",
        metavar="LOW,EXPECTED,HIGH",
        help="such as 0.2,0.35,0.5, or a name from raceway catalog frictions",
    )
    _add_units(group)
    group.add_argument("--feed-tension", metavar="TEXT", help='such as "50 lbf"')
    group.add_argument("--bend-radius", metavar="TEXT", help='radius of sharp corners, "9-1/2 in"')
    group.add_argument("--rules", metavar="NAME", help="rule set, see raceway catalog rules")
    _add_layers(group)
    group.add_argument("--snap", metavar="TEXT", help="how far off the line a fitting may stand")
    group.add_argument("--accuracy", metavar="TEXT", help="of survey points, such as 1/8 in")
    group.add_argument(
        "--metric", action="store_true", default=None, help="show results in metric units"
    )


def add_drawing_options(parser: argparse.ArgumentParser) -> None:
    """Add `--job` and the options that say how a drawing is read."""
    group = parser.add_argument_group("the job")
    _add_job(group)
    _add_units(group)
    _add_layers(group)


def _add_job(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--job",
        type=named_path,
        metavar="FILE",
        help="job file (default: NAME.toml beside the route)",
    )


def _add_units(group: argparse._ArgumentGroup) -> None:
    group.add_argument("--units", metavar="UNIT", help="unit of the drawing, such as in")


def _add_layers(group: argparse._ArgumentGroup) -> None:
    group.add_argument(
        "--layers", action="append", metavar="PATTERN", help="layers to read; may be repeated"
    )


def drawing_for(
    args: argparse.Namespace, drawing: Path
) -> tuple[DrawingSettings, str, UnitSystem, str]:
    """Return how a drawing is read, who says so, whose units stand first, and where it is from.

    The rule is that of `job_for`, but no conductors are needed where there is no job file, and
    no job at all. Who says so is ``job`` or ``option``; where it is from is a sentence.

    Raises
    ------
    JobError
        If job file or options cannot be used.
    """
    from analyzer.cli.named_files import is_file, job_beside
    from analyzer.job.options import drawing_from_options
    from analyzer.job.settings import DrawingSettings
    from analyzer.units import UnitSystem

    beside = job_beside(drawing)
    if args.job is not None or (beside is not None and is_file(beside)):
        job, source = job_for(args, (drawing,))
        return job.drawing, job.drawing_units_from, job.units, source
    names = [name for name in ("units", "layers") if getattr(args, name) is not None]
    if not names:
        none = "none named, and none beside the drawing"
        return DrawingSettings(), "option", UnitSystem.US, none
    settings = drawing_from_options(units=args.units, layers=args.layers or ())
    source = "options " + ", ".join(f"--{name}" for name in names)
    return settings, "option", UnitSystem.US, source


def job_for(args: argparse.Namespace, routes: tuple[Path, ...]) -> tuple[Job, str]:
    """Return the job of a command line, and a sentence on where it comes from.

    Raises
    ------
    JobError
        If there is no job file and the options do not make one.
    """
    from analyzer.cli.named_files import is_file, job_beside
    from analyzer.errors import JobError
    from analyzer.job.options import job_from_options
    from analyzer.job.reading import read_job

    options = {name: getattr(args, name, None) for name in QUICK_OPTIONS}
    given = {name: value for name, value in options.items() if value is not None}
    path: Path | None = args.job
    beside = [job_beside(route) for route in routes]
    found = [candidate for candidate in beside if candidate is not None and is_file(candidate)]
    source = f"job file {path}" if path else ""
    whole = "raceway" in given and "conductor" in given
    if path is None and not whole and len(routes) == 1 and found:
        path = found[0]
        source = f"job file {path.name}, found beside the route"
    if path is None and not whole and len(found) > 1:
        raise JobError(
            f"{len(routes)} routes share one job: name it with --job FILE. Each has one beside it "
            "that is used when the route is given alone"
        )
    if path is None and not given:
        raise JobError(
            "no job: give --job FILE, or at least --raceway and --conductor, such as "
            '--raceway "EMT 2" --conductor "3 x 4/0 THHN copper"'
        )
    if path is not None and not given:
        return read_job(path), source
    job = job_from_options(base=path, **given)
    names = ", ".join(
        "--" + name.replace("_", "-").replace("conductors", "conductor") for name in given
    )
    source = f"{source}, with options {names}" if source else f"options {names}"
    if path is None and found:
        source += f"; {found[0].name} beside the route was not used (name it with --job)"
    return job, source
