"""Features and a bender's figures, against printed values.

Checks: rolling offset 10 in and 24 in at 30° has true offset 26 in, travel 52 in, roll angle
67.38°; rise 8 in and roll 12 in give 14.42 in (hunker.com, rolling offset in piping); exact
multipliers 5.759, 3.864, 2.613, 2.000, 1.414, 1.155 and shrink 0.0875, 0.1317, 0.1989, 0.2679,
0.4142, 0.5774 in per inch at 10, 15, 22.5, 30, 45 and 60° (cosecants and half-angle tangents;
rounded trade values from the offset multiplier list at mypskov.info); gain of a 90 of 9.5 in
radius 4.077 in.

One long file, because all tests share the ways of drawing made at its top.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import acos, cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
from scipy.special import ellipe

from analyzer.catalog.offset_charts import offset_chart, saddle_chart
from analyzer.catalog.tables import read_table
from analyzer.geometry.bends import read_bends
from analyzer.geometry.curves import Along, arcs_along
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.features.feature import Feature, TradeFigures
from analyzer.geometry.features.finder import find_features
from analyzer.geometry.segments import Arc, Floats, Straight, cross
from analyzer.units import inches, to_inches

Points = Sequence[tuple[float, float, float]]
OFFSET_CHART = {30.0: TradeFigures(2.0, 0.25), 22.5: TradeFigures(2.6, 3 / 16)}
ENDS = ("start_elevation_m", "end_elevation_m")
SADDLE_CHART = {22.5: TradeFigures(2.5, 3 / 16)}


def features(
    points: Points, radius_in: float = 4.0, kept: frozenset[int] = frozenset()
) -> tuple[Feature, ...]:
    """Features of a route through points in inches, corners bent to a radius."""
    rows = [tuple(inches(float(v)) for v in p) for p in points]
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in itertools.pairwise(rows))
    reading = read_bends(DrawnPath(edges), corner_radius_m=inches(radius_in), kept_vertices=kept)
    return find_features(
        reading.bends, reading.centerline, offset_chart=OFFSET_CHART, saddle_chart=SADDLE_CHART
    )


def offset_route(depth: float, angle_deg: float) -> Points:
    run = depth / tan(radians(angle_deg))
    return [(0, 0, 0), (60, 0, 0), (60 + run, depth, 0), (200 + run, depth, 0)]


@pytest.mark.parametrize(
    ("angle", "multiplier", "shrink"),
    [
        (10.0, 5.759, 0.0875),
        (15.0, 3.864, 0.1317),
        (22.5, 2.613, 0.1989),
        (30.0, 2.000, 0.2679),
        (45.0, 1.414, 0.4142),
        (60.0, 1.155, 0.5774),
    ],
)
def test_offset_has_the_exact_multiplier_and_shrink(
    angle: float, multiplier: float, shrink: float
) -> None:
    (feature,) = features(offset_route(10.0, angle))
    figures = dict(feature.figures)
    assert feature.kind == "offset"
    assert feature.bends == (1, 2)
    # half the last printed digit
    assert figures["multiplier"] == pytest.approx(multiplier, abs=5e-4)
    assert figures["shrink_m"] / figures["depth_m"] == pytest.approx(shrink, abs=5e-5)
    assert to_inches(figures["depth_m"]) == pytest.approx(10.0, abs=1e-9)
    assert figures["spacing_m"] == pytest.approx(figures["depth_m"] / sin(radians(angle)))
    assert figures["angle_deg"] == pytest.approx(angle)


def test_offset_shrink_is_travel_less_run() -> None:
    (feature,) = features(offset_route(10.0, 30.0))
    figures = dict(feature.figures)
    run = figures["depth_m"] / tan(radians(30.0))
    assert figures["shrink_m"] == pytest.approx(figures["spacing_m"] - run)


def test_trade_figures_stand_beside_the_exact_ones_where_the_chart_has_the_angle() -> None:
    figures = dict(features(offset_route(10.0, 22.5))[0].figures)
    assert figures["trade_multiplier"] == 2.6
    assert to_inches(figures["trade_spacing_m"]) == pytest.approx(26.0)
    assert to_inches(figures["trade_shrink_m"]) == pytest.approx(1.875)
    assert "trade_multiplier" not in dict(features(offset_route(10.0, 45.0))[0].figures)


def test_offset_is_measured_between_the_middles_of_its_bends_along_the_raceway() -> None:
    # 20 in between corners, less 4 tan 15 at each, and half of each arc of 30 degrees at 4 in
    (feature,) = features(offset_route(10.0, 30.0))
    (along,) = inches_of(feature, "center_to_center_m")
    assert along == pytest.approx(20.0 - 8.0 * tan(radians(15.0)) + 4.0 * radians(30.0))


@pytest.mark.parametrize(("angle", "in_chart"), [(29.6, False), (29.8, True), (30.4, False)])
def test_trade_figures_are_for_the_angle_of_the_chart_within_a_quarter_degree(
    angle: float, in_chart: bool
) -> None:
    assert ("trade_multiplier" in dict(features(offset_route(10.0, angle))[0].figures)) is in_chart


@pytest.mark.parametrize(
    ("rise", "roll", "true_offset", "roll_deg"),
    [(10.0, 24.0, 26.0, 67.38), (8.0, 12.0, 14.42, None)],
)
def test_rolling_offset(
    rise: float, roll: float, true_offset: float, roll_deg: float | None
) -> None:
    run = (rise**2 + roll**2) ** 0.5 / tan(radians(30.0))
    (feature,) = features(
        [(0, 0, 0), (60, 0, 0), (60 + run, -roll, rise), (200 + run, -roll, rise)]
    )
    figures = dict(feature.figures)
    assert feature.kind == "rolling offset"
    assert to_inches(figures["rise_m"]) == pytest.approx(rise)
    assert to_inches(figures["roll_m"]) == pytest.approx(roll)
    assert to_inches(figures["true_offset_m"]) == pytest.approx(true_offset, abs=5e-3)
    assert to_inches(figures["spacing_m"]) == pytest.approx(2 * true_offset, abs=1e-2)
    if roll_deg is not None:
        assert figures["roll_deg"] == pytest.approx(roll_deg, abs=5e-3)


def test_three_bend_saddle() -> None:
    run = 4.0 / tan(radians(22.5))
    (feature,) = features(
        [(0, 0, 0), (60, 0, 0), (60 + run, 0, 4), (60 + 2 * run, 0, 0), (200, 0, 0)], 3.0
    )
    figures = dict(feature.figures)
    assert feature.kind == "three-bend saddle"
    assert feature.bends == (1, 2, 3)
    assert to_inches(figures["depth_m"]) == pytest.approx(4.0)
    assert to_inches(figures["spacing_m"]) == pytest.approx(4.0 / sin(radians(22.5)))
    assert figures["multiplier"] == pytest.approx(2.613, abs=5e-4)
    assert figures["trade_multiplier"] == 2.5


def test_four_bend_saddle() -> None:
    run = 6.0 / tan(radians(30.0))
    (feature,) = features(
        [
            (0, 0, 0),
            (60, 0, 0),
            (60 + run, 0, 6),
            (90 + run, 0, 6),
            (90 + 2 * run, 0, 0),
            (200, 0, 0),
        ]
    )
    figures = dict(feature.figures)
    assert feature.kind == "four-bend saddle"
    assert feature.bends == (1, 2, 3, 4)
    assert to_inches(figures["depth_m"]) == pytest.approx(6.0)
    assert to_inches(figures["top_m"]) == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("left", "kinds"),
    [
        (0.09, ["four-bend saddle"]),
        (0.18, ["offset", "offset"]),
        (-0.18, ["offset", "offset"]),
        (1.0, ["offset", "offset"]),
    ],
)
def test_four_bend_saddle_comes_back_within_two_percent_of_its_depth(
    left: float, kinds: list[str]
) -> None:
    run, back = 6.0 / tan(radians(30.0)), (6.0 - left) / tan(radians(30.0))
    top, down = 90 + run, 90 + run + back
    found = features(
        [(0, 0, 0), (60, 0, 0), (60 + run, 0, 6), (top, 0, 6), (down, 0, left), (200, 0, left)]
    )
    assert [one.kind for one in found] == kinds


@pytest.mark.parametrize(
    ("left", "is_saddle"), [(0.07, True), (0.1, False), (-0.1, False), (0.6, False)]
)
def test_three_bend_saddle_comes_back_within_two_percent_of_its_depth(
    left: float, is_saddle: bool
) -> None:
    run, back = 4.0 / tan(radians(22.5)), (4.0 - left) / tan(radians(22.5))
    down = 60 + run + back
    found = features(
        [(0, 0, 0), (60, 0, 0), (60 + run, 0, 4), (down, 0, left), (200, 0, left)], 3.0
    )
    assert ("three-bend saddle" in [one.kind for one in found]) is is_saddle


def test_two_offsets_that_do_not_come_back_are_two_offsets() -> None:
    run = 6.0 / tan(radians(30.0))
    found = features(
        [
            (0, 0, 0),
            (60, 0, 0),
            (60 + run, 0, 6),
            (90 + run, 0, 6),
            (90 + 2 * run, 0, 12),
            (200, 0, 12),
        ]
    )
    assert [one.kind for one in found] == ["offset", "offset"]


def test_quarter_bend_has_its_gain() -> None:
    (feature,) = features([(0, 0, 0), (60, 0, 0), (60, 60, 0)], 9.5)
    assert feature.kind == "quarter bend"
    # R (2 tan 45° - pi/2) = 4.077 in
    assert to_inches(dict(feature.figures)["gain_m"]) == pytest.approx(4.077, abs=5e-4)


def drawn_curve(point: Along, slope: Along, end: float) -> tuple[Feature, ...]:
    """Features of a smooth curve in meters between straights, parameter from zero to an end."""
    arcs = arcs_along(point, slope, [0.0, end])
    before = tuple(p - t for p, t in zip(arcs[0].start_m, arcs[0].start_tangent, strict=True))
    after = tuple(p + t for p, t in zip(arcs[-1].end_m, arcs[-1].end_tangent, strict=True))
    edges = [DrawnEdge(one, DrawnAs.SPLINE, 0) for one in arcs]
    edges = [
        DrawnEdge(Straight(before, arcs[0].start_m)),
        *edges,
        DrawnEdge(Straight(arcs[-1].end_m, after)),
    ]
    reading = read_bends(DrawnPath(tuple(edges)), corner_radius_m=None)
    return find_features(reading.bends, reading.centerline)


def test_quarter_of_an_ellipse_gains_its_half_axes_less_its_length() -> None:
    a, b = 0.5, 0.2

    def point(t: Floats) -> Floats:
        return np.column_stack([a * np.sin(t), b * (1.0 - np.cos(t)), 0.0 * t])

    def slope(t: Floats) -> Floats:
        return np.column_stack([a * np.cos(t), b * np.sin(t), 0.0 * t])

    (feature,) = drawn_curve(point, slope, pi / 2.0)
    assert feature.kind == "quarter bend"
    length = a * ellipe(1.0 - (b / a) ** 2)
    # the curve is followed within 1e-5 of its length
    assert dict(feature.figures)["gain_m"] == pytest.approx(a + b - length, abs=2e-5 * length)


def test_bend_whose_legs_pass_each_other_has_no_gain() -> None:
    # climbing: over the corner in plan one leg is at 0.5 tan 0.6 = 0.342 m, the other at 0.258 m
    def point(t: Floats) -> Floats:
        return np.column_stack([np.sin(t), 1.0 - np.cos(t), 0.5 * t])

    def slope(t: Floats) -> Floats:
        return np.column_stack([np.cos(t), np.sin(t), 0.5 + 0.0 * t])

    (feature,) = drawn_curve(point, slope, 1.2)
    assert "gain_m" not in dict(feature.figures)


def test_curve_that_leaves_its_plane_is_a_twisted_bend_and_no_u() -> None:
    # a wave bent upward as a whole by a quarter: it turns by about 180 degrees altogether
    def point(t: Floats) -> Floats:
        return np.column_stack([np.sin(t / 4.0), 0.2 * np.sin(t), 1.0 - np.cos(t / 4.0)])

    def slope(t: Floats) -> Floats:
        return np.column_stack([np.cos(t / 4.0) / 4.0, 0.2 * np.cos(t), np.sin(t / 4.0) / 4.0])

    (feature,) = drawn_curve(point, slope, 2.0 * pi)
    figures = dict(feature.figures)
    assert feature.kind == "twisted bend"
    # ends (1, 0.8, 0) and (0, 0.8, 1) in direction: cos = 0.64 / 1.64
    assert figures["net_angle_deg"] == pytest.approx(degrees(acos(0.64 / 1.64)))
    assert [figures.pop(name) for name in ENDS] == pytest.approx([0.0, 1.0])
    assert figures.keys() == {"angle_deg", "net_angle_deg"}


@pytest.mark.parametrize(
    ("angle", "kind", "figure", "value_in_radii"),
    [
        # gain R (2 tan(a/2) - a), depth R (1 - cos a)
        (92.0, "large bend", "gain_m", 0.46536),
        (120.0, "large bend", "gain_m", 1.36971),
        (170.0, "large bend", "gain_m", 19.89304),
        (176.0, "large bend", "depth_m", 1.99756),
        (178.5, "large bend", "depth_m", 1.99966),
        (179.2, "U", "depth_m", 1.99990),
        (184.0, "large bend", "depth_m", 1.99756),
        (270.0, "large bend", None, 0.0),
    ],
)
def test_bend_of_more_than_a_quarter_is_told_with_its_angle(
    angle: float, kind: str, figure: str | None, value_in_radii: float
) -> None:
    before, first, _ = turned_up(min(angle, 180.0), 0.5)
    assert isinstance(first, Arc)
    more = radians(angle - 180.0)
    rest = [Arc(first.end_m, first.center_m, first.axis, more)] if more > 0.0 else []
    found = drawn(before, first, *rest)
    (feature,) = [one for one in found if not one.kind.startswith("vertical")]
    figures = dict(feature.figures)
    assert (feature.kind, feature.bends) == (kind, (1,))
    assert figures.pop("angle_deg") == pytest.approx(angle)
    # from 3 m on, upward about a radius of 0.5 m
    rise = 0.5 * (1.0 - cos(radians(angle)))
    assert [figures.pop(name) for name in ENDS] == pytest.approx([3.0, 3.0 + rise])
    # five decimals are worked out above
    expected = {} if figure is None else {figure: pytest.approx(0.5 * value_in_radii, abs=5e-6)}
    assert figures == expected


def test_kick() -> None:
    (feature,) = features([(0, 0, 0), (60, 0, 0), (120, 20, 0)])
    assert feature.kind == "kick"


def test_back_to_back_and_u() -> None:
    (apart,) = features([(0, 0, 0), (60, 0, 0), (60, 24, 0), (0, 24, 0)])
    (touching,) = features([(0, 0, 0), (60, 0, 0), (60, 8, 0), (0, 8, 0)])
    assert (apart.kind, touching.kind) == ("back-to-back", "U")
    assert to_inches(dict(apart.figures)["depth_m"]) == pytest.approx(24.0)
    assert to_inches(dict(touching.figures)["depth_m"]) == pytest.approx(8.0)


@pytest.mark.parametrize(("straight", "kind"), [(0.3, "U"), (0.5, "back-to-back")])
def test_quarter_bends_a_tenth_of_their_radius_apart_are_back_to_back(
    straight: float, kind: str
) -> None:
    away = 8.0 + straight  # both bends of 4 in, and the straight between them
    (feature,) = features([(0, 0, 0), (60, 0, 0), (60, away, 0), (0, away, 0)])
    assert feature.kind == kind


def test_dog_leg_is_an_offset_out_of_its_plane() -> None:
    a = radians(30.0)
    roll = radians(10.0)
    along = (cos(a), sin(a), 0.0)
    # turning back by 30°, its plane rolled 10° about the middle length
    side = (sin(a) * cos(roll), -cos(a) * cos(roll), sin(roll))
    out = tuple(cos(a) * x + sin(a) * y for x, y in zip(along, side, strict=True))
    middle = tuple(60 * (i == 0) + 20 * v for i, v in enumerate(along))
    end = tuple(m + 60 * v for m, v in zip(middle, out, strict=True))
    (feature,) = features([(0, 0, 0), (60, 0, 0), middle, end])
    assert feature.kind == "dog-leg"
    assert abs(dict(feature.figures)["rotation_deg"]) == pytest.approx(170.0)


@pytest.mark.parametrize("roll", [90.0, -90.0, 30.0, 150.0])
def test_two_unequal_bends_out_of_plane_are_a_dog_leg(roll: float) -> None:
    (feature,) = features(chained(60, (30, 0), 40, (38, roll), 60))
    figures = dict(feature.figures)
    assert (feature.kind, feature.bends) == ("dog-leg", (1, 2))
    assert figures["angle_deg"] == pytest.approx(30.0)
    assert figures["second_angle_deg"] == pytest.approx(38.0)
    assert abs(figures["rotation_deg"]) == pytest.approx(abs(roll))
    assert to_inches(figures["spacing_m"]) == pytest.approx(40.0)


def test_dog_leg_of_equal_angles_goes_before_one_of_unequal_angles() -> None:
    assert kinds(60, (40, 0), 40, (30, 90), 40, (30, 90), 60) == [
        ("kick", (1,)),
        ("dog-leg", (2, 3)),
    ]


def test_two_unequal_bends_the_opposite_way_keep_depth_spacing_and_what_is_left() -> None:
    (there,) = features(chained(60, (30, 0), 40, (20, 180), 60))
    (back,) = features(chained(60, (20, 0), 40, (30, 180), 60))
    for feature, first, second in ((there, 30.0, 20.0), (back, 20.0, 30.0)):
        figures = dict(feature.figures)
        assert (feature.kind, feature.bends) == ("opposite kicks", (1, 2))
        assert figures["angle_deg"] == pytest.approx(first)
        assert figures["second_angle_deg"] == pytest.approx(second)
        assert figures["net_angle_deg"] == pytest.approx(10.0)
        assert to_inches(figures["spacing_m"]) == pytest.approx(40.0)
        assert to_inches(figures["depth_m"]) == pytest.approx(40.0 * sin(radians(first)))
    # between the middles: 40 in less 4 tan(a/2) at each corner, and half of each arc of 4 in
    straight = 40.0 - 4.0 * (tan(radians(15.0)) + tan(radians(10.0)))
    (along,) = inches_of(there, "center_to_center_m")
    assert along == pytest.approx(straight + 2.0 * radians(50.0))


def test_pair_in_one_plane_goes_before_a_dog_leg_with_the_kick_before_it() -> None:
    assert kinds(60, (20, 0), 40, (30, 70), 40, (45, 180), 60) == [
        ("kick", (1,)),
        ("opposite kicks", (2, 3)),
    ]


def test_bend_that_turns_mostly_elsewhere_is_no_pair_of_the_kick_before_it() -> None:
    assert [kind for kind, _ in kinds(60, (20, 0), 40, (39, 180), 60)] == ["opposite kicks"]
    assert [kind for kind, _ in kinds(60, (20, 0), 40, (42, 180), 60)] == ["kick", "kick"]


@pytest.mark.parametrize("small", [15.0, 22.5, 30.0])
@pytest.mark.parametrize("off", [-0.5, -1e-9, 0.0, 1e-9, 0.5])
def test_bends_of_one_to_two_are_opposite_kicks_however_they_are_rounded(
    small: float, off: float
) -> None:
    for first, second in ((small, 2.0 * small + off), (2.0 * small + off, small)):
        found = kinds(60, (first, 0), 40, (second, 180), 60)
        assert [kind for kind, _ in found] == ["opposite kicks"]


def test_two_unequal_bends_the_same_way_and_with_a_quarter_stay_apart() -> None:
    assert [kind for kind, _ in kinds(60, (30, 0), 40, (20, 0), 60)] == ["kick", "kick"]
    assert [kind for kind, _ in kinds(60, (30, 0), 40, (90, 180), 60)] == ["kick", "quarter bend"]


def test_vertical_drop_is_listed_with_elevations_beside_its_bends() -> None:
    found = features([(0, 0, 120), (60, 0, 120), (60, 0, 24), (60, 60, 24)], 6.0)
    assert [one.kind for one in found] == ["quarter bend", "vertical drop", "quarter bend"]
    drop = found[1]
    figures = dict(drop.figures)
    assert drop.bends == (1, 2)
    assert to_inches(figures["top_elevation_m"]) == pytest.approx(120.0)
    assert to_inches(figures["bottom_elevation_m"]) == pytest.approx(24.0)
    assert to_inches(figures["rise_m"]) == pytest.approx(-96.0)
    assert to_inches(figures["straight_m"]) == pytest.approx(84.0)


def test_vertical_rise_from_an_end() -> None:
    found = features([(0, 0, 0), (0, 0, 96), (60, 0, 96)], 6.0)
    assert [one.kind for one in found] == ["quarter bend", "vertical rise"]


def inches_of(feature: Feature, *names: str) -> list[float]:
    figures = dict(feature.figures)
    return [to_inches(figures[name]) for name in names]


ELEVATIONS = ("top_elevation_m", "bottom_elevation_m", "rise_m", "straight_m")


def test_vertical_drop_between_corners_in_fittings_is_listed_without_bends() -> None:
    (drop,) = features(
        [(0, 0, 120), (100, 0, 120), (100, 0, 20), (200, 0, 20)], kept=frozenset({1, 2})
    )
    assert (drop.kind, drop.bends) == ("vertical drop", ())
    assert inches_of(drop, *ELEVATIONS) == pytest.approx([120.0, 20.0, -100.0, 100.0])
    assert to_inches(drop.station_m) == pytest.approx(100.0)
    assert to_inches(drop.end_station_m) == pytest.approx(200.0)


def test_plain_vertical_run_is_a_drop_or_a_rise() -> None:
    (drop,) = features([(0, 0, 120), (0, 0, 20)])
    (rise,) = features([(0, 0, 20), (0, 0, 60), (0, 0, 120)], kept=frozenset({1}))
    assert (drop.kind, rise.kind) == ("vertical drop", "vertical rise")
    assert inches_of(drop, *ELEVATIONS) == pytest.approx([120.0, 20.0, -100.0, 100.0])
    assert inches_of(rise, *ELEVATIONS) == pytest.approx([120.0, 20.0, 100.0, 100.0])


def test_level_bend_that_ends_in_the_fitting_above_a_drop_is_no_part_of_it() -> None:
    found = features(
        [(0, 0, 90), (50, 0, 90), (50, 4, 90), (50, 4, 10), (99, 4, 10)], kept=frozenset({2, 3})
    )
    assert [(one.kind, one.bends) for one in found] == [
        ("quarter bend", (1,)),
        ("vertical drop", ()),
    ]


def test_drop_without_a_straight_keeps_its_elevations() -> None:
    # two quarter bends of 6 in one after the other: 100 in down to 88 in
    found = features([(0, 0, 100), (60, 0, 100), (60, 0, 88), (60, 60, 88)], 6.0)
    (drop,) = [one for one in found if one.kind == "vertical drop"]
    assert drop.bends == (1, 2)
    assert inches_of(drop, *ELEVATIONS) == pytest.approx([100.0, 88.0, -12.0, 0.0], abs=1e-9)


def drawn(*segments: Arc | Straight) -> tuple[Feature, ...]:
    """Features of straights and true arcs in meters."""
    edges = tuple(
        DrawnEdge(one, DrawnAs.ARC) if isinstance(one, Arc) else DrawnEdge(one) for one in segments
    )
    reading = read_bends(DrawnPath(edges), corner_radius_m=None)
    return find_features(reading.bends, reading.centerline)


def turned_up(angle_deg: float, radius: float = 0.2) -> tuple[Straight | Arc, ...]:
    """A level meter, a bend upward of an angle, a meter on."""
    arc = Arc((1.0, 0.0, 3.0), (1.0, 0.0, 3.0 + radius), (0.0, -1.0, 0.0), radians(angle_deg))
    end = tuple(p + t for p, t in zip(arc.end_m, arc.end_tangent, strict=True))
    return (Straight((0.0, 0.0, 3.0), (1.0, 0.0, 3.0)), arc, Straight(arc.end_m, end))


def test_bend_that_turns_back_through_the_vertical_is_a_rise_from_level_to_level() -> None:
    for angle, top in ((120.0, 3.3), (180.0, 3.4)):
        # the bend of 120 degrees ends R (1 - cos 120) = 1.5 R above its start
        (rise,) = [one for one in drawn(*turned_up(angle)) if one.kind == "vertical rise"]
        figures = dict(rise.figures)
        assert rise.bends == (1,)
        assert figures["bottom_elevation_m"] == pytest.approx(3.0)
        assert figures["top_elevation_m"] == pytest.approx(top)
        assert figures["straight_m"] == 0.0


def test_drop_into_a_bend_that_comes_up_again_ends_at_its_lowest_place() -> None:
    turn = Arc((0.0, 0.0, 2.0), (0.2, 0.0, 2.0), (0.0, -1.0, 0.0), radians(180.0))
    down = Straight((0.0, 0.0, 5.0), (0.0, 0.0, 2.0))
    up = Straight(turn.end_m, (0.4, 0.0, 4.0))
    verticals = [one for one in drawn(down, turn, up) if one.kind.startswith("vertical")]
    assert [one.kind for one in verticals] == ["vertical drop", "vertical rise"]
    for one, top in zip(verticals, (5.0, 4.0), strict=True):
        assert dict(one.figures)["top_elevation_m"] == pytest.approx(top)
        assert dict(one.figures)["bottom_elevation_m"] == pytest.approx(1.8)


def test_slope_two_degrees_off_the_vertical_is_no_drop() -> None:
    lean = 100.0 * tan(radians(2.0))
    assert features([(0, 0, 100), (lean, 0, 0)]) == ()


def test_corner_in_a_fitting_belongs_to_no_feature_and_parts_the_bends() -> None:
    found = features(
        [(0, 0, 0), (60, 0, 0), (80, 12, 0), (140, 12, 0), (140, 80, 0)], kept=frozenset({1})
    )
    assert [one.kind for one in found] == ["kick", "quarter bend"]
    assert [one.bends for one in found] == [(2,), (3,)]


def chained(*moves: float | tuple[float, float]) -> Points:
    """Corner points of a route: lengths in inches, and turns as (angle, roll from the last), deg.

    A roll of 180 turns back in the plane of the turn before; the first turn goes up at roll 0.
    """
    place, along, normal = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    points = [place]
    for move in moves:
        if isinstance(move, tuple):
            angle, roll = radians(move[0]), radians(move[1])
            side = cross(along, normal)
            normal = tuple(cos(roll) * n + sin(roll) * s for n, s in zip(normal, side, strict=True))
            along, normal = (
                tuple(cos(angle) * a + sin(angle) * n for a, n in zip(along, normal, strict=True)),
                tuple(cos(angle) * n - sin(angle) * a for a, n in zip(along, normal, strict=True)),
            )
        else:
            place = tuple(p + move * a for p, a in zip(place, along, strict=True))
            points.append(place)
    return points


@pytest.mark.parametrize(
    ("kind", "moves", "end"),
    [
        # all start at 0 with a bend of 9.5 in radius upward; R (1 - cos 60) and R
        ("kick", (60, (60, 0), 60), 4.75),
        ("quarter bend", (60, (90, 0), 60), 9.5),
        ("U", (60, (90, 0), 19, (90, 0), 60), 19.0),
        ("back-to-back", (60, (90, 0), 60, (90, 0), 60), 60.0),
        # corner to corner 100 sin 45, then R tan 15 at the slope left, sin 15
        ("opposite kicks", (60, (45, 0), 100, (30, 180), 60), 71.3695),
        # then R tan 22.5 at the slope cos 45 sin 45
        ("dog-leg", (60, (45, 0), 100, (45, 90), 60), 72.6782),
    ],
)
def test_feature_whose_ends_differ_in_height_has_their_elevations(
    kind: str, moves: tuple[float | tuple[float, float], ...], end: float
) -> None:
    feature = next(one for one in features(chained(*moves), 9.5) if one.kind == kind)
    # four decimals are worked out above
    assert inches_of(feature, *ENDS) == pytest.approx([0.0, end], abs=5e-5)


@pytest.mark.parametrize("moves", [((30, 90), 60), ((90, 90), 60), ((90, 90), 60, (90, 0), 60)])
def test_feature_whose_ends_are_level_has_no_elevations(
    moves: tuple[float | tuple[float, float], ...],
) -> None:
    (feature,) = features(chained(60, *moves), 9.5)
    assert not dict(feature.figures).keys() & set(ENDS)


def kinds(*moves: float | tuple[float, float]) -> list[tuple[str, tuple[int, ...]]]:
    return [(one.kind, one.bends) for one in features(chained(*moves), 2.0)]


def test_bend_before_an_offset_does_not_rob_it_of_its_first_bend() -> None:
    assert kinds(60, (30, 0), 60, (30, 90), 24, (30, 180), 60) == [
        ("kick", (1,)),
        ("offset", (2, 3)),
    ]
    assert kinds(60, (22.5, 0), 40, (22.5, 180), 20, (45, 180), 20, (22.5, 180), 60) == [
        ("kick", (1,)),
        ("three-bend saddle", (2, 3, 4)),
    ]


def test_two_offsets_after_each_other_and_a_saddle_are_told_apart() -> None:
    there, back = ((30, 0), 20, (30, 180)), ((30, 0), 20, (30, 180))
    assert kinds(60, *there, 40, *back, 60) == [("four-bend saddle", (1, 2, 3, 4))]
    assert kinds(60, *there, 40, (30, 90), 20, (30, 180), 60) == [
        ("offset", (1, 2)),
        ("offset", (3, 4)),
    ]
    assert kinds(60, *there, 40, (22.5, 0), 20, (22.5, 180), 60) == [
        ("offset", (1, 2)),
        ("offset", (3, 4)),
    ]


SHAPES = {
    "kick": (60, (20, 0), 60),
    "quarter bend": (60, (90, 0), 60),
    "offset": (60, (30, 0), 24, (30, 180), 60),
    "three-bend saddle": (60, (22.5, 0), 30, (45, 180), 30, (22.5, 180), 60),
    "four-bend saddle": (
        *(60, (30, 0), 20, (30, 180), 40),
        *((30, 0), 20, (30, 180), 60),
    ),
    "back-to-back": (60, (90, 0), 40, (90, 0), 60),
    "U": (60, (90, 0), 4, (90, 0), 60),
    "dog-leg": (60, (45, 0), 40, (45, 90), 60),
}


@pytest.mark.parametrize("kind", sorted(SHAPES))
@pytest.mark.parametrize("roll", [0.0, 37.0, 90.0, 180.0, -118.0])
@pytest.mark.parametrize("heading", [0.0, 25.0, -60.0])
def test_shapes_are_known_in_every_plane_mirrored_and_backward(
    kind: str, roll: float, heading: float
) -> None:
    points = chained(*SHAPES[kind])
    c, s = cos(radians(roll)), sin(radians(roll))
    rolled = [(x, c * y - s * z, s * y + c * z) for x, y, z in points]
    c, s = cos(radians(heading)), sin(radians(heading))
    tilted = [(c * x - s * z, y, s * x + c * z) for x, y, z in rolled]
    mirrored = [(x, -y, z) for x, y, z in tilted]
    plain = None
    for route in (tilted, mirrored, tilted[::-1], mirrored[::-1]):
        (found,) = [one for one in features(route, 2.0) if not one.kind.startswith("vertical")]
        # a shift that is neither up nor sideways is called rolling
        assert found.kind.removeprefix("rolling ") == kind
        figures = {
            name: abs(value)
            for name, value in found.figures
            if "elevation" not in name and name not in ("rise_m", "roll_m", "roll_deg")
        }
        plain = plain or figures
        assert figures.keys() == plain.keys()
        for name, value in figures.items():
            assert value == pytest.approx(plain[name], rel=1e-9, abs=1e-9), name


def test_rolling_offset_of_the_trade_uses_its_printed_run() -> None:
    # rise 10 in, roll 24 in at 30°: travel 52, run 45.033 in
    a = radians(67.38)
    run = 26.0 / tan(radians(30.0))
    (feature,) = features(
        [
            (0, 0, 0),
            (60, 0, 0),
            (60 + run, -26.0 * sin(a), 26.0 * cos(a)),
            (200, -26.0 * sin(a), 26.0 * cos(a)),
        ]
    )
    figures = dict(feature.figures)
    assert to_inches(figures["spacing_m"]) == pytest.approx(52.0, abs=5e-4)
    assert to_inches(figures["spacing_m"] - figures["shrink_m"]) == pytest.approx(45.033, abs=5e-4)
    assert figures["roll_m"] > 0.0  # to the right of travel


def test_bends_of_other_radii_make_the_same_offset() -> None:
    rows = [tuple(inches(v) for v in p) for p in chained(60, (30, 0), 40, (30, 180), 60)]
    edges = tuple(DrawnEdge(Straight(a, b)) for a, b in itertools.pairwise(rows))
    radii = (None, inches(4.0), inches(18.0), None)
    reading = read_bends(DrawnPath(edges, radii), corner_radius_m=None)
    (feature,) = find_features(reading.bends, reading.centerline)
    figures = dict(feature.figures)
    assert feature.kind == "offset"
    assert to_inches(figures["depth_m"]) == pytest.approx(20.0)
    assert to_inches(figures["spacing_m"]) == pytest.approx(40.0)


@pytest.mark.parametrize(
    "row",
    read_table("offsets").rows,
    ids=lambda row: f"{row['bend'].split()[0]} {row['angle_deg']}",
)
def test_every_row_of_the_offset_table_comes_out_of_its_shape(row: dict[str, str]) -> None:
    angle, depth = float(row["angle_deg"]), 8.0
    leg = depth / sin(radians(angle))
    is_saddle = row["bend"].startswith("three-point")
    moves = (90, (angle, 0), leg, (2 * angle if is_saddle else angle, 180), leg)
    points = chained(*moves, (angle, 180), 90) if is_saddle else chained(*moves[:4], 90)
    edges = itertools.pairwise([tuple(inches(v) for v in p) for p in points])
    reading = read_bends(
        DrawnPath(tuple(DrawnEdge(Straight(a, b)) for a, b in edges)), corner_radius_m=inches(1.0)
    )
    (feature,) = find_features(
        reading.bends,
        reading.centerline,
        offset_chart={a: TradeFigures(*two) for a, two in offset_chart().items()},
        saddle_chart={a: TradeFigures(*two) for a, two in saddle_chart().items()},
    )
    figures = dict(feature.figures)
    assert feature.kind == ("three-bend saddle" if is_saddle else "offset")
    # four decimals are printed
    assert figures["multiplier"] == pytest.approx(float(row["multiplier_exact"]), abs=5.1e-5)
    assert figures["shrink_m"] / figures["depth_m"] == pytest.approx(
        float(row["shrink_exact_in_per_in"]), abs=5.1e-5
    )
    if row["confirmed"] == "yes":
        assert figures["trade_multiplier"] == float(row["multiplier_table"])
        assert to_inches(figures["trade_shrink_m"]) == pytest.approx(
            depth * float(row["shrink_table_in_per_in"])
        )
    else:
        assert "trade_multiplier" not in figures


def test_run_without_bends_has_no_features() -> None:
    assert features([(0, 0, 0), (60, 0, 0)]) == ()
