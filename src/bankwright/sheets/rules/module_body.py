"""Rules of a module's sheet: resistances, body, posts, joining, addresses, trips, listings, spread.

Gives: RULES.
Takes: a Look.
Limits: three sides without letters are asked; a bare upper limit of a resistance is asked.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from bankwright.sheets.answer import Answer, Ask, Said, settle
from bankwright.sheets.concepts import ideas, phrase, plain
from bankwright.sheets.rules.common import between, bolts, is_limit, listing, lugs, mass, number, torque, volts_of
from bankwright.sheets.rules.module_trips import after_trip, recloses, restart
from bankwright.sheets.view import Hit, Look, Seen

__all__ = ["RULES", "posts_rows"]

_SIDE_WORDS = {
    "width": "w|b|width|breite|largeur|ancho|an|larghezza|breedte|largura|szer|bredd|宽",
    "depth": "d|t|p|f|depth|tiefe|profondeur|prof|fondo|profundidad|profondita|diepte|profundidade|gleb|djup|深",
    "height": "h|height|hohe|hauteur|haut|alto|al|altura|altezza|hoogte|wys|hojd|高",
}
_STRINGS = re.compile(r"(?<![\w.])(\d{1,3})\s?P(?!\w)")
LETTERS = 3  # a longer word names a side by what it means
_NONE_OF_BODY = ("shipping", "ears", "cell", "storage", "altitude", "resistance")


def resistance(kind: str) -> Callable[[Look], Answer | None]:
    """Post to post: `ohmic` at 1 kHz, `dc` some time into a step; unsaid which: asked for both."""

    def rule(look: Look) -> Answer | None:
        hits = [
            h
            for h in look.hits("resistance", none=("insulationtest", "precharge", "fuse", "shunt", "solar"))
            if _of_module(h)
        ]
        mine = [h for h in hits if _kind(h) == kind]
        unsaid = [h for h in hits if _kind(h) == "" and h.seen.every & {"resistance"}]
        if not mine:
            return Ask("at 1 kHz or after a step is not said", tuple(h.said for h in unsaid)) if unsaid else None
        if kind == "dc" and len({_seconds(h) for h in mine}) > 1:
            return Ask("it is printed after several times", tuple(h.said for h in mine))
        answer = between(mine) or settle([h.said for h in mine], "typical and guaranteed values are printed")
        if isinstance(answer, Said) and all(is_limit(h) and not h.measure.tolerance for h in mine):
            return Ask("only an upper limit is printed", (answer,))
        return answer

    return rule


def _of_module(hit: Hit) -> bool:
    return not ("cell" in hit.seen.label and "module" not in hit.seen.label)


def _kind(hit: Hit) -> str:
    text = plain(" ".join((_label(hit.seen), hit.seen.text, hit.seen.row.group, *hit.seen.row.notes)))
    if re.search(r"\b1(?:[.,]0)? ?khz|1000 ?hz|\bac\b|\bca\b|wechsel|ohmic|ohmsch", text):
        return "ohmic"
    if re.search(r"\bdc\b|\bdcir\b|gleich|\bcc\b|pulse?|puls|impuls|\bstep\b|sprung", text):
        return "dc"
    return ""


def _label(seen: Seen) -> str:
    """The label; of running text nothing but the sentence that is looked at."""
    return seen.row.label if seen.row.values else ""


def _seconds(hit: Hit) -> str | None:
    label = [m for m in hit.seen.measured if m.dimension == "time"]
    return label[0].text() if label else _label_time(hit.seen)


def _label_time(seen: Seen) -> str | None:
    found = re.search(r"(\d+(?:[.,]\d+)?)[\s-]*(ms|s|sec|sek|min)\b", f"{_label(seen)} {seen.text}", re.IGNORECASE)
    unit = found and {"sec": "s", "sek": "s"}.get(found[2].lower(), found[2].lower())
    return f"{found[1].replace(',', '.')} {unit}" if found else None


def resistance_after(look: Look) -> Answer | None:
    """Time into the step that `dc` holds for."""
    hits = [
        h for h in look.hits("resistance", none=("insulationtest", "precharge")) if _kind(h) == "dc" and _of_module(h)
    ]
    found = [h.seen.said(after) for h in hits if (after := _seconds(h))]
    return settle(found, "several times are printed")


def side(name: str) -> Callable[[Look], Answer | None]:
    """Width, depth or height of the body; without ears, handles or parcel."""

    def rule(look: Look) -> Answer | None:
        singles = [
            h
            for h in look.hits("length", name, none=_NONE_OF_BODY)
            if name in h.seen.label and not h.seen.label & ({"width", "depth", "height"} - {name}) and _metric(h)
        ]
        singles = singles or _said_side(look, name)
        if singles:
            return settle([h.said for h in singles], "several are printed")
        none = tuple(idea for idea in _NONE_OF_BODY if idea != "ears")
        named = [s for s in look.rows if _order(s.row.label) and not s.every & set(none)]
        for seen in (*look.where("body|width|depth|height", none=none), *named):
            three = () if _with_ears(seen) else _three(seen)
            if three:
                return _side_of(seen, three, name)
        return None

    return rule


def _with_ears(seen: Seen) -> bool:
    """Whether ears are spoken of before the third length; what stands after it is another width."""
    lengths = seen.of("length")
    end = lengths[2].end if len(lengths) >= 3 else len(seen.text)
    return "ears" in seen.label | seen.around | ideas(seen.text[:end])


def _said_side(look: Look, name: str) -> list[Hit]:
    """Running text: "440 mm wide", "ancho 440 mm"; the word that stands at its length."""
    hits = [h for h in look.hits("length", none=_NONE_OF_BODY) if not h.seen.row.values]
    return [h for h in hits if _side_word(h) == {name}]


def _side_word(hit: Hit) -> frozenset[str]:
    sides = {"width", "depth", "height"}
    before = re.search(r"([^\W\d_]+)\s*:?\s*$", hit.before)
    after = re.match(r"\s+(?:(?:in|en|de|di|na|w|v|i|der|la|el|d['’])\s+){0,2}([^\W\d_]+)", hit.after)
    words = ideas(before[1]) & sides if before else frozenset()
    return words or (ideas(f"mm {after[1]}") & sides if after else frozenset())


def _metric(hit: Hit) -> bool:
    metric = [m for m in hit.seen.of("length") if m.unit in ("mm", "cm")]
    return hit.measure in metric[:1] if metric else hit.measure is hit.seen.of("length")[0]


def _three(seen: Seen) -> tuple[str, ...]:
    lengths = [m for m in seen.of("length") if m.unit in ("mm", "cm")] or list(seen.of("length"))
    return tuple(m.text() for m in lengths[:3]) if len(lengths) >= 3 else ()


def _side_of(seen: Seen, three: tuple[str, ...], name: str) -> Answer:
    order = _order(f"{seen.row.label} {seen.text}")
    if order and name in order:
        return seen.said(three[order.index(name)])
    return Ask("which side is which is not said", tuple(seen.said(value) for value in three))


def _order(text: str) -> tuple[str, ...]:
    """The names of three sides in the order of the figures, by letters or words with a cross between."""
    bare = plain(text)
    glued = re.search(r"\b([wblan])\s*[x×*]\s*([dtplf])\s*[x×*]\s*([ha])\b", bare)
    letters = glued or re.search(
        r"\b([a-z]{1,14})\.?\)?\s*[×x*/]\s*\(?([a-z]{1,14})\.?\)?\s*[×x*/]\s*\(?([a-z]{1,14})\b", bare
    )
    found = letters.groups() if letters else tuple(re.findall(r"\d\s*(?:mm)?\s*\(?([wdhbtlpaf])\)?\b", bare))[:3]
    chinese = re.search(r"([宽深高长])\D{0,3}([宽深高长])\D{0,3}([宽深高长])", text)
    found = chinese.groups() if chinese else found
    if len(found) != 3:
        return ()
    sides = [_named_side(word, found) for word in found]
    return tuple(sides) if len(set(sides)) == 3 and "" not in sides else ()


def _named_side(word: str, three: Iterable[str]) -> str:
    three = tuple(three)
    if word == "l":  # largeur, larghezza beside a P; else a length, which is not said to be a depth
        return "width" if "p" in three else ""
    if word == "a":  # alto, altezza beside L and P
        return "height" if "l" in three and "p" in three else ""
    named = ideas(word) & set(_SIDE_WORDS) if len(word) > LETTERS else frozenset()
    return next((name for name, words in _SIDE_WORDS.items() if word in words.split("|") or {name} == named), "")


def posts_rows(look: Look) -> list[Seen]:
    """Rows of the power posts: not of earth, data or the AC side."""
    none = ("ac", "earthing", "message", "breaker", "address", "solar", "cell")
    return [s for s in look.where("terminal|torque", none=none) if s.label & {"terminal", "torque"} or not s.row.values]


def stud(look: Look) -> Answer | None:
    """Thread of the posts."""
    return bolts([s for s in posts_rows(look) if "terminal" in s.every])


def pairs(look: Look) -> Answer | None:
    """Posts a pole."""
    found = []
    for seen in posts_rows(look):
        text = plain(f"{seen.row.label} {seen.text}")
        hit = phrase("per_pole").search(text) or phrase("per_pole_after").search(text)
        if hit and (count := number(hit[1])) in (1, 2):
            found.append(seen.said(str(count)))
    return settle(found, "several are printed")


def through(look: Look) -> Answer | None:
    """Current that may enter one post of a pole and leave by the other."""
    hits = [h for h in look.hits("current", "through", none=("breaker", "fuse")) if "through" in h.seen.own]
    return settle([h.said for h in hits], "several are printed")


def post_torque(look: Look) -> Answer | None:
    """Tightening torque of the posts."""
    rows = [s for s in posts_rows(look) if s.of("torque")]
    return torque(rows)


def most_parallel(look: Look) -> Answer | None:
    """Modules that may stand in parallel."""
    found = []
    for seen in look.where("parallel", none=("spread", "voltage")):
        if not seen.row.values:
            continue
        if seen.own & {"cell", "series"}:
            told = _STRINGS.findall(seen.text) if "cell" not in seen.own else []
            found += [seen.said(count) for count in told]  # "4S / 16P"
            continue
        counts = [m for m in seen.of("count") if m.unit == "" and 1 < m.number() < 300 and not m.ranges]
        found += [seen.said(m.text()) for m in counts[:1]]
        found += [seen.said(m.high) for m in seen.of("count") if m.ranges][:1]
    if not found:
        found = _in_prose(look)
    return settle(found, "several are printed")


def _in_prose(look: Look) -> list[Said]:
    found = []
    for seen in look.rows:
        for name in ("most_in_parallel", "most_in_parallel_after"):
            told = phrase(name).search(seen.text)
            count = number(told[1]) if told else None
            found += [seen.said(str(count))] if count else []
    return found


def join_within(look: Look) -> Answer | None:
    """Largest difference of voltage at joining."""
    hits = look.hits("voltage", "joining|parallel", "spread", none=("cell",))
    return settle([h.said for h in hits if volts_of(h.measure) <= 5], "several are printed")


def _address_rows(look: Look) -> list[Seen]:
    return [s for s in look.where("address") if s.row.values or s.measured]


def switches(look: Look) -> Answer | None:
    """Address switches."""
    found = []
    for seen in look.where("switches", "address"):
        text = f"{seen.row.label} {seen.text}" if not seen.row.values else seen.text
        hit = phrase("switches").search(plain(text))
        if hit and not seen.row.values and "switches" not in ideas(hit[0]):
            hit = None
        hit = hit or phrase("switches_after").search(plain(text))
        if hit:
            found.append(seen.said(hit[1]))
    return settle(found, "several are printed")


def address(end: str) -> Callable[[Look], Answer | None]:
    """First and highest address that can be set."""

    def rule(look: Look) -> Answer | None:
        found = []
        for seen in _address_rows(look):
            text = f"{seen.row.label} {seen.text}"
            hit = phrase("addresses").search(text)
            if hit:
                found.append(seen.said(hit[1] if end == "first" else hit[2]))
        return settle(found, "several are printed")

    return rule


def cell_spread(look: Look) -> Answer | None:
    """Highest minus lowest cell at rest."""
    hits = [
        h
        for h in look.hits("voltage", "cell", "spread", none=("joining", "parallel", "empty"))
        if volts_of(h.measure) < 0.6
    ]
    return settle([h.said for h in hits], "several are printed")


def spread_empty(look: Look) -> Answer | None:
    """Highest minus lowest cell near empty."""
    hits = [h for h in look.hits("voltage", "cell", "spread", "empty") if volts_of(h.measure) < 1.0]
    return settle([h.said for h in hits], "several are printed")


RULES: dict[str, Callable[[Look], Answer | None]] = {
    "resistance.dc": resistance("dc"),
    "resistance.after": resistance_after,
    "resistance.ohmic": resistance("ohmic"),
    "width": side("width"),
    "depth": side("depth"),
    "height": side("height"),
    "mass": mass,
    "posts.stud": stud,
    "posts.pairs": pairs,
    "posts.through": through,
    "posts.torque": post_torque,
    "posts.lugs": lambda look: lugs(posts_rows(look)),
    "parallel.most": most_parallel,
    "parallel.join_within": join_within,
    "address.switches": switches,
    "address.first": address("first"),
    "address.most": address("most"),
    "trips.charge": after_trip("charge"),
    "trips.discharge": after_trip("discharge"),
    "trips.restart": restart,
    "trips.recloses": recloses,
    "listing": listing,
    "cell_spread": cell_spread,
    "discharge.cell_spread": spread_empty,
}
