"""Settings of the job for fittings that only a number tells apart.

A number is none of the file: it stands as long as no fitting is added, moved or left out. A setting
that goes by one is told so, unless the run it names holds no other of those.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from analyzer.findings import Finding, Severity
from analyzer.route.claims import Claim, entry_place

__all__ = ["number_caution", "number_cautions"]


def number_cautions(claims: Sequence[Claim], runs: Sequence[str]) -> Iterator[tuple[int, Finding]]:
    """Yield the index of a run and a caution for each of its fittings that the job sets by number.

    Parameters
    ----------
    claims : sequence of Claim
        All fittings of a file with the settings they take.
    runs : sequence of str
        Names of the runs.
    """
    alike = Counter((claim.run, claim.numbered) for claim in claims)
    for claim in claims:
        if claim.entry is None or not claim.numbered:
            continue
        run = runs[claim.run]
        is_alone = len(runs) > 1 and alike[claim.run, claim.numbered] == 1
        if is_alone and claim.entry.run is not None:
            continue
        what = f"{entry_place(claim.entry)} is for a fitting"
        hint = f', or add run = "{run}" to the entry' if is_alone else ""
        finding = number_caution(what, claim.name, f"run {run}, {claim.where}", hint)
        yield claim.run, finding


def number_caution(what: str, name: str, where: str, hint: str = "") -> Finding:
    """Return the caution on a setting of the job that goes by the number of a fitting.

    Parameters
    ----------
    what : str
        The setting, up to the fitting.
    name : str
        That of the fitting.
    where : str
        Its run, and its row or handle.
    hint : str
        What else would settle it.
    """
    text = (
        f"{what} that is numbered among others without a name of their own, {name}: once one is "
        "added, moved or left out, another may bear that number. Check that it is the one you "
        f"mean; a label of its own (attribute TAG of its block, column label){hint} settles it"
    )
    return Finding("fitting-number", Severity.CAUTION, text, where, fittings=(name,))
