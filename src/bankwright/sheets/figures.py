"""Numbers and units that running text writes as words, as figures: "sixteen cells", "ten seconds", "46 kilos".

Gives: figures().
Takes: a text in English, German, French, Spanish, Italian, Dutch, Polish or Portuguese.
Limits: numbers from two to a hundred, and one before a unit; a word of two languages (once, due, neuf) counts only
before a unit or before what is counted on a data sheet. A bare "degrees" may be of either scale and stays.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, lru_cache

__all__ = ["figures"]

SURE = 12  # from here on a number word is taken for one wherever it stands
_ONES = {
    "en": "one two three four five six seven eight nine",
    "de": "ein zwei drei vier fünf sechs sieben acht neun",
    "fr": "un deux trois quatre cinq six sept huit neuf",
    "es": "uno dos tres cuatro cinco seis siete ocho nueve",
    "it": "uno due tre quattro cinque sei sette otto nove",
    "nl": "een twee drie vier vijf zes zeven acht negen",
    "pl": "jeden dwa trzy cztery pięć sześć siedem osiem dziewięć",
    "pt": "um dois três quatro cinco seis sete oito nove",
}
_TEENS = {
    "en": "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen",
    "de": "zehn elf zwölf dreizehn vierzehn fünfzehn sechzehn siebzehn achtzehn neunzehn",
    "fr": "dix onze douze treize quatorze quinze seize dix-sept dix-huit dix-neuf",
    "es": "diez once doce trece catorce quince dieciséis diecisiete dieciocho diecinueve",
    "it": "dieci undici dodici tredici quattordici quindici sedici diciassette diciotto diciannove",
    "nl": "tien elf twaalf dertien veertien vijftien zestien zeventien achttien negentien",
    "pl": "dziesięć jedenaście dwanaście trzynaście czternaście piętnaście szesnaście siedemnaście osiemnaście"
    " dziewiętnaście",
    "pt": "dez onze doze treze catorze quinze dezasseis dezassete dezoito dezanove",
}
_TENS = {  # from twenty on, and a hundred
    "en": "twenty thirty forty fifty sixty seventy eighty ninety hundred",
    "de": "zwanzig dreißig vierzig fünfzig sechzig siebzig achtzig neunzig hundert",
    "fr": "vingt trente quarante cinquante soixante soixante-dix quatre-vingt quatre-vingt-dix cent",
    "es": "veinte treinta cuarenta cincuenta sesenta setenta ochenta noventa cien",
    "it": "venti trenta quaranta cinquanta sessanta settanta ottanta novanta cento",
    "nl": "twintig dertig veertig vijftig zestig zeventig tachtig negentig honderd",
    "pl": "dwadzieścia trzydzieści czterdzieści pięćdziesiąt sześćdziesiąt siedemdziesiąt osiemdziesiąt"
    " dziewięćdziesiąt sto",
    "pt": "vinte trinta quarenta cinquenta sessenta setenta oitenta noventa cem",
}
_OTHER = {
    "eine": 1, "einen": 1, "einer": 1, "a": 1, "an": 1, "une": 1, "una": 1, "één": 1, "uma": 1, "jedną": 1, "jedna": 1,
    "un": 1, "dwie": 2, "dwóch": 2, "duas": 2, "trzech": 3, "czterech": 4, "pięciu": 5, "sześciu": 6, "siedmiu": 7,
    "ośmiu": 8, "dziewięciu": 9, "dziesięciu": 10, "dwunastu": 12, "piętnastu": 15, "szesnastu": 16, "dwudziestu": 20,
    "trzydziestu": 30, "czterdziestu": 40, "pięćdziesięciu": 50, "sześćdziesięciu": 60,
    "dezesseis": 16, "dezessete": 17, "dezenove": 19, "quatre-vingts": 80, "einhundert": 100, "quatorze": 14,
    "one hundred": 100, "a hundred": 100, "veintiún": 21, "dieciseis": 16, "fünfzehnte": 15,
}  # fmt: skip
_UNITS = (
    ("°F", r"(?:degrees?|grad|degrés|grados|gradi|graden|graus) fahrenheit"),
    (
        "°C",
        r"degrees? (?:celsius|centigrade|C\b)|grad celsius|degrés? celsius"
        r"|grad(?:os?|i) (?:celsius|centígrados|centigradi)|graden celsius|stopni\w* celsjusza|graus? celsius"
        r"|grad\b|degrés\b|grados\b|gradi\b|graden\b|stopni\b|graus\b",
    ),
    (
        "kWh",
        r"kilo-?watt[ -]?(?:hours?|stunden?|uur)|kilowatts?[- ]?heures?|kilovatios?[- ]hora|chilowattora"
        r"|kilowatogodzin\w*|kilowattogodzin\w*|quilowatts?[- ]?horas?",
    ),
    (
        "Ah",
        r"amp(?:[eè]re)?s?[ -]?(?:hours?|stunden?|heures?|uur|uren)|amperios?[- ]hora|ampe?rora|amperogodzin\w*"
        r"|amp[eè]res?[- ]horas?",
    ),
    ("kW", r"kilo-?watts?|kilovatios?|chilowatt|kilowat\w+|quilowatts?"),
    ("W", r"watts?|vatios?|wat(?:y|ów)"),
    ("mΩ", r"milli-?ohms?|mili-?oh?m\w*"),
    ("mV", r"milli-?volts?|mili(?:v|w)olt\w*"),
    ("V", r"volts?|voltios?|wolt\w*"),
    ("kA", r"kilo-?amp(?:[eè]re)?s?|kilo-?amper\w*|quiloamp[eè]res?"),
    ("A", r"amps?|amp[eè]res?|amperios?|amper(?:y|ów|a)?"),
    ("kg", r"kilo-?gramm?(?:es|s|i|ów|as?)?|kilos?|chilogramm[io]|chili|quilos?|quilogramas?"),
    ("ms", r"milli-?(?:seconds?|sekunden?|secondes?|second[io]|seconden)|mili-?(?:segundos?|sekund\w*)|milissegundos?"),
    ("s", r"seconds?|sekunden?|secondes?|segundos?|second[io]|seconden|sekund[yę]?"),
    ("min", r"minutes?|minuten?|minutos?|minut[oiyę]?|minuut"),
    ("h", r"hours?|stunden?|heures?|horas?|or[ae]\b|uur|uren|godzin[yę]?"),
    ("mm", r"mill?i-?met\w+|milím\w+"),
    ("cm", r"centim\w+|zentim\w+|centym\w+|centím\w+"),
    ("N m", r"newton[ -]?m[eé]t\w+|newton[ -]?metr\w*|newtons?[ -]m[eè]tres?"),
    ("kHz", r"kilo-?hert[zc]\w*|quilohertz"),
    ("Hz", r"hert[zc]\w*"),
    ("%", r"per ?cent\b|prozent|pour ?cent|por ciento|per ?cento|procent\w*|por cento"),
)
_SYMBOL = re.compile(r"(?:k?Wh|Ah|k?W|k?VA|m?V|[mk]?A|m?Ω|kg|ms|s|min|h|mm|cm|m|N ?m|°C|%)(?![^\W\d_])")
_COUNTED = re.compile(
    r"(?:[\w-]+\s+){0,4}?(?:[\w-]*(?:zellen|modul)\w*|cells?\b|modules?\b|packs?\b|batter|batteri|akku|poles?\b|polig\b|pole[nr]?\b|studs?\b"
    r"|bolts?\b|lugs?\b|posts?\b|switch|celdas?|cellules?|celle|cellen|ogniw|células?|éléments?|elementos?|módulos?|moduł"
    r"|pôles?|polos?|poli\b|bieg|bornes?|goujons?|cosses?|bolzen|kabelschuh|terminales|kabelschoen|capicorda)",
    re.IGNORECASE,
)
_MINUS = re.compile(r"(?<![\w])(?<!au )(?<!al )(?<!ou )(?<! o )(?:minus|moins|menos|meno)\s+(?=\d)", re.IGNORECASE)
_PER = re.compile(r"(?:pour|per|por|a)\s+$", re.IGNORECASE)  # pour cent, per cento
_GIVE_OR_TAKE = re.compile(
    r"(?:give or take|plus or minus|plus[ /-]minus|plus ou moins|más o menos"
    r"|più o meno|mais ou menos|plus of min)\s+(?=\d)",
    re.IGNORECASE,
)
_EITHER = re.compile(
    r",?\s+(?:to )?within\s+(\d[\d.,]*\s*\S{1,3})\s+(?:either way|up or down|both ways)", re.IGNORECASE
)
_BOTH = re.compile(
    r"(?:between|zwischen|entre|tra|fra|tussen|między|pomiędzy)\s+([+−-]?\d[\d.,]*\s*\S{0,3}?)\s+"
    r"(?:and|und|et|y|e|en|a|i)\s+(?=[+−-]?\d)",
    re.IGNORECASE,
)


@cache
def _numbers() -> dict[str, int]:
    """Every number word with its number."""
    found: dict[str, int] = {}
    for tongue, words in _ONES.items():
        ones, tens = words.split(), _TENS[tongue].split()
        found |= {word: n for n, word in enumerate(ones, 1)} | {w: n for n, w in enumerate(_TEENS[tongue].split(), 10)}
        found |= {word: 10 * n for n, word in enumerate(tens, 2)}
        for ten, word in enumerate(tens[:-1], 2):
            found |= {made: 10 * ten + n for n, one in enumerate(ones, 1) for made in _two(tongue, word, one)}
    teens = _TEENS["fr"].split()
    found |= {f"soixante-{word}": 60 + n for n, word in enumerate(teens, 10)}
    found |= {f"quatre-vingt-{word}": 80 + n for n, word in enumerate(teens, 10)}
    return found | {"soixante et onze": 71} | _OTHER


def _two(tongue: str, ten: str, one: str) -> Iterator[str]:
    """A number of tens and ones, as its language puts them together."""
    joins = {"en": ("-", " "), "fr": ("-", " et ", "-et-"), "es": (" y ",), "pl": (" ",), "pt": (" e ",)}
    yield from (f"{ten}{join}{one}" for join in joins.get(tongue, ()))
    if tongue in ("de", "nl"):
        yield f"{one}{'und' if tongue == 'de' else 'ën' if one in ('twee', 'drie') else 'en'}{ten}"
    elif tongue == "it":
        yield f"{ten[:-1] if one[0] in 'uo' else ten}{one}"
    elif tongue == "es" and ten == "veinte":
        yield f"veinti{one}"


@cache
def _patterns() -> tuple[re.Pattern[str], tuple[tuple[str, re.Pattern[str]], ...]]:
    words = "|".join(re.escape(word) for word in sorted(_numbers(), key=len, reverse=True))
    units = tuple((symbol, re.compile(rf"(?:{names})(?![^\W\d_])", re.IGNORECASE)) for symbol, names in _UNITS)
    return re.compile(rf"(?<![\w-])(?:{words})(?![\w-])", re.IGNORECASE), units


@lru_cache(maxsize=1024)
def figures(text: str) -> str:
    """The same text with figures and symbols for its number and unit words, and ranges with "to"."""
    words, units = _patterns()
    made = words.sub(lambda found: _figure(found, text, units), text)
    for symbol, names in units:
        made = re.sub(rf"(\d)[\s-]*{names.pattern}", rf"\1 {symbol}", made, flags=re.IGNORECASE)
    made = _GIVE_OR_TAKE.sub("± ", _EITHER.sub(r" ± \1", made))
    return _BOTH.sub(r"\1 to ", _MINUS.sub("-", made))


def _figure(found: re.Match[str], text: str, units: tuple[tuple[str, re.Pattern[str]], ...]) -> str:
    """The figure of a number word; the word itself where it may be another one."""
    n = _numbers()[found[0].lower()]
    rest = re.sub(r"^[\s-]+", "", text[found.end() :])
    united = bool(_SYMBOL.match(rest)) or any(names.match(rest) for _, names in units)
    until = re.match(r"(?:to|bis|à|a|tot|do|até|and|und|et|y|e|en|i|or|oder|ou|o)\s+(\S+)", rest)
    ranged = bool(until and (_numbers().get(until[1].lower(), 0) > 1 or until[1][0].isdigit()))
    if found[0].lower() in ("a", "an", "un", "e") and not re.match(r"second|minute|hour|seconde|heure|segundo", rest):
        return found[0]
    if (n == 1 and not united) or (n == 100 and _PER.search(text[: found.start()])):
        return found[0]
    return str(n) if united or n >= SURE or _COUNTED.match(rest) or (ranged and n > 1) else found[0]
