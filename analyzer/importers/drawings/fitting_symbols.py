"""Which block or point is a fitting, and what it is called.

The job's own patterns come first. Without one, plain trade words in the name of the block or of
its layer tell the kind (common practice, no standard); the importer reports each word it used. A
point has the name in its extended data, and its layer.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from analyzer.importers.drawings.layer_choice import matches
from analyzer.job.settings import FittingKind

__all__ = ["TRADE_WORDS", "FittingRule", "block_label", "fitting_name"]

TRADE_WORDS: tuple[tuple[FittingKind, tuple[str, ...]], ...] = (
    (FittingKind.PULL_BOX, ("*pull*box*", "pb", "pb[-_ 0-9]*", "*[-_ ]pb", "*[-_ ]pb[-_ 0-9]*")),
    (
        FittingKind.JUNCTION_BOX,
        (
            "*junction*box*",
            "*jbox*",
            "*j-box*",
            "jb",
            "jb[-_ 0-9]*",
            "*[-_ ]jb",
            "*[-_ ]jb[-_ 0-9]*",
        ),
    ),
    (FittingKind.HANDHOLE, ("*handhole*", "*hand*hole*", "hh", "hh[-_ 0-9]*")),
    (FittingKind.MANHOLE, ("*manhole*", "*man*hole*", "mh", "mh[-_ 0-9]*")),
    (
        FittingKind.CONDUIT_BODY,
        ("*conduit*body*", "lb", "lb[-_ 0-9]*", "ll", "ll[-_ 0-9]*", "lr", "lr[-_ 0-9]*"),
    ),
    (FittingKind.PANEL, ("*panel*", "*switchboard*", "*switchgear*")),
    (FittingKind.EQUIPMENT, ("*equipment*", "*transformer*", "*disconnect*", "*motor*")),
)
"""Words of the trade in block and layer names, and the kind each stands for."""

_BODY_LETTERS = ("lb", "ll", "lr")  # shapes of a body; a layer LL-POWER is that of a lower level

_LAYER_WORDS = tuple(
    (kind, tuple(word for word in words if word[:2] not in _BODY_LETTERS))
    for kind, words in TRADE_WORDS
)

_NAME_TAGS = ("TAG", "NAME", "LABEL", "ID", "MARK", "NUMBER", "NO")
_WORDS = _NAME_TAGS[:5]
_PARTS = re.compile(r"[^A-Z]+")
_ID_FORMS = ("IDENT", "IDENTIFIER", "IDENTITY", "IDNO", "IDNR", "IDNUM", "IDNUMBER")
_OTHER_WORDS = frozenset(
    {
        *("REMARK", "REMARKS", "BENCHMARK", "LANDMARK", "TRADEMARK", "MARKET", "MARKUP"),
        *("GRID", "VOID", "SOLID", "FLUID", "LIQUID", "HYBRID", "VALID", "RIGID", "LID", "BID"),
        *("MID", "PAID", "IDEA", "IDEAS", "IDLE"),
    }
)
"""Words of attribute tags that begin or end as words of names do, and mean something else."""


@dataclass(frozen=True, slots=True)
class FittingRule:
    """Block name patterns of the job, tried in order before the trade words.

    A pattern without a kind says that the block is no fitting: what it draws is raceway.
    """

    patterns: tuple[tuple[str, FittingKind | None], ...]

    def kind_of(self, block: str, layer: str) -> tuple[FittingKind, str] | None:
        """Return the kind of a block reference and the rule it follows, None where it is none.

        The rule is empty for a pattern of the job, else ``block`` or ``layer``: the name that
        holds a trade word.
        """
        for pattern, kind in self.patterns:
            if matches(block, (pattern,)):
                return None if kind is None else (kind, "")
        for what, name, trade_words in (
            ("block", block, TRADE_WORDS),
            ("layer", layer, _LAYER_WORDS),
        ):
            for kind, words in trade_words:
                if matches(name, words):
                    return kind, what
        return None

    def kind_of_point(self, layer: str) -> tuple[FittingKind, str] | None:
        """Return the kind of a point and the rule it follows, None where it is no fitting.

        A point is called by its layer: patterns of the job and trade words count for that name.
        """
        for pattern, kind in self.patterns:
            if matches(layer, (pattern,)):
                return None if kind is None else (kind, "")
        return self.kind_of("", layer)


def fitting_name(insert: Any) -> str:
    """Return the label a block reference or point carries, empty where it carries none.

    Attribute tags TAG, NAME, LABEL, ID, MARK, NUMBER, NO come first in this order, then tags
    with a part, between other signs than letters, that begins or ends with one of the first five,
    then the only attribute with text, then its extended data: the text after one of these tags,
    else the first text.
    """
    values = _texts_by_tag(getattr(insert, "attribs", ()))
    name = _tagged(values) or _under_part(values, _begins_or_ends)
    if not name and len(values) == 1:
        return next(iter(values.values()))
    return name or _extended_text(insert)


def block_label(block: Any) -> str:
    """Return the label that all references to a block bear, empty where they bear none.

    Taken from its constant attributes (DXF reference, ATTDEF, flag 2), by the same tags or by one
    with a part that is one of the first five words; any other is mostly a size or a maker.
    """
    constants = (one for one in block if one.dxftype() == "ATTDEF" and one.is_const)
    values = _texts_by_tag(constants)
    return _tagged(values) or _under_part(values, str.__eq__)


def _texts_by_tag(attributes: Iterable[Any]) -> dict[str, str]:
    values = {
        str(attribute.dxf.get("tag", "")).upper(): str(attribute.plain_text()).strip()
        for attribute in attributes
    }
    return {tag: text for tag, text in values.items() if text}


def _tagged(values: Mapping[str, str]) -> str:
    """Text under a tag of names, else nothing."""
    return next((values[tag] for tag in _NAME_TAGS if tag in values), "")


def _under_part(values: Mapping[str, str], holds: Callable[[str, str], bool]) -> str:
    """Text under the first tag with a part that holds a word of names, else nothing."""
    for word in _WORDS:
        for tag, text in values.items():
            parts = (part for part in _PARTS.split(tag) if part not in _OTHER_WORDS)
            if any(holds(part, word) for part in parts):
                return text
    return ""


def _begins_or_ends(part: str, word: str) -> bool:
    """Whether a part of a tag begins or ends with a word, or with one of the forms of ID."""
    forms = (word, *_ID_FORMS) if word == "ID" else (word,)
    return part.startswith(word) or part.endswith(forms)


def _extended_text(insert: Any) -> str:
    """Text after one of the name tags, or after its sign of equality, else the first text."""
    texts: list[str] = []
    for application, tags in insert.xdata.data.items() if insert.xdata is not None else ():
        if not str(application).upper().startswith(("ACAD", "ACDB")):
            texts += [str(tag.value).strip() for tag in tags if tag.code == 1000]
    texts = [text for text in texts if text]
    values: dict[str, str] = {}
    for index, text in enumerate(texts):
        after = texts[index + 1] if index + 1 < len(texts) else ""
        tag, sign, value = text.partition("=" if "=" in text else ":")
        values.setdefault(tag.strip().upper(), value.strip() if sign else after)
    named = [values[tag] for tag in _NAME_TAGS if values.get(tag)]
    return next(iter([*named, *texts]), "")
