"""Everything that can go wrong in a way a person can mend.

RacewayError                 one root: catch this to catch all of ours
├── InputError (ValueError)  a number or argument that cannot be
├── JobError (ValueError)    the job file or an option; exit 2
│   └── ElsewhereError       what the job names is not in this route, perhaps in another
├── CatalogError (KeyError)  a name the catalog does not hold; exit 2
├── RouteError (ValueError)  a route that cannot be read; exit 3
│   └── PlacedError          the same at a place that the reader of the file can name better
├── OutputError (OSError)    an output that cannot be written; exit 2
├── SolverError (ArithmeticError)  a result that would not be finite
└── GraphicsError (RuntimeError)   no usable graphics library; exit 4

Every message says what is wrong, where, and what to do.
"""

from __future__ import annotations

__all__ = [
    "CatalogError",
    "ElsewhereError",
    "GraphicsError",
    "InputError",
    "JobError",
    "OutputError",
    "PlacedError",
    "RacewayError",
    "RouteError",
    "SolverError",
]


class RacewayError(Exception):
    """Root of all errors raised on purpose; `exit_code` is what the command returns."""

    exit_code = 2

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


class InputError(RacewayError, ValueError):
    """A value outside what it can be."""


class JobError(RacewayError, ValueError):
    """The job file or a job option cannot be used."""


class ElsewhereError(JobError):
    """The job names something that one route does not hold; another of the same job may.

    Parameters
    ----------
    message : str
        What is to be said where no route holds it.
    what : object
        The part of the job that names it: an entry of `[[fittings]]`, or the start.
    """

    def __init__(self, message: str, what: object = None) -> None:
        super().__init__(message)
        self.what = what


class CatalogError(RacewayError, KeyError):
    """A name that the catalog does not hold."""


class RouteError(RacewayError, ValueError):
    """A route that cannot be read."""

    exit_code = 3


class PlacedError(RouteError):
    """A route that cannot be read because of one place.

    Parameters
    ----------
    what : str
        What is wrong, up to the place.
    place_m : (3,) float or None
        The place. [m]
    rest : str
        What follows the place: the run, and what to do.
    """

    def __init__(
        self, what: str, place_m: tuple[float, float, float] | None = None, rest: str = ""
    ) -> None:
        self.what, self.place_m, self.rest = what, place_m, rest
        if place_m is None:
            super().__init__(f"{what}{rest}")
        else:
            x, y, z = place_m
            super().__init__(self.said_at(f"({x:.6g}, {y:.6g}, {z:.6g}) m"))

    def said_at(self, place: str) -> str:
        """Return the message with the place in other words."""
        return f"{self.what} at {place}{self.rest}"


class OutputError(RacewayError, OSError):
    """An output that cannot be written."""


class SolverError(RacewayError, ArithmeticError):
    """A calculation that did not end in finite numbers."""


class GraphicsError(RacewayError, RuntimeError):
    """No usable graphics library for a picture."""

    exit_code = 4
