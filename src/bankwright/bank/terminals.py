"""Whose terminal a joint is on, and where in the file its data belong.

Gives: Terminal, terminal_of(), stud_missing(), lugs_missing(). Torque, stud and number of lugs come from the kind
of the post's owner: module, device, inverter, charger, bar. A junction without a bar has none of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Joint
from bankwright.forms.finding import Missing

__all__ = ["Terminal", "lugs_missing", "stud_missing", "terminal_of"]


@dataclass(frozen=True, slots=True)
class Terminal:
    """A terminal's owner, the words for its kind, and the table of the file that holds its data."""

    owner: str
    kind: str  # "module M100", "bar bar+"
    path: str  # "kinds.module.M100.posts"; empty for a junction and for a bar that is not listed


def terminal_of(bank: Bank, joint: Joint) -> Terminal:
    """Find the terminal of a joint."""
    if joint.device is not None:
        device = next(d for d in bank.devices if d.name == joint.device)
        return Terminal(device.name, f"{device.kind.type} {device.kind.name}", f"{device.kind.path}.terminals")
    post = next(p for p in bank.posts if p.name == joint.post)
    if post.owner_kind == "junction":
        return Terminal(post.owner, f"junction {post.owner}", "")
    for module in bank.modules:
        if module.name == post.owner:
            return Terminal(post.owner, f"module {module.kind.name}", f"{module.kind.path}.posts")
    kinds = {i.name: ("inverter", i.kind.name, i.kind.path) for i in bank.inverters}
    kinds |= {c.name: ("charger", c.kind.name, c.kind.path) for c in bank.chargers}
    if post.owner in kinds:
        word, name, path = kinds[post.owner]
        return Terminal(post.owner, f"{word} {name}", f"{path}.terminals")
    if post.owner_kind == "load":
        return Terminal(post.owner, f"load {post.owner}", f"{post.origin.path}.terminals")
    listed = post.owner_kind != "bar" or post.origin.path.startswith("bars")  # a bar that the pattern adds is not
    return Terminal(post.owner, f"{post.owner_kind} {post.owner}", post.origin.path if listed else "")


def _junction(terminal: Terminal) -> Missing:
    if terminal.kind.startswith("bar "):
        how = f"List {terminal.owner} under [[bars]], with its stud, torque and lugs_per_stud."
        return asking("bars", how)
    how = f"Say what joins the cables at {terminal.owner}: list a bar under [[bars]], with its stud and torque."
    return asking("bars", how)


def stud_missing(bank: Bank, joint: Joint) -> Missing:
    """How to learn the stud that a joint sits on."""
    terminal = terminal_of(bank, joint)
    if not terminal.path:
        return _junction(terminal)
    return asking(f"{terminal.path}.stud", f"Read or measure the stud of {terminal.kind}.")


def lugs_missing(bank: Bank, joint: Joint) -> Missing:
    """How to learn how many lugs a terminal takes."""
    terminal = terminal_of(bank, joint)
    if not terminal.path:
        return _junction(terminal)
    key = "lugs_per_stud" if terminal.kind.startswith("bar ") else "lugs"
    return asking(f"{terminal.path}.{key}", f"Ask the maker of {terminal.kind}.")
