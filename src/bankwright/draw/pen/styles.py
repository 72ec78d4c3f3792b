"""The style sheet of the drawings: tokens and classes, as package data, and resolved for a file that stands alone.

Gives: tokens_css(), drawing_css() for the page; standalone_css() for a saved file; token_values().
A saved file may be opened by viewers that know neither custom properties nor media queries: every token is written out,
the dark paper follows as plain rules inside one media query.
Limits: the reader understands these two files only (flat rules, no nesting but media queries).
"""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files

__all__ = ["drawing_css", "standalone_css", "token_values", "tokens_css"]

_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_TOKEN = re.compile(r"--([\w-]+):\s*([^;]+);")
_USE = re.compile(r"var\(--([\w-]+)\)")


@cache
def tokens_css() -> str:
    """Colours, letters and distances as custom properties, light and dark."""
    return files("bankwright.draw.pen").joinpath("tokens.css").read_text("utf-8")


@cache
def drawing_css() -> str:
    """Rules of the drawings' classes, all under `.bw`; they use the tokens."""
    return files("bankwright.draw.pen").joinpath("drawing.css").read_text("utf-8")


@cache
def token_values(theme: str = "light") -> dict[str, str]:
    """Every token with its value on light or dark paper."""
    plain = re.sub(r"/\*.*?\*/", "", tokens_css(), flags=re.S)
    values: dict[str, str] = {}
    for selector, body in _RULE.findall(re.sub(r"@media[^{]*\{(.*?\})\s*\}", "", plain, flags=re.S)):
        dark_only = 'data-theme="dark"' in selector
        if not dark_only or theme == "dark":
            values.update((name, value.strip()) for name, value in _TOKEN.findall(body))
    return values


def _resolved(text: str, values: dict[str, str]) -> str:
    while _USE.search(text):
        text = _USE.sub(lambda use: values[use.group(1)], text)
    return text


@cache
def standalone_css() -> str:
    """The rules with every token written out; rules that change on dark paper again inside a media query."""
    light, dark = token_values("light"), token_values("dark")
    plain = re.sub(r"/\*.*?\*/", "", drawing_css(), flags=re.S)
    first, second = [], []
    for selector, body in _RULE.findall(plain):
        head, rule = " ".join(selector.split()), " ".join(body.split())
        on_light, on_dark = _resolved(rule, light), _resolved(rule, dark)
        first.append(f"{head} {{ {on_light} }}")
        if on_dark != on_light:
            second.append(f"{head} {{ {on_dark} }}")
    return "\n".join([*first, "@media (prefers-color-scheme: dark) {", *second, "}"])
