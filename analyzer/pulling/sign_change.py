"""Where a function changes sign, to the last digit."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["root_between"]


def root_between(value: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function changes sign between two places, to the last digit.

    Inverse quadratic steps where they are safe, halving elsewhere.

    Parameters
    ----------
    value : callable
        The function; it has opposite signs at both places, or is zero at one of them.
    low, high : float
        The places.

    Examples
    --------
    >>> round(root_between(lambda x: x * x - 2.0, 0.0, 2.0), 12)
    1.414213562373

    References
    ----------
    Chandrupatla, *Advances in Engineering Software* 28 (1997) 145.
    """
    b, a = low, high
    fb, fa = value(b), value(a)
    if fa == 0.0:
        return a
    if fb == 0.0:
        return b
    c, fc, t = b, fb, 0.5
    for _ in range(200):
        place = a + t * (b - a)
        f = value(place)
        if (f > 0.0) == (fa > 0.0):
            c, fc = a, fa
        else:
            c, b, fc, fb = b, a, fb, fa
        a, fa = place, f
        best = a if abs(fa) < abs(fb) else b
        least = (4.4e-16 * abs(best) + 1e-18) / abs(b - a) if b != a else 1.0
        if least > 0.5 or fa == 0.0:
            return a if fa == 0.0 else best
        xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
        t = 0.5
        if phi * phi < xi and (1.0 - phi) ** 2 < 1.0 - xi:
            t = fa / (fb - fa) * fc / (fb - fc)
            t += (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        t = min(1.0 - least, max(least, t))
    return best
