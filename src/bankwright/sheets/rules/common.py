"""Rules that several kinds share: bolts, lugs, torque, mass, listings, DC or AC, values with a time or temperature.

Gives: the names in __all__.
Takes: a Look.
Limits: where a sheet leaves room, a question.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from bankwright.sheets.answer import Answer, Ask, Said, Spot, settle
from bankwright.sheets.concepts import ideas, phrase, plain
from bankwright.sheets.measures import Marks, Measure, measures
from bankwright.sheets.view import Hit, Look, Seen

__all__ = [
    "beside",
    "best",
    "between",
    "bolts",
    "bounded",
    "cell_volts",
    "clauses",
    "dc_or_ask",
    "different",
    "is_limit",
    "listing",
    "lugs",
    "mass",
    "number",
    "says_ac",
    "says_dc",
    "sentence_of",
    "timed",
    "torque",
    "volts_of",
    "warm",
    "yes_or_no",
]

_STUD = re.compile(r"(?<![A-Za-z0-9])M\s?(4|5|6|8|10|12|16)(?!\d|[.,]\d|\s?(?:[VA]\b))")
_INCH_STUD = re.compile(r"(?<![\d/])(1/4|5/16|3/8|7/16|1/2)\s*(?:in\b|inch|″|”|\"|-\d\d)")
_WORD_NUMBERS = {
    word: n
    for n, words in enumerate(
        (
            "one ein eine einen un une uno una een uma ett jeden jedna jedno",
            "two zwei deux dos due twee dois duas tva dwa dwie dva dve",
            "three drei trois tres tre drie trzy tri",
            "four vier quatre cuatro quattro",
        ),
        1,
    )
    for word in words.split()
}
_FIFTEEN = "fifteen funfzehn quindici quinze quince vijftien femton femten pietnascie patnact"
_SIXTEEN = "sixteen sechzehn seize dieciseis sedici zestien sexton seksten dezasseis"
_WORD_NUMBERS |= dict.fromkeys(_FIFTEEN.split(), 15) | dict.fromkeys(_SIXTEEN.split(), 16)


_MORE = {
    5: "five funf cinq cinco cinque vijf fem piec pet",
    6: "six sechs seis sei zes sex szesc sest",
    7: "seven sieben sept siete sette zeven sete sju siedem sedm",
    8: "eight acht huit ocho otto oito atta osiem osm",
    9: "nine neun neuf nueve nove negen nio dziewiec devet",
    10: "ten zehn dix diez dieci tien dez tio dziesiec deset",
    12: "twelve zwolf douze doce dodici twaalf doze tolv dwanascie dvanact",
    14: "fourteen vierzehn quatorze catorce quattordici veertien fjorton",
    20: "twenty zwanzig vingt veinte venti twintig vinte tjugo dwadziescia dvacet",
}
_WORD_NUMBERS |= {word: n for n, words in _MORE.items() for word in words.split()}


def number(word: str) -> int | None:
    """A small number in figures or as a word."""
    return int(word) if word.isdigit() else _WORD_NUMBERS.get(plain(word))


def volts_of(measure: Measure) -> float:
    """A voltage in V."""
    return measure.number() * {"mV": 1e-3, "kV": 1e3}.get(measure.unit, 1.0)


def cell_volts(hit: Hit) -> bool:
    """Whether a voltage can be of one cell."""
    return 1.5 <= volts_of(hit.measure) <= 4.5


def timed(hit: Hit) -> Measure | None:
    """The time that a current or power is said for: `120 A, 10 min`, `150 A, delay 3 s`, `10 kW (5 s)`."""
    later = [m for m in hit.seen.measured if m.start >= hit.measure.end]
    if later and later[0].dimension == "time":
        between = hit.seen.text[hit.measure.end : later[0].start]
        if phrase("time_follows").match(between) or "delay" in ideas(between):
            return later[0]
    return _time_in_words(hit)


def _time_in_words(hit: Hit) -> Measure | None:
    """`120 A for no more than one minute`."""
    found = phrase("time_in_words").match(hit.after)
    count = number(found[1]) if found else None
    if found is None or count is None:
        return None
    unit = {"m": "min", "s": "s"}.get(found[2][0].lower(), "h")
    return next(iter(measures(f"{count} {unit}", Marks())), None)


def warm(hit: Hit) -> str:
    """The temperature or condition that a value is said at; empty when none."""
    later = [m for m in hit.seen.measured if m.start >= hit.measure.end]
    same = [m for m in later if m.dimension == hit.measure.dimension]
    for measure in later:
        if same and measure.start > same[0].start:
            break
        if measure.dimension == "temperature":
            return measure.printed
    at = re.search(r"\b(?:at|bei|à|a|bij|@)\s*[+−-]?\d+\s*(?:°C|℃)", hit.seen.row.label)
    return at[0] if at else ""


def clauses(text: str) -> tuple[str, ...]:
    """The sentences and clauses of a text."""
    return tuple(part.strip() for part in re.split(r"(?<=[^\W\d_]{2}[.。])\s+|[;；,，]|。", text) if part.strip())


def sentence_of(seen: Seen) -> str:
    """The sentence of running text that a clause of it stands in; the text itself where there is no other."""
    sentences = re.split(r"(?<=[^\W\d_]|\))\.\s+|;\s+", seen.row.label)
    return next((s for s in sentences if seen.text.strip() in s), seen.text)


def yes_or_no(text: str) -> bool | None:
    """Yes or no of a short value; None when it says neither."""
    bare = plain(text)
    if re.match(
        r"^(yes|ja|oui|si|sim|tak|是|有|integrated|built-in|fitted|available|vorhanden|eingebaut|integr|presente|incl|✓|✔)",
        bare,
    ):
        return True
    if re.match(
        r"^(no\b|nein|non\b|nee\b|nie\b|nao|none|not |nicht|without|ohne|sans|sin |senza|zonder"
        r"|nessun|ningun|aucun|nenhum|ingen|zadn|brak|bez |uden|utan|kein|否|无|-$|✗|✘)",
        bare,
    ):
        return False
    return None


def best(ranks: Sequence[Sequence[Hit]], why: str) -> Answer | None:
    """The first rank that has a value decides; several different values in it are a question."""
    for hits in ranks:
        answer = settle([hit.said for hit in hits], why)
        if answer is not None:
            return answer
    return None


def between(hits: Sequence[Hit]) -> Answer | None:
    """Least and greatest value of one row, in columns of their own, are one value with its band."""
    low = [h for h in hits if "least" in h.seen.label]
    high = [h for h in hits if "most" in h.seen.label]
    if (
        len(low) == len(high) == 1
        and low[0].seen.row is high[0].seen.row
        and low[0].measure.unit == high[0].measure.unit
    ):
        unit = low[0].measure.unit
        return low[0].seen.said(f"{low[0].measure.middle} {unit} to {high[0].measure.middle} {unit}")
    return None


def different(hits: Sequence[Hit]) -> tuple[Said, ...]:
    """The different values of some, in their order."""
    answer = settle([h.said for h in hits], "")
    return answer.choices if isinstance(answer, Ask) else (answer,) if answer else ()


def _lasting(hit: Hit, look: Look) -> Said | None:
    """The one current or power that a footnote calls continuous: "15 min at most; 80 A continuously"."""
    found = [
        Said(m.text(), Spot(note, hit.seen.row.page))
        for note in hit.seen.row.notes
        for clause in re.split(r"[;.]\s", note)
        for m in measures(clause, look.marks)
        if "continuous" in ideas(clause)
        and m.dimension == hit.measure.dimension
        and not any(o.dimension == "temperature" for o in measures(clause, look.marks))
    ]
    return found[0] if len(found) == 1 else None


def _binds(hit: Hit, note: str, found: Sequence[Measure]) -> bool:
    """Whether a footnote bounds a value: a time, a temperature, another value of its dimension, or an "only"."""
    other = any(m.dimension == hit.measure.dimension and m.text() != hit.measure.text() for m in found)
    return other or any(m.dimension in ("time", "temperature") for m in found) or bool(phrase("only").search(note))


def bounded(hits: Sequence[Hit], look: Look) -> Answer | None:
    """A question where a footnote bounds every one of them by time or temperature; its values are choices."""
    said = {str(h.said.value): h.said for h in hits}
    notes = [(h, note, measures(note, look.marks)) for h in hits for note in h.seen.row.notes]
    binding = {id(h) for h, note, found in notes if _binds(h, note, found)}
    if not hits or len(binding) < len({id(h) for h in hits}):
        return None
    lasting = _lasting(hits[0], look) if len(hits) == 1 and "continuous" not in hits[0].seen.label else None
    if lasting is not None:
        return lasting
    for hit, note, found in notes:
        for measure in found:
            if measure.dimension == hit.measure.dimension:
                said.setdefault(measure.text(), Said(measure.text(), Spot(note, hit.seen.row.page)))
    return Ask("a footnote limits it", tuple(said.values()))


def dc_or_ask(hit: Hit, look: Look | None = None) -> Answer:
    """A rating holds on DC only where the sheet says so beside it."""
    text = f"{hit.seen.row.label} {hit.seen.text} {hit.seen.row.group} {hit.seen.row.section} {hit.seen.side}"
    if says_dc(text) or (look is not None and says_dc(look.sheet.text) and not says_ac(look.sheet.text)):
        return hit.said
    why = "AC or DC is not said beside it" if not says_ac(text) else "it is printed for AC"
    return Ask(why, (hit.said,))


def beside(hit: Hit) -> str:
    """`dc` or `ac` as it is said in the unit, right before or right after a value; empty where it is not."""
    before, after = hit.before[-10:], re.split(r"[/;,(]", hit.after[:8].lstrip(" ("))[0]
    first = re.search(r"([^\W\d_][^\s\d/;,]*)\s*[:=(]?\s*$", before)
    for text in (hit.measure.printed, after, first[1] if first else ""):
        if says_dc(text) != says_ac(text):
            return "dc" if says_dc(text) else "ac"
    return ""


def is_limit(hit: Hit) -> bool:
    """Whether a value is but an upper limit: "< 15 mΩ", "0.05 mΩ (max.)", and no least one stands beside it."""
    after = re.match(r"\s*[(,]?\s*([^\W\d_]+)", hit.after)
    return hit.measure.bound == "most" or bool(after and "most" in ideas(after[1]))


def says_dc(text: str) -> bool:
    """Whether a text speaks of direct current."""
    return bool(phrase("dc").search(text))


def says_ac(text: str) -> bool:
    """Whether a text speaks of alternating current."""
    return bool(phrase("ac").search(text))


def torque(rows: Sequence[Seen]) -> Answer | None:
    """Tightening torque; metric first, the other unit is the same figure again."""
    found: list[Said] = []
    for seen in rows:
        hits = [Hit(seen, m) for m in seen.of("torque")]
        metric = [h for h in hits if h.measure.unit == "N m"] or hits[:1]
        for hit in metric:
            if hit.measure.ranges:
                ends = (f"{hit.measure.low} {hit.measure.unit}", f"{hit.measure.high} {hit.measure.unit}")
                return Ask("a range is printed", tuple(seen.said(end) for end in ends))
            found.append(seen.said(f"{hit.measure.middle} {hit.measure.unit}"))
    return settle(found, "several torques are printed")


def bolts(rows: Sequence[Seen]) -> Answer | None:
    """Thread of a stud or terminal: a metric or an inch size; both are a question."""
    found = []
    for seen in rows:
        text = f"{seen.row.label} {seen.text}"
        found += [seen.said(f"M{m[1]}") for m in _STUD.finditer(text)]
        found += [seen.said(f"{m[1]} in") for m in _INCH_STUD.finditer(text)]
    return settle(found, "several bolts are named")


def lugs(rows: Sequence[Seen]) -> Answer | None:
    """Lugs that one post or terminal takes."""
    found = []
    for seen in rows:
        hit = phrase("lugs").search(plain(f"{seen.row.label} {seen.text}"))
        if hit and (count := number(hit[1])):
            found.append(seen.said(str(count)))
        elif not hit and "lugs" in seen.label and re.fullmatch(r"\s*[1-4]\s*", seen.text):
            found.append(seen.said(seen.text.strip()))
    return settle(found, "several are printed")


def mass(look: Look, none: Sequence[str] = ()) -> Answer | None:
    """Net mass; the mass of the parcel is not it."""
    hits = look.hits("mass", "mass", none=none) or look.hits("mass", "net", none=none)
    hits = [h for h in hits if "shipping" not in h.seen.label | h.seen.around | ideas(h.before) | ideas(_own_after(h))]
    hits = [h for h in hits if not _without(h)]
    metric = [h for h in hits if h.measure.unit in ("kg", "g") and not h.measure.bound] or hits
    first = [h for h in metric if h is next(o for o in metric if o.seen is h.seen and o.measure.unit == h.measure.unit)]
    answer = best(([h for h in first if "net" in h.seen.every], first), "several masses are printed")
    if isinstance(answer, Said):
        return Said(_in_kg(str(answer.value)), answer.spot)
    return answer and Ask(answer.why, tuple(Said(_in_kg(str(c.value)), c.spot) for c in answer.choices))


def _without(hit: Hit) -> bool:
    """Whether it is the mass of what is left out: "without bracket (6 kg)"."""
    return bool(re.search(r"\(\s*$", hit.before)) and "without" in ideas(hit.before[-40:])


def _own_after(hit: Hit) -> str:
    """What follows a value; of several, up to the mark where the next begins: "97 lb (shipping 106 lb)"."""
    again = any(m.dimension == hit.measure.dimension and m.start > hit.measure.end for m in hit.seen.measured)
    return re.split(r"[(,;/]", hit.after)[0] if again else hit.after


def _in_kg(text: str) -> str:
    """Grams as kilograms: the bank file writes no grams."""
    amount, _, unit = text.partition(" ")
    return f"{float(amount) / 1000:g} kg" if unit == "g" else text


def listing(look: Look, none: Sequence[str] = ("cell",)) -> Answer | None:
    """Standards that it is listed to; a list that holds for AC only is a question."""
    found: list[str] = []
    spots: list[Seen] = []
    only_ac, listed = False, False
    for seen in look.where("certificate"):
        text = f"{seen.row.label} {seen.text}" if seen.row.values else seen.text
        for clause in re.split(r"(?<=[^\W\d_]{2})[.;]\s+|(?<=\d)\.\s+(?=[A-ZÀ-Ý])|;\s*", text):
            clause = re.sub(r"\([^()]*\)", lambda m: "" if phrase("on_request").search(m[0]) else m[0], clause)
            standards = [" ".join(m[0].split()) for m in phrase("standard").finditer(clause)]
            standards = [] if phrase("on_request").search(clause) else list(dict.fromkeys(standards))
            if not standards or (set(none) & ideas(clause)) or (set(none) & (seen.label | seen.around)):
                continue
            found += [s for s in standards if s not in found]
            spots.append(seen)
            listed = listed or "listed" in seen.every
            only_ac = only_ac or (says_ac(clause) and not says_dc(clause))
    if not found:
        return None
    said = spots[0].said(found)
    if not listed:
        return Ask("standards are named; that it is listed to them is not said", (said,))
    return Ask("the listing is printed for the AC ratings", (said,)) if only_ac else said
