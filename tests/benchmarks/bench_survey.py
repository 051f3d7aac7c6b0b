"""Monte Carlo of the reading of survey points against the Cramer-Rao bound.

Run on demand: ``python tests/benchmarks/bench_survey.py --routes 1000 --regime survey
--accuracy given``, or ``--goals 100`` for every kind of route with what it has to reach. The peer
is the bound of one isolated bend with its two straights.
"""

from __future__ import annotations

import argparse
import sys
import time
import warnings

import numpy as np
from survey_regimes import draw, with_outliers
from survey_routes import Route, long_route

from analyzer.errors import InputError
from analyzer.findings import Severity
from analyzer.geometry.survey.answer import SurveyFit
from analyzer.geometry.survey.reader import fit_survey

PARTS = (0.0, 0.1, 0.2)
"""Deviation of a radius over the radius, from which and 0.1 on its pulls are shown alone."""

GOALS = (
    ("survey", "given", 0.999),
    ("wide", "given", 0.999),
    ("edge", "given", 0.999),
    ("mixed", "given", 0.999),
    ("survey", "estimated", 0.999),
    ("wide", "estimated", 0.999),
    ("edge", "estimated", 0.999),
    ("mixed", "estimated", 0.999),
    *((f"angle:{angle}", "given", 1.0) for angle in ("22.5", "15", "10", "5", "2")),
    ("between:10,90", "estimated", 1.0),
    ("angle:120,150", "given", 1.0),
    ("angle:170,180", "given", 0.99),
    ("short:0.5,1", "given", 1.0),
    ("short:0.25,0.5", "given", 1.0),
    ("short:0.1,0.25", "given", 0.80),
    *((f"noise:{noise}", "given", 1.0) for noise in ("0.005", "0.01", "0.02", "0.03", "0.05")),
    ("noise:0.01+short:0.5,1", "given", 1.0),
    ("noise:0.01+between:10,22.5", "given", 1.0),
    ("spacing:0.2", "given", 1.0),
    ("spacing:0.3", "given", 1.0),
    ("spacing:0.4", "given", 59 / 60),
    ("spacing:0.5", "given", 50 / 60),
    ("jitter:0.4", "given", 1.0),
    ("random", "given", 1.0),
    ("varied:3", "given", 1.0),
    *(("survey", f"x{factor}", 1.0) for factor in ("0.5", "0.7", "2", "4")),
    ("outliers:0.01", "given", 1.0),
    ("outliers:0.05", "given", 1.0),
    ("radii:0.5,2,6", "given", 1.0),
    ("corners", "given", 1.0),
    ("corners:0.5", "given", 1.0),
    ("noise:1e-7", "given", 1.0),
    ("rounded:0.001", "given", 1.0),
    ("rounded:0.01", "given", 1.0),
    ("none", "given", 1.0),
    ("none", "estimated", 399 / 400),
    *((f"gap-{way}:0.3", "given", 1.0) for way in ("same", "reverse", "rolled")),
    ("gap-unlike:0.1", "given", 0.99),
    ("gap-same:0.1", "given", 0.99),
    ("touch-rolled", "given", 0.99),
    ("touch-reverse", "given", 0.98),
    ("touch-same", "given", 0.92),
    ("touch-many:3", "given", 55 / 60),
    ("offset", "given", 1.0),
    ("correlated:2", "estimated", 0.96),
    ("correlated:5", "estimated", 0.82),
    ("ends", "given", 195 / 200),
)
"""Kind of route, accuracy, and the share of routes whose bends must be counted right.

Two bends of one plane and sense 0.1 R apart stay below theirs: `bench_near_bends.py` tells what
their points allow. A count may be right and still come with an error finding, as where straights
hold fewer than four points: those are shown beside it.
"""

LONG = (
    (10000, 12, 0.0),
    (10000, 60, 0.0),
    (10000, 300, 0.0),
    (40000, 60, 0.0),
    (40000, 300, 0.0),
    (10000, 60, 0.01),
    (10000, 60, 0.05),
    (40000, 60, 0.01),
)
"""Points and bends of long routes that are timed, and the share of points that are outliers."""


def measure(regime: str, accuracy: str, routes: int, seed: int) -> dict:
    """Run a Monte Carlo and return its figures; pulls are of routes read without an error."""
    right, refused, seconds = 0, 0, 0.0
    ratios: list[tuple[float, float, float, float]] = []
    undetermined = 0
    parts: list[float] = []
    wrong: list[tuple[int, int, int]] = []
    for i in range(routes):
        rng = np.random.default_rng([seed, i])
        route = draw(regime, rng)
        given = route.sigma if accuracy == "given" else None
        if accuracy.startswith("x"):
            given = route.sigma * float(accuracy[1:])
        begin = time.process_time()
        try:
            fit = fit_survey(route.points, given)
        except InputError:
            wrong.append((i, 0, int(route.angles.size)))
            continue
        seconds += time.process_time() - begin
        if len(fit.bends) != route.angles.size:
            wrong.append((i, len(fit.bends), int(route.angles.size)))
            continue
        right += 1
        if any(finding.severity is Severity.ERROR for finding in fit.findings):
            refused += 1
            continue
        rows, lost = compare(fit, route)
        ratios += rows
        undetermined += lost
        parts += [bend.radius_sd_m / bend.radius_m for bend in fit.bends]
    r = np.array(ratios).reshape(-1, 4)
    # radius figures are of the determined radii only; a bend without a straight has no bound
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        rms = [float(np.sqrt(np.nanmean(r[:, c] ** 2))) for c in range(4)]
        worst = float(np.nanmax(np.abs(r[:, 2]))) if r.size else float("nan")
        among = [(np.array(parts) >= low) & (np.array(parts) < low + 0.1) for low in PARTS]
        by_part = [(int(a.sum()), float(np.sqrt(np.mean(r[a, 3] ** 2)))) for a in among if r.size]
    return {
        "regime": regime,
        "accuracy": accuracy,
        "routes": routes,
        "right": right,
        "refused": refused,
        "angle/bound": rms[0],
        "radius/bound": rms[1],
        "pull angle": rms[2],
        "pull radius": rms[3],
        "undetermined": undetermined,
        "bends": len(ratios),
        "ms/route": 1000 * seconds / routes,
        "by part": by_part,
        "wrong": wrong,
        "worst": worst,
    }


def compare(fit: SurveyFit, route: Route) -> tuple[list[tuple[float, float, float, float]], int]:
    """Errors over bounds and over reported deviations, one row a bend."""
    rows, lost = [], 0
    for k, bend in enumerate(fit.bends):
        a = bend.angle_rad - float(route.angles[k])
        r = bend.radius_m - float(route.radii[k])
        known = bend.radius_determined
        lost += not known
        rows.append(
            (
                a / route.bound_angle[k],
                r / route.bound_radius[k] if known else float("nan"),
                a / bend.angle_sd_rad,
                r / bend.radius_sd_m if known else float("nan"),
            )
        )
    return rows, lost


def show(r: dict, goal: float | None = None) -> None:
    """Print one line of figures."""
    by_part = list(zip(PARTS, r["by part"], strict=False))
    missed = goal is not None and r["right"] < goal * r["routes"]
    refused = f", {r['refused']} of them with an error" if r["refused"] else ""
    asked = "" if goal is None else f" (goal {goal:.1%}{', MISSED' if missed else ''})"
    sys.stdout.write(
        f"{r['regime']:<26} {r['accuracy']:<9} right {r['right']}/{r['routes']}{refused}{asked}"
        f"  angle/bound {r['angle/bound']:.3f}  radius/bound {r['radius/bound']:.3f}"
        f"  pulls {r['pull angle']:.2f} {r['pull radius']:.2f}"
        f"  undetermined {r['undetermined']}/{r['bends']}"
        f"  pull radius by deviation "
        + ", ".join(f"{low}-{low + 0.1:.1f} R {p:.2f} ({n})" for low, (n, p) in by_part)
        + f"  {r['ms/route']:.0f} ms  worst pull {r['worst']:.1f}  wrong {r['wrong'][:12]}\n"
    )
    sys.stdout.flush()


def main() -> None:
    """Print one line a regime."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--routes", type=int, default=1000)
    parser.add_argument("--regime", nargs="+", default=["survey"])
    parser.add_argument("--accuracy", default="given", help="given, estimated, or x2 for twice")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--goals", type=int, help="so many routes of every kind with its goal")
    parser.add_argument("--long", action="store_true", help="time long routes instead")
    args = parser.parse_args()
    if args.long:
        for points, bends, outliers in LONG:
            rng = np.random.default_rng([args.seed, points, bends])
            route = long_route(rng, points, bends)
            taken = with_outliers(rng, route, outliers)
            begin = time.process_time()
            fit = fit_survey(taken, route.sigma)
            took = time.process_time() - begin
            sys.stdout.write(
                f"{points} points {bends} bends {outliers:.0%} outliers: "
                f"{len(fit.bends)} read, {took:.2f} s\n"
            )
    elif args.goals:
        for regime, accuracy, goal in GOALS:
            show(measure(regime, accuracy, args.goals, args.seed), goal)
    else:
        for regime in args.regime:
            show(measure(regime, args.accuracy, args.routes, args.seed))


if __name__ == "__main__":
    main()
