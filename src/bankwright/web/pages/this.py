"""This bank: a copy of its file, all of it as one file to send, another bank opened, units.

Gives: router().
Limits: another bank is opened on the machine itself alone, not by devices of the network; a parcel from elsewhere is
shown before it is taken, and is taken into a new folder beside this one.
"""

from __future__ import annotations

import re
import secrets
import shutil
import tempfile
import tomllib
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, File, Form, UploadFile
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.background import BackgroundTask
from starlette.exceptions import HTTPException

from bankwright.forms.faults import QuestionError
from bankwright.job.parcel.belonging import Belonging, belonging
from bankwright.job.parcel.pack import packed
from bankwright.job.parcel.unpack import Contents, ParcelRefused, looked_into, taken_from
from bankwright.web.desk import Desk, changed
from bankwright.web.paper import page
from bankwright.web.shell import shell

__all__ = ["router"]

Digest = Annotated[str, Form(max_length=64)]
HELD = 3  # parcels that were shown and not taken yet
MOST_OTHERS = 40
_FOLDER = re.compile(r"[\w][\w .+-]{0,60}")


@dataclass(frozen=True, slots=True)
class Shown:
    """A parcel that was sent to the page and is shown: where it waits, what it holds."""

    path: Path
    contents: Contents


def router(desk: Desk, turn: Callable[[Path], None] | None) -> APIRouter:
    """Routes of this bank; `turn` opens another one, None where devices of a network are let in."""
    routes = APIRouter(include_in_schema=False)
    waiting: OrderedDict[str, Shown] = OrderedDict()

    @routes.get("/this")
    def this() -> HTMLResponse:
        return _page(desk, turn)

    @routes.get("/this/file")
    def file() -> Response:
        if not desk.path.is_file():
            raise HTTPException(404)
        return FileResponse(desk.path, media_type="application/toml", filename=desk.path.name)

    @routes.get("/this/parcel")
    def parcel() -> Response:
        aside = Path(tempfile.mkdtemp(prefix="bankwright-"))
        target = aside / f"{desk.path.stem}.parcel.zip"
        try:
            packed(desk.path, target)
        except BaseException:
            shutil.rmtree(aside, ignore_errors=True)
            raise
        gone = BackgroundTask(shutil.rmtree, aside, ignore_errors=True)
        return FileResponse(target, media_type="application/zip", filename=target.name, background=gone)

    @routes.post("/this/units")
    def units(
        digest: Annotated[str, Form(max_length=64)], to: Annotated[str, Form(pattern="^(metric|us)$")]
    ) -> Response:
        edited = desk.edit(changed("units", to), digest)
        if edited.faults:
            raise QuestionError(edited.faults)
        return RedirectResponse("/this", 303)

    _opening(routes, desk, turn, waiting)
    _taking(routes, desk, turn, waiting)
    return routes


def _opening(
    routes: APIRouter, desk: Desk, turn: Callable[[Path], None] | None, waiting: OrderedDict[str, Shown]
) -> None:
    """Routes that bring another bank."""

    @routes.post("/this/open")
    def open_sent(parcel: Annotated[UploadFile, File()]) -> HTMLResponse:
        aside = Path(tempfile.mkdtemp(prefix="bankwright-"))
        target = aside / "sent.zip"
        with target.open("wb") as out:
            shutil.copyfileobj(parcel.file, out)
        try:
            contents = looked_into(target)
        except ParcelRefused as error:
            shutil.rmtree(aside, ignore_errors=True)
            return _page(desk, turn, refused=f"Not opened: {error}.")
        token = secrets.token_hex(16)
        waiting[token] = Shown(target, contents)
        while len(waiting) > HELD:
            _, old = waiting.popitem(last=False)
            shutil.rmtree(old.path.parent, ignore_errors=True)
        return _page(desk, turn, token=token, contents=contents)


def _taking(
    routes: APIRouter, desk: Desk, turn: Callable[[Path], None] | None, waiting: OrderedDict[str, Shown]
) -> None:
    """Routes that take what was looked into, or turn to a bank that is there."""

    @routes.post("/this/take")
    def take(token: Annotated[str, Form(max_length=64)], folder: Annotated[str, Form(max_length=80)] = "") -> Response:
        shown = waiting.get(token)
        if shown is None:
            return _page(desk, turn, refused="That parcel is not held any more; choose the file again.")
        if not _FOLDER.fullmatch(folder) or folder != folder.strip(" ."):
            words = "A folder is named with letters, figures, blanks, dots and dashes."
            return _page(desk, turn, refused=words, token=token, contents=shown.contents)
        try:
            bank = taken_from(shown.path, desk.path.parent / folder)
        except ParcelRefused as error:
            return _page(desk, turn, refused=f"Not taken: {error}.", token=token, contents=shown.contents)
        del waiting[token]
        shutil.rmtree(shown.path.parent, ignore_errors=True)
        if turn is None:
            words = f"Taken into {folder}. On the machine of the page: bankwright open {folder}/{bank.name}"
            return _page(desk, turn, said=words)
        turn(bank)
        return RedirectResponse("/plan", 303)

    @routes.post("/this/turn")
    def turned(name: Annotated[str, Form(max_length=200)]) -> Response:
        if turn is None or name not in _others(desk):
            raise HTTPException(404)
        turn(desk.path.parent / name)
        return RedirectResponse("/plan", 303)


def _others(desk: Desk) -> tuple[str, ...]:
    """Other bank files in the folder of this one and in the folders beside it, by name."""
    folder, found = desk.path.parent, []
    for path in sorted((*folder.glob("*.toml"), *folder.glob("*/*.toml")))[: 10 * MOST_OTHERS]:
        if path != desk.path and path.is_file() and _is_bank(path):
            found.append(path.relative_to(folder).as_posix())
    return tuple(found[:MOST_OTHERS])


def _is_bank(path: Path) -> bool:
    try:
        data = tomllib.loads(path.read_text("utf-8-sig")) if path.stat().st_size < (1 << 20) else {}
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(data.get("modules"), list)


def _page(desk: Desk, turn: Callable[[Path], None] | None, **more: Any) -> HTMLResponse:
    try:
        found = belonging(desk.path)
    except OSError:
        found = Belonging((), ())
    values = {"belongs": found, "others": _others(desk) if turn else (), "alone": turn is not None}
    told = {"refused": "", "said": "", "token": "", "contents": None, **more}
    return page("this.html", **shell(desk, desk.look(), "", **values, **told))
