"""Two bends of one plane and sense close together: read as two, or as one larger bend?

Run on demand: ``python tests/benchmarks/bench_near_bends.py --routes 200 --gap 0.1``. The peer is
the usual penalized likelihood at its best: both models fitted from the truth, so that no search
can miss, and two bends taken where chi-square falls by more than a bend's four unknowns cost,
4 ln(2 n) by the criterion of Schwarz (Annals of Statistics 6, 1978, p. 461), without and with 14
more for the choice of place; how many of the pairs that pass the latter are read as two tells
what the search misses. What the points themselves allow comes last, in the smallest model that
holds the pairs (two bends of one radius share radius and plane: two unknowns more than one bend):
how many pairs fall by more than every one of so many bends that stand alone. No rule on chi-square
that reads all of those as one bend reads more of the pairs as two.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from math import log

import numpy as np
from survey_regimes import draw
from survey_routes import Route, build

from analyzer.errors import InputError
from analyzer.geometry.survey.chain import FREE, LIKE, Chain, frames
from analyzer.geometry.survey.fit import fit_chain
from analyzer.geometry.survey.reader import fit_survey

PLACE = 14.0
FARTHEST_RAD = float(np.radians(165.0))


def true_chain(route: Route, gap_m: float) -> Chain:
    """The two bends as drawn, from their noiseless points by least squares."""
    points = route.clean
    ends = [points[:4].mean(axis=0), points[-4:].mean(axis=0)]
    u1 = points[3] - points[0]
    u3 = points[-1] - points[-4]
    u1, u3 = u1 / np.linalg.norm(u1), u3 / np.linalg.norm(u3)
    side = u3 - (u3 @ u1) * u1
    side /= np.linalg.norm(side)
    a = route.angles[0]
    u2 = np.cos(a) * u1 + np.sin(a) * side
    tangents = route.radii * np.tan(route.angles / 2.0)
    middle = tangents.sum() + gap_m
    # end - start = (x + T1) u1 + middle u2 + (T2 + y) u3, solved for the outer lengths
    across = np.stack((u1, u3), axis=1)
    lengths = np.linalg.lstsq(across, ends[1] - ends[0] - middle * u2, rcond=None)[0]
    first = ends[0] + lengths[0] * u1
    second = first + middle * u2
    cut = int(((points - 0.5 * (first + second)) @ u2 < 0.0).sum())
    return Chain(
        np.array([points[0], first, second, points[-1]]),
        route.radii.copy(),
        np.array([0, cut, points.shape[0]]),
        np.array([FREE, FREE]),
    )


def fall(route: Route, chain: Chain, one_chi2: float, *, like: bool = False) -> float:
    """How far chi-square falls from the best one bend to the best two."""
    start = replace(chain, joints=np.array([LIKE, FREE])) if like else chain
    two = fit_chain(route.points, start, route.sigma, tolerance=1e-4, steps=200)
    return float(one_chi2 - two.chi2)


def best_one(route: Route, chain: Chain) -> float:
    """Chi-square of the best one bend in place of two."""
    nodes, f = chain.nodes_m, frames(chain)
    turn = float(f.angle.sum())
    apart = float(np.linalg.norm(nodes[2] - nodes[1]))
    corner = nodes[1] + f.u1[0] * apart * np.sin(f.angle[1]) / np.sin(turn)
    costs = []
    for part in (0.7, 0.85, 1.0, 1.15):
        radius = part * (apart + float(chain.radii_m.sum())) / 2.0 / np.tan(turn / 4.0) / 2.0
        one = Chain(
            np.array([nodes[0], corner, nodes[-1]]),
            np.array([radius]),
            np.array([0, route.points.shape[0]]),
            np.array([FREE]),
        )
        costs.append(fit_chain(route.points, one, route.sigma, tolerance=1e-4, steps=200).chi2)
    return float(min(costs))


def one_bend(rng: np.random.Generator, pair: Route, gap_m: float, *, like: bool) -> float:
    """How far chi-square falls where one bend of the whole turn is drawn and two are fitted."""
    turn = float(pair.angles.sum())
    radius = float(pair.radii[0]) + gap_m / turn
    spacing = float(np.linalg.norm(pair.clean[1] - pair.clean[0]))
    straights = np.array([2.5, 2.5])
    single = build(rng, np.array([turn]), np.array([radius]), straights, spacing, pair.sigma)
    best, alone = -np.inf, None
    for share in (0.25, 0.5, 0.75):
        parts = turn * np.array([share, 1.0 - share])
        split = Route(
            single.points,
            single.clean,
            single.sigma,
            parts,
            pair.radii,
            pair.bound_angle,
            pair.bound_radius,
        )
        chain = true_chain(split, gap_m)
        alone = best_one(split, chain) if alone is None else alone
        best = max(best, fall(split, chain, alone, like=like))
    return best


def main() -> None:
    """Print one line a noise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--routes", type=int, default=200)
    parser.add_argument("--gap", type=float, default=0.1, help="straight between, in radii")
    parser.add_argument("--alone", type=int, default=10, help="bends alone drawn for each pair")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--radii", choices=("same", "unlike"), default="same")
    parser.add_argument("--accuracy-mm", type=float, help="of all pairs; else 1 or 2 mm, drawn")
    args = parser.parse_args()
    like = args.radii == "same"
    regime = f"gap-{args.radii}:{args.gap}"
    if args.accuracy_mm is not None:
        regime += f"+noise:{args.accuracy_mm / 1000.0}"
    rows: dict[float, list[tuple[bool, float, float, float]]] = {}
    singles: list[float] = []
    for i in range(args.routes):
        rng = np.random.default_rng([args.seed, i])
        route = draw(regime, rng)
        gap_m = args.gap * float(route.radii[0])
        try:
            right = len(fit_survey(route.points, route.sigma).bends) == 2
        except InputError:
            right = False
        price = 4.0 * log(2.0 * route.points.shape[0])
        # near a half turn the two outer lines meet far off or not at all: one bend has no corner
        gained = smallest = np.inf
        if float(route.angles.sum()) <= FARTHEST_RAD:
            chain = true_chain(route, gap_m)
            one = best_one(route, chain)
            gained = fall(route, chain, one)
            smallest = fall(route, chain, one, like=True) if like else gained
            singles += [one_bend(rng, route, gap_m, like=like) for _ in range(args.alone)]
        rows.setdefault(route.sigma, []).append((right, gained, price, smallest))
    for sigma, found in sorted(rows.items()):
        right, gained, price, _ = (np.array(column) for column in zip(*found, strict=True))
        passed = gained > price + PLACE
        sys.stdout.write(
            f"accuracy {1000 * sigma:g} mm, straight {args.gap} R, {len(found)} pairs: read as two "
            f"{right.mean():.1%}; 4 ln(2n) with no search to miss {(gained > price).mean():.1%}, "
            f"and 14 more {passed.mean():.1%}, of those {int(right[passed].sum())} of "
            f"{int(passed.sum())} read as two\n"
        )
    found = [row for group in rows.values() for row in group]
    sys.stdout.write(f"all {len(found)} pairs: {sum(row[0] for row in found)} read as two")
    if singles:
        most = max(singles)
        beyond = sum(row[3] > most for row in found)
        sys.stdout.write(
            f"; {beyond} fall by more than {most:.1f}, the greatest fall of {len(singles)} bends "
            "that stand alone"
        )
    sys.stdout.write("\n")


if __name__ == "__main__":
    main()
