"""Generated TOML texts with all that can stand between values: comments, line ends, quotes, nesting, dotted keys."""

from __future__ import annotations

from hypothesis import strategies as st

__all__ = ["toml_texts"]

_NAMES = st.sampled_from(["a", "b", "c-1", "d_2", "3", "äß", "x y", 'q"q', "", "k.k", "e\tf"])
_SPACE = st.sampled_from(["", " ", "  ", "\t"])
_COMMENT = st.sampled_from(["", " # no [table] here", "# = { ' \"", "  #\u00a0ünï", "#"])
_SCALARS = st.sampled_from(
    [
        "1",
        "-17",
        "0x1F",
        "1_000",
        "3.5",
        "-2e3",
        "inf",
        "nan",
        "true",
        "false",
        "1979-05-27",
        "07:32:00",
        "1979-05-27 07:32:00Z",
        '"14 mohm"',
        '"a # b"',
        '"esc \\" \\\\"',
        "'lit \" ]'",
        "''",
        '""',
        '"""multi\nline # no"""',
        '"""q "" ok"""',
        '"""end""""',
        '"""end"""""',
        "'''lit\n'' ok'''",
        "'''end''''",
        '"""cont \\\n   inued"""',
        '"\\u00e9"',
        '"\u2212 5"',
        '"]}"',
    ]
)


def _quoted(name: str) -> st.SearchStrategy[str]:
    escaped = '"' + name.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t") + '"'
    forms = [escaped]
    if name and all(c.isascii() and (c.isalnum() or c in "-_") for c in name):
        forms.append(name)
    if "'" not in name and "\t" not in name:
        forms.append(f"'{name}'")
    return st.sampled_from(forms)


_KEYS = _NAMES.flatmap(_quoted)


@st.composite
def _dotted(draw: st.DrawFn, most: int = 3) -> str:
    parts = draw(st.lists(_KEYS, min_size=1, max_size=most))
    return draw(st.sampled_from([".", " . ", ". "])).join(parts)


@st.composite
def _array(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    gap = st.sampled_from(["", " ", "\n", " # x ]\n", "\n  # ,\n\n"])
    items = draw(st.lists(inner, max_size=3))
    text = "[" + draw(gap)
    for i, item in enumerate(items):
        last = i == len(items) - 1
        text += draw(gap) + item + draw(gap) + ("," if not last or draw(st.booleans()) else "")
    return text + draw(gap) + "]"


@st.composite
def _inline(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    pairs = [f"{draw(_dotted(2))}{draw(_SPACE)}={draw(_SPACE)}{draw(inner)}" for _ in range(draw(st.integers(0, 3)))]
    return "{" + draw(_SPACE) + (draw(_SPACE) + "," + draw(_SPACE)).join(pairs) + draw(_SPACE) + "}"


_VALUES = st.recursive(_SCALARS, lambda inner: _array(inner) | _inline(inner), max_leaves=5)


@st.composite
def toml_texts(draw: st.DrawFn) -> str:
    """A text that looks like TOML; tomllib may refuse it (keys twice): filter with assume()."""
    newline = draw(st.sampled_from(["\n", "\r\n"]))
    lines = []
    for _ in range(draw(st.integers(0, 9))):
        what = draw(st.integers(0, 9))
        if what == 0:
            lines.append(draw(_COMMENT))
        elif what == 1:
            lines.append(f"{draw(_SPACE)}[{draw(_SPACE)}{draw(_dotted())}{draw(_SPACE)}]{draw(_COMMENT)}")
        elif what == 2:
            lines.append(f"[[{draw(_dotted(2))}]]{draw(_COMMENT)}")
        else:
            lines.append(f"{draw(_SPACE)}{draw(_dotted())}{draw(_SPACE)}={draw(_SPACE)}{draw(_VALUES)}{draw(_COMMENT)}")
    text = "\n".join(lines) + draw(st.sampled_from(["", "\n", "\n\n"]))
    return text.replace("\n", newline)
