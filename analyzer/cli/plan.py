"""`raceway plan`: the plan for the crew."""

from __future__ import annotations

import argparse
from pathlib import Path

from analyzer.cli.options import add_route_arguments

__all__ = ["PlanCommand"]


class PlanCommand:
    """Say where the reels stand, what the head feels on its way, and where to stop."""

    name = "plan"
    help = "pull plan for the crew: which end and why, call-outs, stop values, what to bring"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add routes, job options and outputs."""
        parser.epilog = (
            "example: raceway plan example_paths/overhead_feeder.dxf --html plan.html\n"
            "exit: 0 also where a check fails, 2 wrong job or output, 3 a route cannot be read"
        )
        add_route_arguments(parser)
        parser.add_argument(
            "--sensitivity", action="store_true", help="add what moves the answer most"
        )
        outputs = parser.add_argument_group("outputs")
        outputs.add_argument(
            "--html", type=Path, metavar="FILE", help="the plan as a printable page"
        )
        outputs.add_argument(
            "--csv", type=Path, metavar="FILE", help="all words and figures; - is standard output"
        )

    def run(self, args: argparse.Namespace) -> int:
        """Print the plan and write what is asked for; 3 where a route could not be read."""
        from analyzer.cli.loading import load
        from analyzer.cli.output import say, say_job, terminal_width, write_text

        loaded = load(args)
        for error in loaded.failed:
            say(f"raceway: {error}", to_error=True)
        if loaded.analysis is None:
            return 3
        from analyzer.reports.plan_content import plan_content
        from analyzer.reports.plan_terminal import plan_text
        from analyzer.studies.plan import plan_pull

        plan = plan_pull(loaded.analysis)
        content = plan_content(plan)
        texts = []
        if args.html:
            from analyzer.reports.plan_page import plan_html

            texts.append((args.html, plan_html(content, sensitivity=args.sensitivity)))
        if args.csv:
            from analyzer.reports.plan_csv import plan_csv

            texts.append((args.csv, plan_csv(plan)))
        for path, text in texts:
            write_text(path, text)
        to_error = "-" in {str(args.html), str(args.csv)}
        width = terminal_width()
        say(plan_text(content, width=width, sensitivity=args.sensitivity), to_error=to_error)
        say_job(loaded.job_from, to_error=to_error)
        return 3 if loaded.failed else 0
