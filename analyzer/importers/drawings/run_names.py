"""Names of the runs of a drawing: text beside a line where asked for, else the layer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Sequence
from dataclasses import replace

from analyzer.geometry.drawn import DrawnPath
from analyzer.importers.chaining.chains import Chain
from analyzer.importers.numbering_order import numbering_order

__all__ = ["numbered_by_layer", "run_names"]


def run_names(chains: Sequence[Chain], texts: dict[int, str]) -> tuple[DrawnPath, ...]:
    """Return the paths of chains with their names.

    A run takes the text beside it; without one the name of its layer where the drawing holds
    runs on several layers, with a number where a layer holds several: by where they stand, those
    with texts counted, so that a text changes the number of no other run. A run alone in its
    drawing stays unnamed.
    """
    layers = [chain.layer for chain in chains]
    numbered = numbered_by_layer(chains, texts)
    numbers: Counter[str] = Counter()
    taken: set[str] = set(texts.values())
    names = [""] * len(chains)
    for index in numbering_order([chain.path for chain in chains]):
        layer = layers[index]
        numbers[layer] += 1
        name = texts.get(index, "")
        if not name and len(set(layers)) > 1:
            name = f"{layer} {numbers[layer]}" if index in numbered else layer
            if name in taken:
                name = f"{name} (layer)"
        names[index] = name
    return tuple(replace(chain.path, name=name) for chain, name in zip(chains, names, strict=True))


def numbered_by_layer(chains: Sequence[Chain], texts: Container[int]) -> tuple[int, ...]:
    """Return the indices of the runs that are named by their layer and a number."""
    layers = Counter(chain.layer for chain in chains)
    if len(layers) < 2:
        return ()
    return tuple(
        index
        for index, chain in enumerate(chains)
        if index not in texts and layers[chain.layer] > 1
    )
