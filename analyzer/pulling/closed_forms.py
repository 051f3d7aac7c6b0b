"""Closed forms of the pull, published or derived here, for tests and the hand check in reports.

The solver does not use them: they are special cases of the string model, each inside its range.
Outside its range a form raises; two of the four vertical forms would read low there, the unsafe
way, because they subtract friction where the conductors lie on the outer wall.

Symbols: T1 entry and T2 exit tension, w weight per length of all conductors, R bend radius,
a bend angle, k effective friction, q = w R / (1 + k²).
"""

from __future__ import annotations

from math import cos, cosh, exp, sin, sinh, sqrt

from analyzer.errors import InputError

__all__ = [
    "all_bends_first_tension_n",
    "all_bends_last_tension_n",
    "bottom_bend_falling_tension_n",
    "bottom_bend_rising_tension_n",
    "capstan_tension_n",
    "level_bend_tension_n",
    "longest_straight_m",
    "straight_tension_n",
    "tension_at_sidewall_limit_n",
    "top_bend_falling_tension_n",
    "top_bend_rising_tension_n",
    "vertical_arc_tension_n",
]

_ROUNDING = 1e-9


def straight_tension_n(
    entry_tension_n: float, weight_n_per_m: float, length_m: float, slope_rad: float, k: float
) -> float:
    """Return the tension where the conductors leave a straight.

    Parameters
    ----------
    entry_tension_n, weight_n_per_m, length_m : float
        T1, w and the length L. [N] [N/m] [m]
    slope_rad : float
        Slope angle p in the direction of the pull, up positive. [rad]
    k : float
        Effective friction.

    Raises
    ------
    InputError
        If the conductors would run by themselves before the end.

    Notes
    -----
    T2 = T1 + w L (sin p + k cos p). From memory, derived from the string model.

    Examples
    --------
    >>> straight_tension_n(20.0, 3.0, 50.0, 0.0, 0.35)
    72.5
    """
    exit_tension = entry_tension_n + weight_n_per_m * length_m * (
        sin(slope_rad) + k * cos(slope_rad)
    )
    if exit_tension < 0.0:
        raise InputError("the conductors run by themselves on this straight: no closed form")
    return exit_tension


def capstan_tension_n(entry_tension_n: float, angle_rad: float, k: float) -> float:
    """Return the tension behind a bend whose conductors weigh next to nothing.

    Parameters
    ----------
    entry_tension_n : float
        T1. [N]
    angle_rad : float
        Angle of the bend, a. [rad]
    k : float
        Effective friction.

    Notes
    -----
    T2 = T1 e^(k a): for w = 0, or T far above w R.

    References
    ----------
    CommScope, *Broadband Applications and Construction Manual*, conduit part, p. 5.6.

    Examples
    --------
    >>> round(capstan_tension_n(36.0, 1.5707963267948966, 0.5), 1)
    79.0
    """
    return entry_tension_n * exp(k * angle_rad)


def level_bend_tension_n(
    entry_tension_n: float, weight_n_per_m: float, radius_m: float, angle_rad: float, k: float
) -> float:
    """Return the tension behind a bend in a level plane; any entry tension.

    Parameters
    ----------
    entry_tension_n, weight_n_per_m, radius_m : float
        T1, w, R. [N] [N/m] [m]
    angle_rad : float
        Angle of the bend, a. [rad]
    k : float
        Effective friction.

    Notes
    -----
    T2 = T1 cosh(k a) + sqrt(T1² + (w R)²) sinh(k a).

    References
    ----------
    *Horizontal Bend Analysis in Directionally Bored Ducts* (maker's article).

    Examples
    --------
    >>> round(level_bend_tension_n(20.0, 3.0, 2.0, 1.5707963267948966, 0.35), 6)
    35.166293
    """
    pressed = sqrt(entry_tension_n**2 + (weight_n_per_m * radius_m) ** 2)
    return entry_tension_n * cosh(k * angle_rad) + pressed * sinh(k * angle_rad)


def bottom_bend_rising_tension_n(
    entry_tension_n: float, weight_n_per_m: float, radius_m: float, angle_rad: float, k: float
) -> float:
    """Return the tension behind a bend from level to rising, the conductors on its inner wall.

    Parameters
    ----------
    entry_tension_n, weight_n_per_m, radius_m : float
        T1, w, R. [N] [N/m] [m]
    angle_rad : float
        Angle of the bend, a. [rad]
    k : float
        Effective friction.

    Raises
    ------
    InputError
        If T1 is below w R: the form would read low.

    Notes
    -----
    T2 = T1 e^(ka) - q [2k sin a - (1 - k²)(e^(ka) - cos a)]. From memory, derived.
    """
    _require(entry_tension_n, weight_n_per_m * radius_m, "entry")
    return vertical_arc_tension_n(entry_tension_n, weight_n_per_m, radius_m, 0.0, angle_rad, k)


def bottom_bend_falling_tension_n(
    entry_tension_n: float, weight_n_per_m: float, radius_m: float, angle_rad: float, k: float
) -> float:
    """Return the tension behind a bend from falling to level, the conductors on its inner wall.

    Parameters
    ----------
    entry_tension_n, weight_n_per_m, radius_m : float
        T1, w, R. [N] [N/m] [m]
    angle_rad : float
        Angle of the bend, a. [rad]
    k : float
        Effective friction.

    Raises
    ------
    InputError
        If T2 is below w R: the form would read low.

    Notes
    -----
    T2 = T1 e^(ka) - q [2k e^(ka) sin a + (1 - k²)(1 - e^(ka) cos a)]. From memory, derived.
    """
    exit_tension = vertical_arc_tension_n(
        entry_tension_n, weight_n_per_m, radius_m, -angle_rad, 0.0, k
    )
    _require(exit_tension, weight_n_per_m * radius_m, "exit")
    return exit_tension


def top_bend_rising_tension_n(
    entry_tension_n: float, weight_n_per_m: float, radius_m: float, angle_rad: float, k: float
) -> float:
    """Return the tension behind a bend from rising to level; any entry tension.

    Parameters
    ----------
    entry_tension_n, weight_n_per_m, radius_m : float
        T1, w, R. [N] [N/m] [m]
    angle_rad : float
        Angle of the bend, a. [rad]
    k : float
        Effective friction.

    Notes
    -----
    T2 = T1 e^(ka) + q [2k e^(ka) sin a + (1 - k²)(1 - e^(ka) cos a)]. From memory, derived.
    """
    return vertical_arc_tension_n(entry_tension_n, weight_n_per_m, radius_m, angle_rad, 0.0, k)


def top_bend_falling_tension_n(
    entry_tension_n: float, weight_n_per_m: float, radius_m: float, angle_rad: float, k: float
) -> float:
    """Return the tension behind a bend from level to falling, until the tension reaches 0.

    Parameters
    ----------
    entry_tension_n, weight_n_per_m, radius_m : float
        T1, w, R. [N] [N/m] [m]
    angle_rad : float
        Angle of the bend, a. [rad]
    k : float
        Effective friction.

    Raises
    ------
    InputError
        If the conductors would run by themselves before the end.

    Notes
    -----
    T2 = T1 e^(ka) + q [2k sin a - (1 - k²)(e^(ka) - cos a)]. From memory, derived.
    """
    exit_tension = vertical_arc_tension_n(
        entry_tension_n, weight_n_per_m, radius_m, 0.0, -angle_rad, k
    )
    if exit_tension < 0.0:
        raise InputError("the conductors run by themselves in this bend: no closed form")
    return exit_tension


def vertical_arc_tension_n(
    entry_tension_n: float,
    weight_n_per_m: float,
    radius_m: float,
    entry_slope_rad: float,
    exit_slope_rad: float,
    k: float,
) -> float:
    """Return the tension behind any arc in a vertical plane, the conductors on its inner wall.

    Parameters
    ----------
    entry_tension_n, weight_n_per_m, radius_m : float
        T1, w, R. [N] [N/m] [m]
    entry_slope_rad, exit_slope_rad : float
        Slope angles p1 and p2 in the direction of the pull, up positive; p2 above p1 is a
        bottom bend. [rad]
    k : float
        Effective friction.

    Notes
    -----
    With g = +1 for a bottom and -1 for a top bend, x = g p and
    f(x) = -g q [2k sin x + (1 - k²) cos x]: T2 = (T1 - f(x1)) e^(k (x2 - x1)) + f(x2). Derived.
    Holds where T is at least g w R cos p all along; the range is not checked here: on a bottom
    bend below it the result reads low.
    """
    sign = 1.0 if exit_slope_rad >= entry_slope_rad else -1.0
    q = weight_n_per_m * radius_m / (1.0 + k * k)

    def part(x: float) -> float:
        return -sign * q * (2.0 * k * sin(x) + (1.0 - k * k) * cos(x))

    x1, x2 = sign * entry_slope_rad, sign * exit_slope_rad
    return (entry_tension_n - part(x1)) * exp(k * (x2 - x1)) + part(x2)


def all_bends_last_tension_n(
    feed_tension_n: float, weight_n_per_m: float, length_m: float, bend_total_rad: float, k: float
) -> float:
    """Return the upper bound of a level run: all its length first, then all its bends.

    Parameters
    ----------
    feed_tension_n, weight_n_per_m : float
        T1, w. [N] [N/m]
    length_m : float
        Length of the whole run, L. [m]
    bend_total_rad : float
        Sum of all bends, A. [rad]
    k : float
        Effective friction.

    Notes
    -----
    T = (T1 + k w L) e^(k A), L the whole length and A the sum of all bends.

    References
    ----------
    IEEE Std 1185-2019, Annex C, Eq. C.1 (without feed tension).
    """
    return (feed_tension_n + k * weight_n_per_m * length_m) * exp(k * bend_total_rad)


def all_bends_first_tension_n(
    feed_tension_n: float,
    weight_n_per_m: float,
    straight_length_m: float,
    bend_total_rad: float,
    k: float,
) -> float:
    """Return the lower bound of a level run: all its bends first, then its straights alone.

    Parameters
    ----------
    feed_tension_n, weight_n_per_m : float
        T1, w. [N] [N/m]
    straight_length_m : float
        Length of the straights alone, L. [m]
    bend_total_rad : float
        Sum of all bends, A. [rad]
    k : float
        Effective friction.

    Notes
    -----
    T = T1 e^(k A) + k w L, L the length of the straights only. Derived.
    """
    return feed_tension_n * exp(k * bend_total_rad) + k * weight_n_per_m * straight_length_m


def longest_straight_m(limit_n: float, weight_n_per_m: float, k: float) -> float:
    """Return the longest level straight that a tension limit allows: T / (w k). [m]

    Parameters
    ----------
    limit_n : float
        Greatest tension allowed, T. [N]
    weight_n_per_m : float
        w. [N/m]
    k : float
        Effective friction.

    Raises
    ------
    InputError
        If weight or friction is not above zero.

    References
    ----------
    CommScope, *Broadband Applications and Construction Manual*, conduit part, p. 5.6.
    """
    if not (weight_n_per_m > 0.0 and k > 0.0):
        raise InputError("the longest straight needs weight and friction above zero")
    return limit_n / (weight_n_per_m * k)


def tension_at_sidewall_limit_n(sidewall_n_per_m: float, radius_m: float) -> float:
    """Return the tension at which one conductor reaches a sidewall pressure: p R. [N]

    References
    ----------
    General Cable, *Installation: Maximum Sidewall Pressure*, January 2011.
    """
    return sidewall_n_per_m * radius_m


def _require(tension_n: float, least_n: float, which: str) -> None:
    if tension_n < least_n * (1.0 - _ROUNDING):
        raise InputError(
            f"the closed form of a bottom bend needs an {which} tension of at least w R = "
            f"{least_n:.6g} N: at {tension_n:.6g} N it reads low"
        )
