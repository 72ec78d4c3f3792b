"""Letters as they are usually written: what a font or a viewer put in other code points.

Gives: usual().
Takes: text as it came out of a PDF or off a clipboard.
Limits: raised figures, units and signs stay as they are: they mean something here.
Sources: Unicode compatibility decomposition (UAX 15) of radicals, compatibility ideographs, ligatures, full width.
"""

from __future__ import annotations

import re
import unicodedata

__all__ = ["usual"]

_OTHER = re.compile("[\u2e80-\u2fdf\uf900-\ufaff\ufb00-\ufb06\uff01-\uff60\uffe0-\uffe6]")
_BLANKS = re.compile("[\u00ad\u200b\u200c\u200d\ufeff]")


def usual(text: str) -> str:
    """The same text: radicals as characters, full width as plain letters, ligatures as letters, soft hyphens gone."""
    return _BLANKS.sub("", _OTHER.sub(lambda found: unicodedata.normalize("NFKC", found[0]), text))
