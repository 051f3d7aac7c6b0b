"""Names of the runs of a drawing: text beside a line where asked for, else the layer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from analyzer.geometry.drawn import DrawnPath
from analyzer.importers.chaining.chains import Chain

__all__ = ["run_names"]


def run_names(chains: Sequence[Chain], texts: dict[int, str]) -> tuple[DrawnPath, ...]:
    """Return the paths of chains with their names.

    A run takes the text beside it; without one the name of its layer where the drawing holds
    runs on several layers, with a number where a layer holds several. A run alone in its
    drawing stays unnamed.
    """
    layers = Counter(chain.layer for chain in chains)
    numbers: Counter[str] = Counter()
    taken: set[str] = set(texts.values())
    paths = []
    for index, chain in enumerate(chains):
        layer = chain.layer
        numbers[layer] += 1
        name = texts.get(index, "")
        if not name and len(layers) > 1:
            name = layer if layers[layer] == 1 else f"{layer} {numbers[layer]}"
            if name in taken:
                name = f"{name} (layer)"
        paths.append(replace(chain.path, name=name))
    return tuple(paths)
