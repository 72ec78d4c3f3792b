"""`bankwright pack`: a bank with everything beside it as one file; the lines that show what a parcel holds."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE
from bankwright.forms.disk import bytes_text

if TYPE_CHECKING:
    from bankwright.job.parcel.belonging import Piece

__all__ = ["command", "lines_of"]


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.argument("parcel", type=click.Path(path_type=Path), required=False)
@click.option("--list", "only_list", is_flag=True, help="Show what would go into it, and how large it is.")
def command(bank_file: Path, parcel: Path | None, only_list: bool) -> None:
    """Pack a bank with all that belongs to it into one file.

    Bank file, included kinds, register map, shopping file, photos and
    logbook, ready to be sent; bankwright unpack opens it again. Without a
    name it is NAME.parcel.zip beside the bank file.
    Example: bankwright pack barn.toml /media/stick/barn.parcel.zip
    """
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.parcel.belonging import belonging
    from bankwright.job.parcel.pack import packed

    try:
        found = belonging(bank_file)
    except OSError as error:
        words = f"{bank_file} cannot be read: {error.strerror}"
        raise QuestionError((Fault("BANK_FILE", "no-file", words, "the name of a bank file"),)) from error
    click.echo("\n".join(lines_of(found.pieces, found.left_out)))
    if only_list:
        return
    target = parcel or bank_file.with_name(f"{bank_file.stem}.parcel.zip")
    packed(bank_file, target)
    click.echo(f"Written: {target}, {bytes_text(target.stat().st_size)}. Whoever has it can read all of this.")


def lines_of(rows: Sequence[Piece], left_out: tuple[str, ...]) -> list[str]:
    """What a parcel holds: name, what it is, size; the sum; what was left out."""
    wide = max((len(piece.name) for piece in rows), default=0)
    lines = [f"{piece.name:<{wide}}  {piece.what:<14}  {bytes_text(piece.size):>9}" for piece in rows]
    lines.append(f"{len(rows)} files, {bytes_text(sum(piece.size for piece in rows))} unpacked")
    return lines + [f"Left out: {why}" for why in left_out]
