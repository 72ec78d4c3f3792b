"""What kind of text stands in a cell: a value, a name of a model, or words.

Gives: CHAPTER, is_model_label(), is_unit(), is_value(), looks_like_models(), looks_like_poles(), models_in(),
HEAD_WORDS.
Takes: text.
Limits: a guess from the shape of the text; the caller knows its neighbours.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from bankwright.sheets.concepts import ideas
from bankwright.sheets.measures import Marks, measures

__all__ = [
    "CHAPTER",
    "HEAD_WORDS",
    "is_model_label",
    "is_unit",
    "is_value",
    "looks_like_models",
    "looks_like_poles",
    "models_in",
]

_STARTS = re.compile(
    r"^\s*(?:[≤≥<>±~≈+−–-]\s*)?(?:\(?\d|[—–-]\s*$|n/?a\b|yes\b|no\b|ja\b|nein\b|oui\b|non\b|s[ií]\b|max\.?\s*\d|min\.?\s*\d)",
    re.IGNORECASE,
)
_OTHER_NAME = re.compile(
    r"^(?:(?:UL|IEC|EN|DIN|UN|VDE|CSA|ISO|GB|GB/T|RS|USB|NEMA|AWG|LFP|LiFePO|RJ|SOC|SOH)[- ]?\d"
    r"|IP[- ]?\d\d|[MCLN] ?\d{1,2}$)",
    re.IGNORECASE,
)
_MODEL_LABEL = re.compile(
    r"^\W*(?:models?|modell[eo]?|modèles?|modelos?|type|typ|tipo|types|typen|referenc\w*|référence|referencia|riferimento"
    r"|catalogue n\w*|part n\w*|article|artikel\w*|bestellnummer|version|variante?"
    r"|ausführung|wersja|型号|产品型号)\W*$",
    re.IGNORECASE,
)
CHAPTER = re.compile(r"^\d{1,2}(?:\.\d{1,2})*\.\s+(?=[^\W\d_]{4})")  # the number of a heading: "2. Discharge"
_POLES = re.compile(r"^\d\s?-?(?:P|poles?|polig|pôles?|polos?|poli|pol|biegun\w*|极)(?:\s?\+\s?N)?$", re.IGNORECASE)
_MODEL = re.compile(r"^(?=.*\d)[A-Z][A-Za-z]{0,7}[- /]?[A-Z0-9][A-Za-z0-9\-/.+ ]{0,14}$")


HEAD_WORDS = re.compile(
    r"^\W*(?:min|typ|max|nom|unit|value|condition|remark|note|parameter|item|symbol|einheit|wert|bedingung|bemerkung|größe"
    r"|unit[éàa]|valeur|désignation|caractéristique|valor|unidad|unidade|magnitud|característica|valore|grandezza|eenheid"
    r"|waarde|grootheid|项目|参数|单位|数值|备注)(?:[a-zé]*)\W*$",
    re.IGNORECASE,
)


def is_value(text: str) -> bool:
    """Whether a cell holds what was measured or decided, and no label."""
    if CHAPTER.match(text):
        return False
    if _STARTS.match(text):
        return True
    found = [m for m in measures(text, Marks()) if m.dimension != "count"]
    return bool(found) and not re.search(r"[^\W\d_]", text[: found[0].start])


def is_unit(text: str) -> bool:
    """Whether a cell is a unit and nothing else."""
    named = measures(f"1 {text}", Marks())
    return (
        len(text) <= 8
        and not re.search(r"\d", text.replace("²", ""))
        and named[0].dimension != "count"
        and len(named) == 1
    )


def is_model_label(text: str) -> bool:
    """Whether a heading says that names of models stand beside it: "Model", "Type", "Référence"."""
    return bool(_MODEL_LABEL.match(text))


def looks_like_models(texts: Sequence[str]) -> bool:
    """Whether texts are names of models of one range: capital letters with figures, alike at the beginning."""
    names = [text.strip() for text in texts]
    if len(names) < 2 or len(set(names)) < len(names):
        return False
    if all(looks_like_poles(name) for name in names):
        return True
    if any(is_value(name) or _has_unit(name) or _OTHER_NAME.match(name) for name in names):
        return False
    if not all(_MODEL.match(name) for name in names):
        return False
    alike = next((n for n, letters in enumerate(zip(*names, strict=False)) if len(set(letters)) > 1), 0)
    return alike >= 2 or (alike >= 1 and len({len(name) for name in names}) == 1)


def looks_like_poles(text: str) -> bool:
    """Whether a model is named by its number of poles: 1P, 2-polig."""
    return bool(_POLES.match(text.strip()))


def _are_quantities(names: Sequence[str]) -> bool:
    """Whether headings are of quantities: units, or words that a sheet uses of them."""
    known = sum(bool(ideas(name)) for name in names)
    return 2 * known > len(names) or any(_has_unit(name) or "(" in name or "[" in name for name in names)


def _has_unit(text: str) -> bool:
    """Whether a measured value with its unit stands in a text: "DC 80 V" is a rating and names no model."""
    return any(m.dimension != "count" for m in measures(text, Marks()))


def models_in(texts: Sequence[str]) -> tuple[str, ...]:
    """The names of models in a line of headings, but for the headings of labels, units and remarks; empty for none."""
    if texts and _MODEL_LABEL.match(texts[0]):
        named = tuple(text for text in texts[1:] if not HEAD_WORDS.search(text) and len(text) < 26)
        if len(set(named)) == len(named) >= 2 and not _are_quantities(named):
            return named
    names = [text for text in texts if text and not HEAD_WORDS.search(text)]
    for some in (names, names[1:]):
        if looks_like_models(some):
            return tuple(some)
    return ()
