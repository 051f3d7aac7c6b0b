"""Words on joints: where legs count on conductors cut and joined, and what whole ones reach."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.analysis import RunAnalysis
from analyzer.checks.directions import counted_directions
from analyzer.checks.joints import JointNeed, WholePulling, joint_need
from analyzer.job.settings import Job
from analyzer.units import show_share

__all__ = ["fed_words", "joined_words", "meeting_words", "run_joints", "whole_share"]


def run_joints(analyzed: RunAnalysis, job: Job) -> JointNeed | None:
    """Return the joints that a run needs in the directions its checks count in, None where none."""
    legs = [item.leg for item in analyzed.legs]
    forward = [item.forward for item in analyzed.legs]
    reverse = [item.reverse for item in analyzed.legs]
    ways = counted_directions(legs, forward, reverse)
    return joint_need(analyzed.run, legs, forward, reverse, ways, job)


def joined_words(places: Sequence[str]) -> str:
    """Return ``the conductors cut and joined at Box 1, Box 3``."""
    return f"the conductors cut and joined at {', '.join(places)}"


def fed_words(whole: WholePulling) -> str:
    """Return where whole conductors are fed: ``fed at Box 2 both ways``."""
    return f"fed at {whole.feed_at}" + ("" if whole.is_end else " both ways")


def whole_share(whole: WholePulling) -> str:
    """Return the largest share of limit of whole conductors: ``85 %``."""
    return "not checked" if whole.governing is None else show_share(whole.governing.share)


def meeting_words(need: JointNeed) -> str:
    """Return what it takes to pull legs as they are listed, where heads meet."""
    text = f"Pulled so, heads meet at {', '.join(need.places)}"
    if need.is_needed:
        return f"{text}: conductors are cut and joined there."
    whole = f"{fed_words(need.whole)}, whole conductors"
    if not need.is_gentler:
        return f"{text}, but no joint is needed: {whole} reach no more."
    reach = "pass too, at" if need.whole.passes else "reach"
    return (
        f"{text}, where that needs conductors cut and joined; {whole} {reach} "
        f"{whole_share(need.whole)} of limit."
    )
