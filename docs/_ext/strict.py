"""Moves scripts and styles that a theme writes into each page into files of their own, once the manual is built.

The pages of a bank are served under a policy that lets no inline script or style through; the manual comes from the
same server and keeps to it.
"""

import re
from pathlib import Path

from sphinx.application import Sphinx

_SCRIPT = re.compile(r"<script>(.*?)</script>", re.DOTALL)
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
_ATTRIBUTE = re.compile(r'(<[^<>]*?) style="([^"]*)"')


def without_inline(app: Sphinx, error: Exception | None) -> None:
    """Rewrite each page; scripts and styles of the theme are alike on all, so the first found is kept as the file."""
    if error is not None or app.builder.name != "html":
        return
    out = Path(app.outdir)
    styles: dict[str, str] = {}

    def numbered(found: re.Match[str]) -> str:
        return f'{found[1]} data-s="{styles.setdefault(found[2], str(len(styles)))}"'

    for page in out.rglob("*.html"):
        up = "../" * (len(page.relative_to(out).parts) - 1)
        text = page.read_text("utf-8")
        for pattern, name in ((_SCRIPT, "theme-first.js"), (_STYLE, "theme-colours.css")):
            for found in pattern.finditer(text):
                (out / "_static" / name).write_text(found[1], "utf-8")
        text = _SCRIPT.sub(f'<script src="{up}_static/theme-first.js"></script>', text)
        text = _STYLE.sub(f'<link rel="stylesheet" href="{up}_static/theme-colours.css">', text)
        page.write_text(_ATTRIBUTE.sub(numbered, text), "utf-8")
    rules = "".join(f'[data-s="{number}"] {{ {style} }}\n' for style, number in styles.items())
    with (out / "_static" / "theme-colours.css").open("a", encoding="utf-8") as file:
        file.write(rules)
    for spare in [*out.rglob("*.map"), out / "objects.inv", out / ".buildinfo"]:
        spare.unlink(missing_ok=True)


def setup(app: Sphinx) -> dict[str, bool]:
    """Tell Sphinx."""
    app.connect("build-finished", without_inline)
    return {"parallel_read_safe": True}
