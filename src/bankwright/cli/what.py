"""`bankwright what`: a word of the trade, as it is used here, in one or two sentences."""

from __future__ import annotations

import click

__all__ = ["command"]


@click.command()
@click.argument("word", nargs=-1)
def command(word: tuple[str, ...]) -> None:
    """Say what a word means. Without a word: list them all.

    Example: bankwright what let-through
    """
    from bankwright.cli.show.findings import wrap
    from bankwright.job.asking import meaning, near, words

    said = " ".join(word)
    if not said:
        click.echo(wrap(", ".join(each.word for each in words()) + "."))
        return
    found = meaning(said)
    if found is None:
        raise click.BadParameter(f"{said} does not stand in the list. {near(said)}", param_hint="WORD")
    click.echo(wrap(f"{found.word}: {found.text}"))
    if found.see:
        click.echo(wrap(f"See also: {', '.join(found.see)}."))
