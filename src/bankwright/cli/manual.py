"""`bankwright manual`: the manual in a browser, without internet."""

from __future__ import annotations

import click

from bankwright.cli.common import browses

__all__ = ["command"]


@click.command()
@click.argument("words", nargs=-1, metavar="[WORD]")
@click.option("--browser/--no-browser", default=True, help="Open the browser of this machine; the address is printed.")
def command(words: tuple[str, ...], browser: bool) -> None:
    """Open the manual, at a check, a command or a word.

    It needs no internet. Examples: bankwright manual; bankwright manual
    P-CABLE-1; bankwright manual plan; bankwright manual torque
    """
    from bankwright.job.manual import NO_MANUAL, manual_folder, manual_page

    folder = manual_folder()
    if folder is None:
        raise click.ClickException(NO_MANUAL)
    page, mark, rest = manual_page(folder, " ".join(words)).partition("?")
    page, hash_, anchor = page.partition("#")
    address = f"{(folder / page).as_uri()}{mark}{rest}{hash_}{anchor}"
    click.echo(address)
    if browser and browses():
        import webbrowser

        webbrowser.open(address)
