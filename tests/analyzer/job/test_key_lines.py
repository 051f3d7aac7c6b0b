"""Line numbers of the keys of a TOML text."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.job.key_lines import KeyPath, dotted, key_lines

EVERY_FORM = '''\
title = "one # no comment"   # a comment
a.b."c d" = 1
'single' = 'x = [ "'
date = 1979-05-27 07:32:00
multi = """
fake = 1
still \\""" text
"""
literal = QQQ
fake = 2
QQQ
list = [
  1,
  [2, 3],  # inner ]
  { x = 1, y.z = "}" },
]

[table]
key = { low = 0.1, "high" = [1,
  2] }

[[item]]
name = "first"
[item.sub]
deep = 1
[[item.more]]
n = 1
[[item.more]]
n = 2

[[item]]
name = "second"
[item.sub]
deep = 2
[x.y.z]
w = true
'''.replace("QQQ", "'" * 3)


def paths_of(value: Any, path: KeyPath = ()) -> list[KeyPath]:
    """Every path of parsed TOML: keys, and items of arrays."""
    if isinstance(value, dict):
        inner = [((*path, key), item) for key, item in value.items()]
    elif isinstance(value, list):
        inner = [((*path, index), item) for index, item in enumerate(value)]
    else:
        return []
    return [place for place, item in inner for place in (place, *paths_of(item, place))]


def test_every_key_and_item_of_every_form_has_a_line():
    assert set(key_lines(EVERY_FORM)) == set(paths_of(tomllib.loads(EVERY_FORM)))


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 1),
        (("a", "b", "c d"), 2),
        (("single",), 3),
        (("multi",), 5),
        (("literal",), 9),
        (("list",), 12),
        (("list", 0), 13),
        (("list", 1, 1), 14),
        (("list", 2, "y", "z"), 15),
        (("table",), 18),
        (("table", "key", "low"), 19),
        (("table", "key", "high", 1), 20),
        (("item", 0), 22),
        (("item", 0, "sub", "deep"), 25),
        (("item", 0, "more", 1, "n"), 29),
        (("item", 1), 31),
        (("item", 1, "name"), 32),
        (("item", 1, "sub", "deep"), 34),
        (("x", "y", "z", "w"), 36),
    ],
)
def test_line_of_a_key(path, line):
    assert key_lines(EVERY_FORM)[path] == line


def test_windows_line_ends_count_once():
    assert key_lines("a = 1\r\nb = 2\r\n") == {("a",): 1, ("b",): 2}


def test_empty_text_has_no_keys():
    assert key_lines("") == {}
    assert key_lines("# only a comment") == {}


def test_dotted_counts_items_from_one_and_quotes_odd_names():
    assert dotted(("conductors", 1, "size")) == "conductors[2].size"
    assert dotted(("drawing", "fittings", "JB*")) == 'drawing.fittings."JB*"'


KEYS = st.text("abcXYZ019_- .\"'#[]={}é\\", min_size=0, max_size=6)
LEAVES = st.one_of(
    st.integers(-9, 9).map(str),
    st.sampled_from(
        ['"x # ]"', "'a\"b'", "true", "1.5e3", '"""\na = 1\n"""', "'''\n[b]\n'''", '"\\"" ']
    ),
)


def quoted(key: str) -> str:
    return '"' + key.replace("\\", "\\\\").replace('"', '\\"') + '"'


def inline(children: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    arrays = st.lists(children, max_size=3).map(lambda v: "[\n" + " ,\n # ] c\n".join(v) + "]")
    tables = st.dictionaries(KEYS, children, max_size=3).map(
        lambda d: "{" + ", ".join(f"{quoted(k)} = {v}" for k, v in d.items()) + "}"
    )
    return arrays | tables


VALUES = st.recursive(LEAVES, inline, max_leaves=6)


@given(st.lists(st.tuples(KEYS, st.dictionaries(KEYS, VALUES, max_size=3)), max_size=4))
def test_all_generated_texts_are_walked_completely(tables):
    text = "\n".join(
        f"[[{quoted(name)}]]  # note\n" + "\n".join(f"{quoted(k)}={v}" for k, v in body.items())
        for name, body in tables
    )
    lines = key_lines(text)
    assert set(lines) == set(paths_of(tomllib.loads(text)))
    assert all(1 <= line <= text.count("\n") + 1 for line in lines.values())
