"""Entry of the command `raceway`.

Kept light: every command is parsed here and imports what it needs when it runs, so that
`raceway --help` starts as fast as the interpreter. The viewer's commands are found through the
entry-point group ``raceway.commands``.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import Any, Protocol

from analyzer.cli.named_files import check_outputs
from analyzer.cli.options import StoreOnce, add_route_arguments
from analyzer.cli.output import say, say_job
from analyzer.errors import RacewayError

__all__ = ["Command", "build_parser", "main"]

_DESCRIPTION = (
    "Rehearse a conductor pull in 3D before the raceway is hung: bends, legs, tension and "
    "sidewall pressure both ways, checks and pictures from a drawn centerline."
)
_EPILOG = (
    "example: raceway check example_paths/overhead_feeder.dxf\n"
    "Results are estimates for planning; the cable maker's values and local code govern."
)


class Command(Protocol):
    """What a subcommand offers: a name, one line of help, its arguments, and how it runs.

    A command found through the entry-point group gets the routes and job options of its parser
    from here; its `run` calls ``args.load_analysis()`` for the `Analysis`.
    """

    name: str
    help: str

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the options of this command to its parser."""

    def run(self, args: argparse.Namespace) -> int:
        """Do the work and return the exit code."""


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command, subcommands of other packages included."""
    parser = argparse.ArgumentParser(
        prog="raceway",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="store_true", help="print the version and exit")
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND", dest="command")
    own = _own_commands()
    for command in (*own, *_found_commands()):
        sub = subparsers.add_parser(
            command.name,
            help=command.help,
            description=command.help,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        for kind in (None, "store"):
            sub.register("action", kind, StoreOnce)
        if command not in own:
            add_route_arguments(sub)
        command.add_arguments(sub)
        sub.set_defaults(perform=command.run)
    return parser


def _own_commands() -> tuple[Command, ...]:
    from analyzer.cli.boxes import BoxesCommand
    from analyzer.cli.catalog import CatalogCommand
    from analyzer.cli.check import CheckCommand
    from analyzer.cli.layers import LayersCommand
    from analyzer.cli.plan import PlanCommand

    return (CheckCommand(), BoxesCommand(), PlanCommand(), LayersCommand(), CatalogCommand())


def _found_commands() -> tuple[Any, ...]:
    from importlib.metadata import entry_points

    commands = []
    for entry in sorted(entry_points(group="raceway.commands"), key=lambda entry: entry.name):
        try:
            commands.append(entry.load())
        except ImportError as error:
            say(f"raceway: command {entry.name!r} left out: {error}", to_error=True)
    return tuple(commands)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments; those of the process when left out.

    Returns
    -------
    int
        0 no run's verdict is fail; 1 some verdict is fail; 2 wrong usage, job file or output;
        3 a route cannot be read; 4 no usable graphics library.
    """
    parser = build_parser()
    args = parser.parse_args(argv)
    if args.version:
        from importlib.metadata import version

        return _told(lambda: say(version("raceway-path-analyzer")))
    if args.command is None:
        parser.print_help()
        return 2
    failed: list[RacewayError] = []
    args.load_analysis = lambda: _load_analysis(args, failed)

    def perform() -> int:
        check_outputs(args)
        code = int(args.perform(args))
        return failed[0].exit_code if failed else code

    return _told(perform)


def _told(perform: Callable[[], int | None]) -> int:
    """Return the exit code of some work, and say what stopped it."""
    try:
        return perform() or 0
    except RacewayError as error:
        say(f"raceway: {error}", to_error=True)
        return error.exit_code
    except KeyboardInterrupt:
        say("raceway: stopped", to_error=True)
        return 130


def _load_analysis(args: argparse.Namespace, failed: list[RacewayError]) -> Any:
    """Analyze the routes of a command line; routes that cannot be read are named and collected."""
    from analyzer.cli.loading import load, said_of_routes

    loaded = load(args)
    for error in loaded.failed[0 if loaded.analysis else 1 :]:  # the first is told when raised
        say(f"raceway: {error}", to_error=True)
    failed += loaded.failed
    if loaded.analysis is None:
        raise loaded.failed[0]
    for line in said_of_routes(loaded.analysis):
        say(f"raceway: {line}", to_error=True)
    say_job(loaded.job_from, to_error=True)
    return loaded.analysis


if __name__ == "__main__":
    sys.exit(main())
