"""Measured parts of a drawn path: what is said of the single points beside them.

Where points stand densely on some of a path, a point that stands alone may be a corner somebody
drew, or one shot that ties in what was not measured, or a wrong one: the drawing does not tell.
"""

from __future__ import annotations

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import BendChain, Drawing
from analyzer.geometry.numbered_findings import NumberedFinding

__all__ = ["find_lone_shots"]

_SHOWN = 20


def find_lone_shots(drawing: Drawing, chain: BendChain, first_node: int) -> None:
    """Say which corners beside measured parts hang on single points: a caution.

    A corner in a fitting, or with a radius of its own, was drawn.

    Parameters
    ----------
    drawing : Drawing
        The path.
    chain : BendChain
        What was gathered; the finding is added to it.
    first_node : int
        Corner point from which the stretch with the measured parts was gathered.
    """
    lone = [
        joint
        for node, joint in zip(chain.nodes[first_node:], chain.joints[first_node:], strict=True)
        if chain.specs[node.bend].corner
        and joint not in drawing.kept
        and drawing.radii_m[joint] is None
    ]
    if not lone:
        return
    many = len(lone) > 1
    shown = ", ".join(["{}"] * min(len(lone), _SHOWN)) + (", ..." if len(lone) > _SHOWN else "")
    text = (
        f"{len(lone)} corner{'s' if many else ''} beside the measured points ({shown}) "
        f"hang{'' if many else 's'} on single points: where a bend there was measured, neither its "
        "angle nor its radius is right, and where a point is wrong there is no bend. Measure the "
        "bend at its start, its middle and its end, with a straight on both sides, or check the "
        "points; where it was drawn, give it a radius of its own in the drawing"
    )
    chain.findings.append(
        (
            NumberedFinding(
                "survey-lone-points", Severity.CAUTION, text, points=tuple(lone[:_SHOWN])
            ),
            lone[0],
        )
    )
