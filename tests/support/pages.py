"""A manual of a few lines, as the built one is laid out, for tests that need none of its text."""

from pathlib import Path

__all__ = ["small_manual"]


def small_manual(folder: Path) -> Path:
    """Write it; the folder."""
    for name in ("index", "plan", "checks", "search", "how-to/install"):
        path = folder / f"{name}.html"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"<!doctype html><title>{name}</title><p>{name}</p>", "utf-8")
    (folder / "commands.html").write_text(
        '<section id="bankwright-log-add"><h2>bankwright log add</h2></section>', "utf-8"
    )
    (folder / "_static").mkdir()
    (folder / "_static" / "manual.css").write_text("p { margin: 0 }", "utf-8")
    (folder / "secret.txt").write_text("no page of the manual", "utf-8")
    return folder
