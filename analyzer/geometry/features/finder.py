"""Features: bends that belong together, such as offsets and saddles, with a bender's figures.

Corners in fittings belong to no feature and part the bends on both sides. A vertical drop or rise
is listed beside the feature that its bends make otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.features.feature import Feature, TradeFigures
from analyzer.geometry.features.kinds import FEATURE_MAKERS, Charts
from analyzer.geometry.features.placed_bends import PlacedBend, lies_in_plane, place_bends
from analyzer.geometry.features.verticals import find_verticals
from analyzer.geometry.readings import Bend

__all__ = ["find_features"]


def find_features(
    bends: Sequence[Bend],
    centerline: Centerline,
    *,
    offset_chart: Mapping[float, TradeFigures] | None = None,
    saddle_chart: Mapping[float, TradeFigures] | None = None,
) -> tuple[Feature, ...]:
    """Return the features that the bends of a run make, in order of their first bend.

    Parameters
    ----------
    bends : sequence of Bend
        All bends of the run, in order.
    centerline : Centerline
        The run they belong to.
    offset_chart, saddle_chart : mapping of float to TradeFigures, optional
        Rounded trade figures by angle of an offset, and by outer angle of a three-bend saddle,
        in degrees.

    Notes
    -----
    Figures by kind:

    - offset, rolling offset: ``angle_deg depth_m spacing_m multiplier shrink_m
      center_to_center_m start_elevation_m end_elevation_m``, with ``trade_multiplier
      trade_spacing_m trade_shrink_m`` where the chart has the angle; ``spacing_m`` is between the
      corner points, ``center_to_center_m`` along the centerline between the middles of the bends;
      rolling also ``rise_m roll_m true_offset_m roll_deg``: rise up, roll to the right of travel,
      roll angle from the rise.
    - saddles: the same, with the depth of the obstacle cleared; ``shrink_m`` of a three-bend
      saddle is how far its center mark moves; a four-bend saddle has ``top_m`` between its inner
      corner points.
    - back-to-back, U: ``angle_deg depth_m``, the distance between the two legs.
    - kick, quarter bend: ``angle_deg gain_m``: the legs to the corner point less the length of the
      bend, R (2 tan(a/2) - a) for an arc.
    - large bend, one of more than a quarter that is no U: the same; from 175° to 185° ``depth_m``
      instead, between its ends across the first leg, and beyond that neither.
    - twisted bend, a curve that leaves its plane by more than 1°: ``angle_deg net_angle_deg``, its
      whole turn and the angle between its end directions.
    - dog-leg, two bends below a quarter out of one plane: ``angle_deg rotation_deg spacing_m``,
      with ``second_angle_deg`` where the second angle is another.
    - opposite kicks, two bends that turn opposite ways in one plane by unequal angles, the larger
      at most twice the smaller (within 1°), so that the run does not come back to parallel:
      ``angle_deg second_angle_deg net_angle_deg depth_m spacing_m center_to_center_m``;
      ``net_angle_deg`` is what is left of the turn, ``depth_m`` how far the second corner point
      lies off the line of the straight before the first bend.
    - vertical drop, vertical rise: ``top_elevation_m bottom_elevation_m rise_m straight_m``, the
      straight zero where the bends follow each other at once.
    - all but these two have ``start_elevation_m end_elevation_m`` of their ends where these differ
      by a sixteenth of an inch or more.
    """
    charts = Charts(offset_chart or {}, saddle_chart or {})
    found: list[Feature] = []
    for group in place_bends(bends, centerline):
        found += _shared_out(group, charts)
    found += find_verticals(bends, centerline)
    starts = {bend.number: bend.station_m for bend in bends}

    def place(one: Feature) -> tuple[float, bool]:
        return starts[one.bends[0]] if one.bends else one.station_m, one.kind.startswith("vertical")

    return tuple(sorted(found, key=place))


def _shared_out(group: Sequence[PlacedBend], charts: Charts) -> list[Feature]:
    """Share bends out among features so that together they explain most; each bend belongs to one.

    Taken one after the other from the start, a bend before an offset could rob it of its first.
    """
    worth = [0.0] * (len(group) + 1)
    choice: list[tuple[Feature | None, int]] = [(None, 1)] * len(group)
    for index in reversed(range(len(group))):
        worth[index] = worth[index + 1]
        for size, value, maker in FEATURE_MAKERS:
            part = group[index : index + size]
            told = len(part) == size and (size == 1 or all(map(lies_in_plane, part)))
            feature = maker(part, charts) if told else None
            if feature is not None and value + worth[index + size] > worth[index]:
                worth[index] = value + worth[index + size]
                choice[index] = (feature, size)
    found, index = [], 0
    while index < len(group):
        feature, size = choice[index]
        if feature is not None:
            found.append(feature)
        index += size
    return found
