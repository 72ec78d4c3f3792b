"""The first conversation as text, and back: what is kept between two sittings.

Gives: as_text(), from_text().
Limits: what no longer reads is let go and asked anew; rubbish begins anew.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from bankwright.bank.talk.questions import QUESTIONS
from bankwright.bank.talk.talk import Offer, Talk, go_to, not_known, said, using
from bankwright.bank.texts.shelf import ANSWERS, Shelved

__all__ = ["as_text", "from_text"]

FORM = 1  # of the kept text


def as_text(talk: Talk) -> str:
    """The state as text, to be kept."""
    offers = [[offer.key, list(offer.values), offer.line] for offer in talk.offers]
    kinds = [[k.family, k.name, k.file, dict(k.answers), list(k.taken)] for k in talk.kinds]
    kept = {"form": FORM, "at": talk.at, "answers": dict(talk.answers), "offers": offers, "kinds": kinds}
    return json.dumps(kept, indent=1) + "\n"


def from_text(text: str) -> Talk:
    """The state that was kept; what no longer reads is asked anew, and rubbish begins anew."""
    try:
        data = json.loads(text)
        rows = data["answers"].items() if data["form"] == FORM else ()
    except (ValueError, KeyError, TypeError, AttributeError):
        return Talk()
    talk, keys = Talk(), {each.key for each in QUESTIONS}
    for key, answer in rows:
        if key in keys and (answer is None or isinstance(answer, str)):
            heard = replace(talk, at=key)
            talk = not_known(heard) if answer is None else said(heard, answer)
            talk = replace(talk, heard=None)
    at = data.get("at")
    talk = replace(using(talk, "", None), offers=_offers(data.get("offers"), keys))
    for kind in _kinds(data.get("kinds")):
        talk = using(talk, kind.family, kind)
    return go_to(talk, at) if isinstance(at, str) and at and len(dict(talk.answers)) == len(rows) else talk


def _offers(rows: Any, keys: set[str]) -> tuple[Offer, ...]:
    """Offers as they were kept; what no longer reads is let go."""
    read = []
    for row in rows if isinstance(rows, list) else ():
        match row:
            case [str(key), list(values), str(line)] if key in keys and all(isinstance(v, str) for v in values):
                read.append(Offer(key, tuple(values), line))
    return tuple(read)


def _kinds(rows: Any) -> list[Shelved]:
    read = []
    for row in rows if isinstance(rows, list) else ():
        match row:
            case [str(family), str(name), str(file), dict(answers), list(taken)] if family in ANSWERS:
                given = tuple((k, v) for k, v in answers.items() if k in ANSWERS[family] and isinstance(v, str))
                read.append(Shelved(family, name, file, given, tuple(map(str, taken))))
    return read
