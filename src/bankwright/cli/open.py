"""`bankwright open`: the page of one bank, on this machine alone or, asked for, on the network.

Gives: command. Stops on Ctrl-C or a signal, also with open pages.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import click

from bankwright.cli.common import BANK_FILE, browses, may_write

__all__ = ["command"]


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--port", type=click.IntRange(0, 65535), help="Port; otherwise the next free one from 8347 up.")
@click.option("--share", is_flag=True, help="Let devices on this network in, each with a one-time code.")
@click.option("--browser/--no-browser", default=True, help="Open the browser of this machine.")
def command(bank_file: Path, port: int | None, share: bool, browser: bool) -> None:
    """Open the page of a bank in a browser, on this machine or beside the rack.

    A file that is not there yet is begun on the page, by a short dialogue.
    Example: bankwright open barn.toml --share
    """
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.web.serve import serve

    if bank_file.is_dir() or not bank_file.absolute().parent.is_dir():
        found = f"{bank_file} is a folder" if bank_file.is_dir() else f"there is no folder {bank_file.parent}"
        raise QuestionError((Fault("BANK_FILE", "no-file", found, "the name of a bank file, such as barn.toml"),))
    if not bank_file.exists():
        may_write({"BANK_FILE": bank_file})
    try:
        serve(bank_file.absolute(), port, share, _Say(browser))
    except KeyboardInterrupt:  # the ordinary way to stop
        click.echo("Stopped.")


class _Say:
    """Prints lines; the address in the first one is opened in a browser, once."""

    def __init__(self, browser: bool) -> None:
        self.browser = browser

    def __call__(self, line: str) -> None:
        click.echo(line)
        sys.stdout.flush()
        address = re.search(r"http://127[.]0[.]0[.]1:[0-9]+/", line)
        if self.browser and address and browses():
            import threading
            import webbrowser

            self.browser = False
            threading.Timer(0.7, webbrowser.open, (address[0],)).start()
