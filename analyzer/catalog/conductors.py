"""Conductors: from the published tables, or stated in a job."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Conductor"]


@dataclass(frozen=True, slots=True)
class Conductor:
    """One conductor or cable of a pull.

    Attributes
    ----------
    name : str
        As people see it, such as ``4/0 AWG THHN copper`` or ``control cable``.
    size : str or None
        Table size (``12``, ``4/0``, ``250``); None when stated by diameter and weight.
    insulation, metal, temper, stranding : str or None
        Choices made; None where they do not apply.
    diameter_m : float
        Over the insulation. [m]
    area_in2 : float
        Area for fill: the published one, else pi/4 d². [in²]
    weight_n_per_m : float
        Weight without any allowance. [N/m]
    weight_from : str
        ``published``, ``computed`` or ``stated``.
    weight_allowance : float
        Factor on the weight for every force: 1.06 for a computed weight, else 1.
    metal_area_cmil : float or None
        Metal area. [circular mils]
    max_tension_n : float or None
        Stated limit of one conductor; None: from the metal area and table of limits. [N]
    insulation_class : str or None
        Class that the sidewall pressure table knows, stated in the job.
    confirmed : bool
        False where a table value used has one source only.
    source : str
        Tables used, or ``job``.
    """

    name: str
    size: str | None
    insulation: str | None
    metal: str | None
    temper: str | None
    stranding: str | None
    diameter_m: float
    area_in2: float
    weight_n_per_m: float
    weight_from: str
    weight_allowance: float
    metal_area_cmil: float | None
    max_tension_n: float | None
    insulation_class: str | None
    confirmed: bool
    source: str

    @property
    def pulling_weight_n_per_m(self) -> float:
        """Weight that every force is computed with: allowance included. [N/m]"""
        return self.weight_n_per_m * self.weight_allowance
