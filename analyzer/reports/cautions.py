"""The usual cautions: printed wherever limits are shown."""

from __future__ import annotations

__all__ = ["CAUTIONS", "METHOD_LIMITS", "SAID_WITH_LIMITS", "SHORT_CAUTION"]

SHORT_CAUTION = (
    "Estimate for planning: a steady pull, no bending stiffness, start, jam, dirt or damage "
    "counted. The cable maker's values, local code, the authority having jurisdiction and licensed "
    "practice govern. De-energize and lock out; stored energy in ropes; brakes on drops."
)
"""One line for screens and pictures."""

CAUTIONS = (
    "This is an estimate for planning. The cable maker's tension, sidewall and bend values govern "
    "wherever they are lower or different.",
    "Local code, the authority having jurisdiction and the licensed person in charge decide; "
    "this sheet replaces none of them. Rule sets here are copies: check the edition in force.",
    "Coordinates are as supplied: confirm field dimensions, bend radii and box positions before "
    "fabrication.",
    "Friction is an assumption, so results stand for low, expected and high: high governs "
    "tension, low governs braking.",
    "Figures are for a steady pull; starting and surging take more. Once it moves, keep it moving.",
    "A box eases the pull only where the conductors are taken out slack and fed again; keep the "
    "bend radius of the last loop.",
    "De-energize, lock out, tag and test; treat a raceway with conductors in it as live until "
    "proved dead. Where that cannot be: written permit, tools that do not conduct, covered parts, "
    "qualified people.",
    "Stored energy: nobody stands in line with a loaded rope, sheave or anchor or steps over it; "
    "know the weakest part; pull with a gauge and a stop value.",
    "Drops: set the reel brake and an independent hold before the string is let go; keep people "
    "out from below; install conductor supports before the line is released.",
    "Keep hands, gloves and clothing clear of capstans, reels and sheaves; never wrap the tail "
    "around a hand; a stop within reach.",
    "By hand: firm footing, rests, no pulling from a ladder. Force figures for people only sort "
    "out what is too much.",
    "Manholes and vaults are confined spaces: permit, gas test, ventilation.",
    "Lubricant must suit jacket and line; keep it off floors. Its amount is an estimate.",
    "After the pull: cut off the part under the grip, seal the ends, test the insulation and "
    "record it.",
    "Structure, hangers, anchors and puller bases are not checked here, nor seismic bracing and "
    "expansion.",
)
"""Full list for reports."""

METHOD_LIMITS = (
    "The conductors are one limp, heavy, inextensible string on the centerline, pulled slowly: no "
    "bending stiffness, no starting or surging force, no jam.",
    "No allowance for dirt, water, ice, crushed or misaligned raceway, missing bushings or a "
    "damaged jacket.",
    "Sidewall pressure leaves the weight out, because limits are stated so.",
)
"""What the method does not know."""

SAID_WITH_LIMITS = (*CAUTIONS, *METHOD_LIMITS)
"""All that stands wherever limits or shares are shown and there is room for it."""
