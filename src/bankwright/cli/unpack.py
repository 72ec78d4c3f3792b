"""`bankwright unpack`: a parcel shown, and taken into a new folder when a person says so."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from bankwright.cli.pack import lines_of

__all__ = ["command"]


@click.command()
@click.argument("parcel", type=click.Path(path_type=Path))
@click.argument("folder", type=click.Path(path_type=Path), required=False)
@click.option("--take", is_flag=True, help="Take it without being asked.")
def command(parcel: Path, folder: Path | None, take: bool) -> None:
    """Show what a packed bank holds, and take it into a new folder.

    It may come from anybody: nothing leaves the folder, nothing is
    overwritten, and nothing is taken before it was shown.
    Example: bankwright unpack barn.parcel.zip barn-from-ann
    """
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.parcel.unpack import ParcelRefused, looked_into, taken_from

    target = folder or parcel.with_name(parcel.name.removesuffix(".zip").removesuffix(".parcel") or "bank")
    try:
        contents = looked_into(parcel)
        click.echo("\n".join(lines_of(contents.pieces, contents.left_out)))
        if not take and not _agreed(target):
            click.echo("Nothing was taken." + ("" if sys.stdin.isatty() else " --take takes it."))
            return
        bank = taken_from(parcel, target)
    except ParcelRefused as error:
        raise QuestionError((Fault("PARCEL", "refused", str(error)),)) from error
    click.echo(f"Taken into {target}. Next: bankwright plan {bank}")


def _agreed(target: Path) -> bool:
    return sys.stdin.isatty() and click.confirm(f"Take it into the new folder {target}?", default=False)
