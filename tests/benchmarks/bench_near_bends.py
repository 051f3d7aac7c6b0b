"""Two bends of one plane and sense close together: read as two, or as one larger bend?

Run on demand: ``python tests/benchmarks/bench_near_bends.py --routes 200 --gap 0.1``. The peer is
the usual penalized likelihood at its best: both models fitted from the truth, so that no search
can miss, and two bends taken where chi-square falls by more than a bend's four unknowns cost,
4 ln(2 n) by the criterion of Schwarz (Annals of Statistics 6, 1978, p. 461), without and with 14
more for the choice of place; how many of the pairs that pass the latter are read as two tells
what the search misses. The last row tells what the points themselves allow: how often one bend
alone would look as good as two by the same fall of chi-square.
"""

from __future__ import annotations

import argparse
import sys
from math import log

import numpy as np
from survey_regimes import draw
from survey_routes import Route, build

from analyzer.errors import InputError
from analyzer.geometry.survey import fit_survey
from analyzer.geometry.survey_chain import FREE, Chain, frames
from analyzer.geometry.survey_fit import fit_chain

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


def fall(route: Route, chain: Chain) -> float:
    """How far chi-square falls from the best one bend to the best two."""
    two = fit_chain(route.points, chain, route.sigma, tolerance=1e-4, steps=200)
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
    return float(min(costs) - two.chi2)


def one_bend(rng: np.random.Generator, pair: Route, gap_m: float) -> float:
    """How far chi-square falls where one bend of the whole turn is drawn and two are fitted."""
    turn = float(pair.angles.sum())
    radius = float(pair.radii[0]) + gap_m / turn
    spacing = float(np.linalg.norm(pair.clean[1] - pair.clean[0]))
    straights = np.array([2.5, 2.5])
    single = build(rng, np.array([turn]), np.array([radius]), straights, spacing, pair.sigma)
    best = -np.inf
    for share in (0.3, 0.5, 0.7):
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
        best = max(best, fall(split, chain))
    return best


def main() -> None:
    """Print one line a noise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--routes", type=int, default=200)
    parser.add_argument("--gap", type=float, default=0.1, help="straight between, in radii")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--radii", choices=("same", "unlike"), default="same")
    args = parser.parse_args()
    rows: dict[float, list[tuple[bool, float, float, float]]] = {}
    for i in range(args.routes):
        rng = np.random.default_rng([args.seed, i])
        route = draw(f"gap-{args.radii}:{args.gap}", rng)
        gap_m = args.gap * float(route.radii[0])
        try:
            right = len(fit_survey(route.points, route.sigma).bends) == 2
        except InputError:
            right = False
        # near a half turn the two outer lines meet far off or not at all: one bend has no corner
        far = float(route.angles.sum()) > FARTHEST_RAD
        gained = np.inf if far else fall(route, true_chain(route, gap_m))
        price = 4.0 * log(2.0 * route.points.shape[0])
        alone = one_bend(rng, route, gap_m) if np.isfinite(gained) else -np.inf
        rows.setdefault(route.sigma, []).append((right, gained, price, alone))
    for sigma, found in sorted(rows.items()):
        right, gained, price, alone = (np.array(column) for column in zip(*found, strict=True))
        passed = gained > price + PLACE
        sys.stdout.write(
            f"accuracy {1000 * sigma:g} mm, straight {args.gap} R, {len(found)} pairs: read as two "
            f"{right.mean():.1%}; 4 ln(2n) with no search to miss {(gained > price).mean():.1%}, "
            f"and 14 more {passed.mean():.1%}, of those {int(right[passed].sum())} of "
            f"{int(passed.sum())} read as two; one bend alone falls by "
            f"{np.quantile(alone, 0.99):.1f} in one of 100, two bends by less than that "
            f"{(gained < np.quantile(alone, 0.99)).mean():.1%}\n"
        )


if __name__ == "__main__":
    main()
