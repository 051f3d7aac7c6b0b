"""Raceways of the published tables."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Raceway"]


@dataclass(frozen=True, slots=True)
class Raceway:
    """One raceway type in one trade size.

    Attributes
    ----------
    type : str
        Table name, such as ``EMT`` or ``PVC-40/HDPE``.
    trade_size : str
        Trade size, such as ``1-1/2``.
    inside_diameter_m, outside_diameter_m : float
        Outside is None where the table has none. [m]
    area_in2 : float
        Published total inside area, the one fill is counted with. [in²]
    bend_radius_m : tuple of (bender, float)
        Smallest centerline radius by kind of bender, ``one-shot`` and ``other``
        (or one entry for types with a table of their own). [m]
    default_bender : str
        Which of them applies when the job names no bender.
    confirmed : bool
        False where one text only was read: carried through to the user.
    source : str
        Published table the row comes from.
    """

    type: str
    trade_size: str
    inside_diameter_m: float
    outside_diameter_m: float | None
    area_in2: float
    bend_radius_m: tuple[tuple[str, float], ...]
    default_bender: str
    confirmed: bool
    source: str
