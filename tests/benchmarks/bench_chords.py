"""How often the exact reading is right, by mixture: run with `python bench_chords.py [routes]`.

"Spaced" mixtures have vertices equally spaced on their straights too.

A route is right when kind, number, angle and radius of every bend are. Angles hold to 1e-6 rad
and radii to 1e-6 of themselves, or to what the rounding of the drawing allows. Flagged: called
ambiguous; unflagged: wrong without any caution.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "properties"))
from drawn_routes import Drawn, KnownRoute, Regime, draw_route, make_route

from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.readings import ReadAs, Reading

MIXTURES = {
    "chords only": Regime(),
    "corners only": Regime(corners=1.0),
    "half and half": Regime(corners=0.5),
    "half and half, one plane": Regime(corners=0.5, flat=True),
    "half and half, legs of 4 values": Regime(corners=0.5, legs_m=(0.3, 0.6, 1.0, 2.0)),
    "arcs, corners, chords": Regime(corners=0.33, arcs=0.33),
    "coarse chords 22.5-45": Regime(corners=0.5, chord_deg=(22.5, 45.0), angles=(67.5, 80.0, 90.0)),
    "two chords allowed": Regime(corners=0.3, least_chords=2, chord_deg=(5.0, 22.5)),
    "uneven chords": Regime(corners=0.3, uneven=0.3),
    "touching arcs": Regime(touching=0.5),
    "touching, two chords allowed": Regime(
        touching=0.7, corners=0.2, least_chords=2, chord_deg=(5.0, 22.5), angles=(10.0, 22.5, 45.0)
    ),
    "touching, two chords allowed, one plane": Regime(
        touching=0.7,
        flat=True,
        least_chords=2,
        chord_deg=(5.0, 22.5),
        angles=(10.0, 22.5, 45.0),
        rounding_m=1e-4,
    ),
    "touching, with corners and arcs": Regime(touching=0.5, corners=0.3, arcs=0.3),
    "drawn outside": Regime(outside=True, chord_deg=(2.0, 11.0), least_chords=4),
    "corners, one plane, equal legs": Regime(corners=1.0, flat=True, legs_m=(1.0,)),
    "corners 15/30, one plane, equal legs": Regime(
        corners=1.0, flat=True, legs_m=(1.0,), angles=(15.0, 30.0)
    ),
    "corners 22.5, one plane, equal legs": Regime(
        corners=1.0, flat=True, legs_m=(1.0,), angles=(22.5,)
    ),
    "rounded to 1 um, 4 q": Regime(corners=0.3, rounding_m=1e-6),
    "rounded to 0.1 mm, 4 q": Regime(corners=0.3, rounding_m=1e-4),
    "rounded to 1 mm, 4 q": Regime(corners=0.3, rounding_m=1e-3),
    "rounded to 0.1 mm, 8 q": Regime(corners=0.3, rounding_m=1e-4, sagitta_in_roundings=8.0),
    "rounded to 1 mm, 8 q": Regime(corners=0.3, rounding_m=1e-3, sagitta_in_roundings=8.0),
    "corners 15/30, one plane, legs of 2 odd values": Regime(
        corners=1.0, flat=True, legs_m=(0.73129, 1.23371), angles=(15.0, 30.0)
    ),
    "corners 15/30, one plane, legs of 4 odd values": Regime(
        corners=1.0, flat=True, legs_m=(0.73129, 1.23371, 0.41357, 2.11379), angles=(15.0, 30.0)
    ),
    "rounded to 1 mm, 16 points a quarter": Regime(
        corners=0.3,
        angles=(22.5, 45.0, 90.0),
        chord_deg=(5.6256, 5.6256),
        rounding_m=1e-3,
        sagitta_in_roundings=1e-12,
    ),
    "rounded to 1 mm, 8 points a quarter": Regime(
        corners=0.3,
        angles=(22.5, 45.0, 90.0),
        chord_deg=(11.251, 11.251),
        rounding_m=1e-3,
        sagitta_in_roundings=1e-12,
    ),
    **{
        f"rounded to {name} in, {points} points a quarter": Regime(
            corners=0.3,
            angles=(22.5, 45.0, 90.0),
            chord_deg=(step, step),
            rounding_m=0.0254 * inches,
            sagitta_in_roundings=1e-12,
        )
        for name, inches in (("1/16", 1 / 16), ("1/8", 1 / 8), ("1/4", 1 / 4))
        for points, step in ((16, 5.6256), (8, 11.251))
    },
    **{
        f"{name}, {points} points a quarter, spaced": Regime(
            corners=corners,
            angles=(22.5, 45.0, 90.0),
            chord_deg=(step, step),
            rounding_m=rounding_m,
            sagitta_in_roundings=1e-12,
            between=(0, 2, 3, 4, 9),
        )
        for name, rounding_m, corners in (
            ("exact", 0.0, 0.3),
            ("rounded to 1 mm", 1e-3, 0.3),
            ("no corners, rounded to 1 mm", 1e-3, 0.0),
            ("rounded to 1/16 in", 0.0254 / 16, 0.3),
        )
        for points, step in ((16, 5.6256), (8, 11.251))
    },
    "rounded to 1 mm, 16 q": Regime(corners=0.3, rounding_m=1e-3, sagitta_in_roundings=16.0),
}
CORNER_RADIUS_M = 0.05


@dataclass
class Score:
    """Counts over the routes of one mixture."""

    routes: int = 0
    right: int = 0
    flagged: int = 0
    wrong_unflagged: int = 0
    seconds: float = 0.0


def is_right(route: KnownRoute, reading: Reading, rounding_m: float) -> bool:
    """Whether every bend of a route was read as it was drawn."""
    if len(route.bends) != len(reading.bends):
        return False
    kinds = {
        Drawn.CORNER: ReadAs.CORNERS,
        Drawn.CHORDS: ReadAs.CHORDS,
        Drawn.ARC: ReadAs.ARCS,
    }
    for index, (known, read) in enumerate(zip(route.bends, reading.bends, strict=True)):
        if read.read_as is not kinds[known.drawn]:
            return False
        sides = route.straights_m[index : index + 2]
        allowed = 1e-8 + 10.0 * rounding_m / min(*sides, known.radius_m or 1e9)
        if abs(known.angle_rad - read.angle_rad) > allowed:
            return False
        if known.drawn is not Drawn.CORNER:
            loose = 1e-6 + 20.0 * rounding_m / (known.radius_m * known.angle_rad)
            if abs(read.radius_m - known.radius_m) > (loose + allowed) * known.radius_m:
                return False
    return True


def measure(regime: Regime, routes: int, seed: int) -> Score:
    """Read fresh seeded routes of one mixture."""
    score = Score()
    for number in range(routes):
        rng = np.random.default_rng([seed, number])
        route = make_route(regime, rng)
        turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
        path = draw_route(route, regime.rounding_m, turn)
        start = time.perf_counter()
        reading = read_bends(path, corner_radius_m=CORNER_RADIUS_M)
        score.seconds += time.perf_counter() - start
        score.routes += 1
        flagged = any(one.code == "ambiguous-chords" for one in reading.findings)
        right = is_right(route, reading, regime.rounding_m)
        told = any(
            one.severity is not Severity.NOTE and one.code != "all-level"
            for one in reading.findings
        )
        score.right += right
        score.flagged += flagged
        score.wrong_unflagged += not right and not (flagged or told)
    return score


def main() -> None:
    """Print the table."""
    routes = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    only = sys.argv[2] if len(sys.argv) > 2 else ""
    heads = ("right", "flagged", "unflagged", "ms")
    sys.stdout.write(f"{'mixture':40} " + " ".join(f"{head:>10}" for head in heads) + "\n")
    for name, regime in MIXTURES.items():
        if only not in name:
            continue
        score = measure(regime, routes, seed=2026)
        ms = 1000.0 * score.seconds / score.routes
        counts = (score.right, score.flagged, score.wrong_unflagged)
        sys.stdout.write(f"{name:40} " + " ".join(f"{n:10}" for n in counts) + f" {ms:10.1f}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
