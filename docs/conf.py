"""The manual: Markdown pages, built into HTML that opens and searches without internet. `make manual` builds it.

Links inside the manual are checked by the build (warnings are errors); links out of it are written by hand in README.
"""

import re
import sys
import tomllib
from pathlib import Path

from pygments.lexers.configs import TOMLLexer
from sphinx.application import Sphinx

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE / "_ext"))
project = "Bankwright"
version = release = tomllib.loads((HERE.parent / "pyproject.toml").read_text("utf-8"))["project"]["version"]
author = "Bankwright"
project_copyright = "the Bankwright authors, Apache-2.0"
language = "en"
extensions = ["myst_parser", "strict"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["schema/**", "pictures/**"]
myst_heading_anchors = 3
myst_heading_slug_func = "anchors.slug"
myst_enable_extensions = ["colon_fence", "deflist"]
suppress_warnings = ["myst.header", "toc.not_included"]
highlight_language = "none"  # an unnamed fence is what a terminal shows
pygments_style, pygments_dark_style = "bw", "github-dark"

html_theme = "furo"
html_title = f"Bankwright {version}"
html_static_path = ["_static"]
html_css_files = ["manual.css"]
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
html_use_index = False
html_show_search_summary = False  # it fetches pages, which a browser refuses to a file

# the papers of the house (src/bankwright/draw/pen/tokens.css)
_TEXT = '"Avenir Next", "Segoe UI", "Noto Sans", "Roboto", "DejaVu Sans", system-ui, sans-serif'
_MONO = 'ui-monospace, "Cascadia Mono", "Menlo", "DejaVu Sans Mono", monospace'


def _paper(desk: str, sheet: str, well: str, ink: str, soft: str, rule: str, marker: str) -> dict[str, str]:
    return {
        "font-stack": _TEXT,
        "font-stack--monospace": _MONO,
        "color-background-primary": sheet,
        "color-background-secondary": desk,
        "color-background-border": rule,
        "color-background-hover": well,
        "color-background-hover--transparent": f"{well}00",
        "color-foreground-primary": ink,
        "color-foreground-secondary": soft,
        "color-foreground-muted": soft,
        "color-foreground-border": rule,
        "color-brand-primary": ink,
        "color-brand-content": ink,
        "color-brand-visited": ink,
        "color-link": ink,
        "color-link--hover": ink,
        "color-link--visited": ink,
        "color-link--visited--hover": ink,
        "color-sidebar-link-text": ink,
        "color-sidebar-link-text--top-level": ink,
        "color-sidebar-item-background--current": marker,
        "color-sidebar-item-background--hover": well,
        "color-code-background": well,
        "color-code-foreground": ink,
        "color-inline-code-background": well,
        "color-highlight-on-target": marker,
        "color-highlighted-background": marker,
        "color-highlighted-text": ink,
        "color-table-header-background": well,
        "color-table-border": rule,
    }


html_theme_options = {
    "navigation_with_keys": False,
    "sidebar_hide_name": False,
    "light_css_variables": _paper("#e6eae5", "#fafbf8", "#eff2ed", "#14232b", "#48575e", "#bcc6c1", "#ffe27a"),
    "dark_css_variables": _paper("#182120", "#222c2a", "#2c3734", "#ebeee7", "#b7c2bc", "#44514c", "#6a5500"),
}


def _rest(_: Sphinx, name: str, source: list[str]) -> None:
    """In the list of contents, `{rest}` and `{how-to}` stand for every page of a folder that no other line names."""
    if name != "index":
        return
    named = set(re.findall(r"^([\w/-]+)$", source[0], re.MULTILINE)) | {"index"}
    for mark, folder in (("{rest}", ""), ("{how-to}", "how-to/")):
        pages = sorted(f"{folder}{path.stem}" for path in (HERE / folder).glob("*.md"))
        source[0] = source[0].replace(mark, "\n".join(page for page in pages if page not in named))


def setup(app: Sphinx) -> None:
    """Tell Sphinx."""
    app.connect("source-read", _rest)
    for name in ("toml-part", "toml-module"):  # parts of a bank file
        app.add_lexer(name, TOMLLexer)
