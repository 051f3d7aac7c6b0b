"""Angles of routes against plain maximum likelihood on the same routes, by the bound of one bend.

Run on demand: ``python tests/benchmarks/bench_plain_likelihood.py --routes 500 --regime offset``.
The peer is the usual joint fit: corners and radii that make the points likeliest, begun both from
what was read and from the radii drawn, so that no valley holds it up; it takes no mean over what
the points leave open. Where straights are short its errors are far from normal, so the root mean
square of a hundred routes says little: the last line tells how many samples of a hundred of these
routes come out at or below a figure.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from unittest import mock

import numpy as np
from survey_regimes import draw
from survey_routes import Route

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey import answer as survey_answer
from analyzer.geometry.survey.chain import Chain, frames
from analyzer.geometry.survey.fit import ChainFit, fit_chain
from analyzer.geometry.survey.reader import fit_survey

SAMPLE, SAMPLES = 100, 5000


def fit_and_chain(route: Route) -> tuple[Floats, Chain | None]:
    """Return the angles read and the chain they come from. [rad]"""
    kept: list[ChainFit] = []
    told = survey_answer.straight_findings

    def keep(fit: ChainFit, *rest: object) -> object:
        kept.append(fit)
        return told(fit, *rest)  # type: ignore[arg-type]

    with mock.patch.object(survey_answer, "straight_findings", keep):
        found = fit_survey(route.points, route.sigma)
    angles = np.array([bend.angle_rad for bend in found.bends])
    return angles, kept[-1].chain if kept else None


def plain(route: Route, chain: Chain) -> Floats:
    """Return the likeliest angles of a chain whose bends are all free. [rad]"""
    points = route.points - route.points.mean(axis=0)
    free = replace(
        chain,
        joints=np.zeros(chain.radii_m.size, dtype=np.intp),
        gaps_m=None,
        lead_m=None,
        tail_m=None,
        turns_rad=None,
    )
    starts = (free, replace(free, radii_m=route.radii.copy()))
    fits = [fit_chain(points, one, route.sigma, steps=300, tolerance=1e-6) for one in starts]
    return frames(min(fits, key=lambda fit: fit.chi2).chain).angle


def rms(values: Floats) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


def main() -> None:
    """Print both root mean squares and how they scatter from sample to sample."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--routes", type=int, default=500)
    parser.add_argument("--regime", default="offset")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--figure", type=float, default=0.895, help="of a sample, over the bound")
    args = parser.parse_args()
    ours, peer, missed = [], [], 0
    for i in range(args.routes):
        route = draw(args.regime, np.random.default_rng([args.seed, i]))
        angles, chain = fit_and_chain(route)
        count = route.angles.size
        if angles.size != count or chain is None or chain.radii_m.size != count:
            missed += 1
            continue
        if np.isfinite(route.bound_angle).all():
            ours.append((angles - route.angles) / route.bound_angle)
            peer.append((plain(route, chain) - route.angles) / route.bound_angle)
    mine, theirs = np.concatenate(ours), np.concatenate(peer)
    sys.stdout.write(
        f"{args.regime}, seed {args.seed}, {len(ours)} routes with a bound, {missed} not counted "
        f"right: angle over the bound {rms(mine):.3f}, plain maximum likelihood "
        f"{rms(theirs):.3f}, ratio {rms(mine) / rms(theirs):.3f}\n"
    )
    rng = np.random.default_rng(args.seed)
    for name, values in (("read", ours), ("plain", peer)):
        drawn = [
            rms(np.concatenate([values[k] for k in rng.integers(0, len(values), SAMPLE)]))
            for _ in range(SAMPLES)
        ]
        low, high = np.quantile(drawn, [0.05, 0.95])
        sys.stdout.write(
            f"  {name}: samples of {SAMPLE} routes {low:.2f} to {high:.2f} (nine in ten), "
            f"{np.mean(np.array(drawn) <= args.figure):.0%} at or below {args.figure:g}\n"
        )


if __name__ == "__main__":
    main()
