"""Templates and the filters they use: one way to turn things of the project into HTML.

Gives: page(), fragment(), environment(). Everything is escaped; drawings come as Markup from draw/, which escapes too.
Limits: no inline style and no inline script (strict content policy); words around figures are those of forms/.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any
from urllib.parse import quote, urlencode

from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from bankwright.draw.gauge import gauge
from bankwright.draw.pen.symbols import verdict_mark
from bankwright.forms.disk import bytes_text
from bankwright.forms.finding import Finding, Verdict
from bankwright.forms.finding_text import against, places_text, sentence_of, verdict_text
from bankwright.forms.origin import FileKey, Origin
from bankwright.forms.wording import Figure, Say, amount_text, figure_text, range_text
from bankwright.job.asking import found_in

__all__ = ["anchor", "environment", "fragment", "key_href", "page", "place_href"]

_NAME = re.compile(r"[^A-Za-z0-9]+")


def anchor(path: str) -> str:
    """An id for a path of the file, unique enough inside one page: `kinds.module.A` -> `k-kinds-module-A`."""
    tail = f"-{sum(ord(c) * (i + 1) for i, c in enumerate(path)) % 9973}"
    return "k-" + _NAME.sub("-", path).strip("-") + tail


def place_href(name: str) -> str:
    """Where everything that is known of a place stands."""
    return "/at/" + quote(name, safe="")


def key_href(path: str) -> str:
    """Where a key of the file can be edited."""
    return "/plan/bank?" + urlencode({"key": path}) + "#" + anchor(path)


def _minus(text: str) -> str:
    """Names with the printed minus sign: `L1-` -> `L1−`."""
    text = re.sub(r"(?<=\bbar)-(?=\d)", "−", text)
    return re.sub(r"(?<=[A-Za-z0-9])-(?=$|lead\b|[\s,.;:@)])", "−", text)


def _mark(verdict: Verdict, words: str = "") -> Markup:
    said = words or verdict_text(verdict)
    return Markup('<span class="v {}">{}<span>{}</span></span>').format(
        verdict, Markup(str(verdict_mark(verdict))), said
    )


@pass_context
def _words(context: Context, said: Say | None) -> str:
    return "" if said is None else _minus(said.text(context["units"]))


@pass_context
def _figure(context: Context, figure: Figure | str) -> str:
    return figure if isinstance(figure, str) else figure_text(figure, context["units"])


@pass_context
def _range(context: Context, figure: Figure | str) -> str:
    return "" if isinstance(figure, str) else range_text(figure, context["units"])


@pass_context
def _amount(context: Context, value: float, quantity: str) -> str:
    return amount_text(value, quantity, context["units"])


@pass_context
def _against(context: Context, finding: Finding) -> Any:
    return against(finding, context["units"])


@pass_context
def _gauge(context: Context, finding: Finding, prefix: str) -> Markup:
    drawn = gauge(finding, units=context["units"], prefix=prefix)
    return Markup("" if drawn is None else drawn.text)


def _key_of(origin: Origin) -> str | None:
    return origin.path if isinstance(origin, FileKey) else None


@pass_context
def _sentence(context: Context, finding: Finding) -> str:
    said = sentence_of(finding)
    return "" if said is None else _minus(said.text(context["units"]))


def _clock(moment: Any) -> str:
    return "" if moment is None else moment.strftime("%H:%M")


@cache
def environment() -> Environment:
    """The one environment, with autoescape on for everything."""
    env = Environment(
        loader=PackageLoader("bankwright.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters |= {
        "words": _words,
        "figure": _figure,
        "range": _range,
        "amount": _amount,
        "against": _against,
        "gauge": _gauge,
        "wordlist": found_in,
        "ident": id,
        "sentence": _sentence,
        "mark": _mark,
        "verdict": verdict_text,
        "minus": _minus,
        "place_href": place_href,
        "key_href": key_href,
        "key_of": _key_of,
        "anchor": anchor,
        "clock": _clock,
        "bytes": bytes_text,
        "stem": lambda name: name.rpartition(".")[0] or name,
        "places": places_text,
        "svg": lambda drawing: Markup(drawing.text),
    }
    return env


def fragment(template: str, **values: Any) -> str:
    """Fill a template."""
    values.setdefault("units", "metric")
    return environment().get_template(template).render(**values)


def page(template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """Fill a template as an answer: asked for anew each time, yet kept for the Back button when there is no link."""
    return HTMLResponse(fragment(template, **values), status, {"cache-control": "private, no-cache"})
