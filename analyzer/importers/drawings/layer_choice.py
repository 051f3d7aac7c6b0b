"""Which layers of a drawing are read: chosen by pattern, visible unless named outright."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import Any

from analyzer.importers.drawings.readable_text import readable

__all__ = ["LayerChoice", "LayerState", "choose_layers", "matches"]


@dataclass(frozen=True, slots=True)
class LayerState:
    """Name of a layer and whether it is switched off or frozen."""

    name: str
    is_off: bool = False
    is_frozen: bool = False


@dataclass(frozen=True, slots=True)
class LayerChoice:
    """Layers of a drawing and the patterns they are chosen by.

    Attributes
    ----------
    patterns : tuple of str
        Upper or lower case alike; none at all means every layer.
    states : dict
        Layer table: lower-case name to state.
    """

    patterns: tuple[str, ...]
    states: dict[str, LayerState]

    def is_wanted(self, layer: str) -> bool:
        """Return whether a pattern names the layer, or there are no patterns."""
        return not self.patterns or matches(layer, self.patterns)

    def is_named_outright(self, layer: str) -> bool:
        """Return whether a pattern without wild cards is the layer's very name."""
        return any(p.lower() == layer.lower() for p in self.patterns)

    def is_frozen(self, layer: str) -> bool:
        """Return whether the layer is frozen and not named outright."""
        state = self.states.get(layer.lower())
        return bool(state and state.is_frozen) and not self.is_named_outright(layer)

    def is_off(self, layer: str) -> bool:
        """Return whether the layer is switched off and not named outright."""
        state = self.states.get(layer.lower())
        return bool(state and state.is_off) and not self.is_named_outright(layer)

    def is_hidden(self, layer: str) -> bool:
        """Return whether the layer is frozen or off, and not named outright."""
        return self.is_frozen(layer) or self.is_off(layer)


def matches(name: str, patterns: Iterable[str]) -> bool:
    """Return whether a name matches one of the patterns, upper and lower case alike.

    A pattern that is the very name matches even where it holds brackets.

    Examples
    --------
    >>> matches("E-RACEWAY-EMT", ["*raceway*"])
    True
    """
    lower = name.lower()
    return any(lower == p.lower() or fnmatchcase(lower, p.lower()) for p in patterns)


def choose_layers(document: Any, patterns: tuple[str, ...]) -> LayerChoice:
    """Return the layers of a document with the patterns they are chosen by."""
    states = {}
    for layer in document.layers:
        name = readable(str(layer.dxf.name))
        states[name.lower()] = LayerState(name, bool(layer.is_off()), bool(layer.is_frozen()))
    return LayerChoice(patterns, states)
