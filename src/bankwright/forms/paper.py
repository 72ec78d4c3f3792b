"""A printable page: one HTML file without script, styles inside, nothing fetched.

Gives: page(), table(), paragraph(), heading(), listed(), escaped(). For the print views that stages hand out.
Limits: the local page has its own templates (web/); the handover document is in report/.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

__all__ = ["escaped", "heading", "listed", "page", "paragraph", "table"]

_STYLE = """
@page { margin: 14mm }
body { font: 11pt/1.4 "Avenir Next", "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif; color: #14232b;
       max-width: 190mm; margin: 8mm auto; font-variant-numeric: tabular-nums }
h1 { font-size: 18pt; border-bottom: 2px solid #14232b; margin: 0 0 4mm }
h2 { font-size: 13pt; margin: 7mm 0 2mm; break-after: avoid }
h3 { font-size: 11pt; margin: 5mm 0 1mm; break-after: avoid }
table { border-collapse: collapse; width: 100% }
th { text-align: left; border-bottom: 2px solid #66757a }
td, th { padding: 1mm 2mm 1mm 0; vertical-align: top }
td { border-bottom: 1px solid #bcc6c1 }
.number { text-align: right; white-space: nowrap; width: 16mm }
.note { color: #48575e; font-size: 9.5pt }
.caution { border: 2px solid #14232b; border-left-width: 8px; padding: 1.5mm 3mm; margin: 2mm 0; break-inside: avoid }
.step { break-inside: avoid; border-top: 1px solid #66757a; padding-top: 2mm; margin-top: 4mm }
.boxes { list-style: none; padding-left: 6mm }
.box { display: inline-block; width: 4mm; height: 4mm; border: 1.5px solid #14232b; margin-right: 2mm;
       vertical-align: -0.6mm }
@media screen and (max-width: 210mm) { body { margin: 4mm } }
@media screen and (max-width: 150mm) { table { display: block; overflow-x: auto } .number { width: auto }
  td:not(.number) { min-width: 22mm } ul { padding-left: 6mm } }
@media print { body { margin: 0; color: #000 } }
"""


def escaped(text: str) -> str:
    """Text that means nothing to HTML."""
    return escape(text, quote=True)


def heading(text: str, level: int = 2) -> str:
    """A heading."""
    return f"<h{level}>{escaped(text)}</h{level}>"


def paragraph(text: str, sort: str = "") -> str:
    """A paragraph; `sort` is a class of the style: note, caution."""
    return f'<p class="{escaped(sort)}">{escaped(text)}</p>' if sort else f"<p>{escaped(text)}</p>"


def listed(items: Iterable[str], boxes: bool = False) -> str:
    """A list, with boxes to tick where asked; empty for nothing."""
    mark = '<span class="box"></span>' if boxes else ""
    rows = "".join(f"<li>{mark}{escaped(item)}</li>" for item in items)
    sort = ' class="boxes"' if boxes else ""
    return f"<ul{sort}>{rows}</ul>" if rows else ""


def table(head: Sequence[str], rows: Iterable[Sequence[str]], numbers: Sequence[int] = ()) -> str:
    """A table; `numbers` are the columns that are set to the right."""

    def cells(row: Sequence[str], tag: str) -> str:
        marks = [' class="number"' if n in numbers else "" for n in range(len(row))]
        return "".join(f"<{tag}{mark}>{escaped(text)}</{tag}>" for text, mark in zip(row, marks, strict=True))

    body = "".join(f"<tr>{cells(row, 'td')}</tr>\n" for row in rows)
    return f"<table>\n<thead><tr>{cells(head, 'th')}</tr></thead>\n<tbody>\n{body}</tbody>\n</table>"


def page(title: str, body: Iterable[str], language: str = "en") -> str:
    """A whole document."""
    parts = "\n".join(body)
    return (
        f'<!doctype html>\n<html lang="{language}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>{escaped(title)}</title>\n'
        f"<style>{_STYLE}</style>\n</head>\n<body>\n{heading(title, 1)}\n{parts}\n</body>\n</html>\n"
    )
