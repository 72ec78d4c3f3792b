"""Anchors of the manual's headings: the code of a check in lower case where the heading names one, else its words."""

import re

_CODE = re.compile(r"\(([A-Z]+(?:-[A-Z]+)+(?:-\d+)?|[A-Z]+-\d+)\)")


def slug(title: str) -> str:
    """Give `p-cable-1` for "Plan 3.1 A conductor's ... (P-CABLE-1)", `reading-a-finding` for "Reading a finding"."""
    code = _CODE.search(title)
    if code:
        return code[1].lower()
    return re.sub(r"[^\w\- ]", "", title.strip().lower()).replace(" ", "-")
