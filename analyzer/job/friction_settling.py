"""Friction as the job gives it: what a preset rests on, and friction that falls in hard bends."""

from __future__ import annotations

from analyzer.catalog.frictions import find_friction
from analyzer.findings import Finding, Severity
from analyzer.job.faults import Faults
from analyzer.job.keys import SidewallFrictionTable
from analyzer.job.settings import Friction, SidewallFriction
from analyzer.units import UnitSystem, show_pressure

__all__ = ["by_sidewall_finding", "preset_finding", "settle_by_sidewall"]


def preset_finding(name: str) -> Finding:
    """Return what a friction preset of the catalog rests on; a caution where that is little."""
    preset = find_friction(name)
    band = f"{preset.low:.2f} / {preset.expected:.2f} / {preset.high:.2f}"
    what = f"{preset.jacket} in {preset.raceway}, {preset.condition}"
    message = f"friction {preset.name} ({what}): {band} (low, expected, high) from {preset.source}"
    doubts = []
    if not preset.confirmed:
        doubts.append("one text only, our choice or common practice: state what your pulls show")
    if preset.note:
        doubts.append(preset.note)
    message = "; ".join([message, *doubts])
    severity = Severity.CAUTION if doubts else Severity.NOTE
    return Finding("friction-preset", severity, message, "pull.friction")


def settle_by_sidewall(
    table: SidewallFrictionTable, friction: Friction, faults: Faults
) -> SidewallFriction | None:
    """Return the friction of hard pressing bends; None where it cannot be.

    Its value is that of expected friction; low and high keep their proportion to it.

    Parameters
    ----------
    table : SidewallFrictionTable
        Keys of `[pull.friction_by_sidewall]`.
    friction : Friction
        The friction elsewhere.
    faults : Faults
        What is wrong is added here.
    """
    if not 0.0 < table.friction <= friction.expected:
        faults.add(
            ("pull", "friction_by_sidewall", "friction"),
            f"friction falls where the conductors press harder: needs more than zero and at most "
            f"the expected friction, {friction.expected:g}; got {table.friction:g}",
        )
        return None
    part = table.friction / friction.expected
    return SidewallFriction(table.above, part, table.source or "")


def by_sidewall_finding(
    setting: SidewallFriction, friction: Friction, system: UnitSystem
) -> Finding:
    """Return where the friction of hard pressing bends stands and what it rests on.

    Parameters
    ----------
    setting : SidewallFriction
        As settled.
    friction : Friction
        The band it is part of.
    system : UnitSystem
        What people see.
    """
    values = dict.fromkeys((friction.low, friction.expected, friction.high))
    band = " / ".join(f"{value * setting.part:.3f}" for value in values)
    origin = f"from {setting.source}" if setting.source else "from memory, no source shown"
    message = (
        f"friction {band} where a bend presses above "
        f"{show_pressure(setting.above_n_per_m, system)}, {origin}; held back it counts in every "
        "bend"
    )
    if not setting.source:
        message += (
            "; name the source in friction_by_sidewall, or leave it out: more friction is the safe "
            "side for tension"
        )
    severity = Severity.NOTE if setting.source else Severity.CAUTION
    return Finding("friction-by-sidewall", severity, message, "pull.friction_by_sidewall")
