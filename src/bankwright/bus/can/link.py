"""Ask the system for the state of a CAN interface: the one room of the bus that runs a program, always the same one.

Gives: read_status(). `ip` only tells here: `link show` changes nothing; no shell, no words but the checked name.
Limits: Linux with iproute2; where it is missing or silent nothing is believed: NotRead.
"""

from __future__ import annotations

import shutil
import subprocess

from bankwright.bus.can.status import NAME, LinkStatus, NotRead, status_of

__all__ = ["read_status"]

PATIENCE = 5.0  # s
PLACES = "/usr/sbin:/sbin:/usr/bin:/bin"


def read_status(name: str) -> LinkStatus:
    """The interface as the system has it at this moment; NotRead when it cannot be read back."""
    if not NAME.fullmatch(name):
        raise NotRead(f'"{name}" is no name of an interface: write can0')
    program = shutil.which("ip", path=PLACES)
    if program is None:
        raise NotRead("the program `ip` (iproute2) is not installed")
    words = [program, "-details", "-statistics", "-json", "link", "show", "dev", name]
    try:
        done = subprocess.run(words, capture_output=True, timeout=PATIENCE, check=False, env={"LC_ALL": "C"})
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NotRead(f"`ip` could not be run: {error}") from None
    if done.returncode != 0:
        said = done.stderr.decode("ascii", "replace").strip().splitlines()
        raise NotRead(said[0][:200] if said else f"`ip` ended with {done.returncode}")
    return status_of(done.stdout.decode("utf-8", "replace"), name)
