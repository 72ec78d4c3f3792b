"""What the bank file says of the data bus, as the bus needs it.

Gives: framing_of(), targets_of(), map_of(), expected_of(), opened_wire(), policy_of(), sunspec_of(), poll_plan();
PollPlan, SunspecBank, START.
Limits: a speed that is not given is a start for the survey, and told as such; nothing is guessed for polling.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bankwright.bank.addresses import address_plan
from bankwright.bank.data_line import TERMINATOR, cable_order
from bankwright.bank.model import Bank
from bankwright.bank.model_bus import ADDRESSES
from bankwright.bus.asks import Ask, Known, asks_of
from bankwright.bus.exchange import Patience
from bankwright.bus.map.blocks import apart
from bankwright.bus.map.read import read_map
from bankwright.bus.messages.read import read_messages
from bankwright.bus.poll import Policy, Target
from bankwright.bus.sunspec.signals import Positive, Whose
from bankwright.bus.sunspec.source import Speaker, SunListing, SunspecSource
from bankwright.bus.survey.facts import Expected
from bankwright.bus.timing import Framing, cycle_time, silent_time
from bankwright.bus.wire.serial_port import Control, SerialPort, latency_timer
from bankwright.bus.wire.socket_tcp import HOST_PORT, TcpWire
from bankwright.bus.wire.wire import Wire
from bankwright.forms.faults import Fault, QuestionError

__all__ = [
    "START",
    "PollPlan",
    "SunspecBank",
    "expected_of",
    "framing_of",
    "map_of",
    "opened_wire",
    "policy_of",
    "poll_plan",
    "sunspec_of",
    "targets_of",
]

DEVICE = "device"  # name of the one that speaks for all modules
ASKED = ("serial", "tcp")  # wires on which registers are asked for
START = Framing(9600, "none")  # where a survey begins when the file says nothing (common practice, no source)


def _fault(path: str, found: str, hint: str) -> QuestionError:
    return QuestionError((Fault(path, "key-missing", found, "", hint),), "")


def framing_of(bank: Bank) -> Framing | None:
    """How characters stand on the line; None over TCP."""
    line = bank.bus
    if line is not None and line.wire == "tcp":
        return None
    if line is None:
        return START
    return Framing(line.baud or START.baud, line.parity or START.parity, line.stop_bits or START.stop_bits)


def targets_of(bank: Bank) -> tuple[Target, ...]:
    """Modules with a known address, in cable order."""
    units = {row.module: row.address for row in address_plan(bank) if not row.fault}
    found = ((name, units.get(name)) for name in cable_order(bank))
    first, last = ADDRESSES["modbus" if bank.bus is None else bank.bus.protocol]
    return tuple(Target(name, unit) for name, unit in found if unit is not None and first <= unit <= last)


def map_of(bank: Bank, folder: Path, needed: bool = False) -> Known | None:
    """The map of registers or of messages that the file names, where modules are asked.

    MapError with its faults, QuestionError when it is needed and not named.
    """
    if bank.bus is not None and bank.bus.wire not in ASKED and not needed:
        return None
    if bank.bus is None or bank.bus.map is None:
        if needed:
            raise _fault("bus.map", "no map is named", 'Write map = "FILE.toml" under [bus]: docs/bus.md says how')
        return None
    reader = read_messages if bank.bus.protocol == "ascii frames" else read_map
    return reader(folder / bank.bus.map)


def expected_of(bank: Bank, register_map: Known | None, port: str | None = None) -> Expected:
    """What a survey should find."""
    line = bank.bus
    switches = {m.name: m.kind.address.switches for m in bank.modules if m.kind.address.switches}
    plates = {m.name: m.serial for m in bank.modules if m.serial}
    if line is None:
        return Expected(targets_of(bank), register_map, switches, plates)
    sun = sunspec_of(bank)
    return Expected(
        targets_of(bank) if line.device is None else (Target(DEVICE, line.device),),
        register_map,
        switches,
        plates,
        masters=line.masters,
        terminators=None if line.terminators is None else len(line.terminators),
        terminator_ohm=line.terminator or TERMINATOR,
        polarised=None if line.polarised_at is None else line.polarised_at != "none",
        length=line.length,
        isolated=line.isolated,
        adapter_holds=latency_timer(port or line.port or ""),
        spoken="ascii frames" if line.protocol == "ascii frames" else "modbus",
        speakers=sun.speakers if sun is not None else (),
        positive=line.positive,
    )


@dataclass(frozen=True, slots=True)
class SunspecBank:
    """A bank whose devices tell their own registers."""

    speakers: tuple[Speaker, ...]
    positive: Positive
    listing: SunListing
    policy: Policy

    def source(self, wire: Wire) -> SunspecSource:
        """The devices behind an open wire."""
        return SunspecSource(wire, self.speakers, self.listing, self.positive, policy=self.policy)


def sunspec_of(bank: Bank) -> SunspecBank | None:
    """Who speaks for which module; None where the bank's modules do not speak SunSpec."""
    line = bank.bus
    if line is None or line.protocol != "sunspec":
        return None
    targets = targets_of(bank)
    if line.device is not None:
        whose = Whose(by_number={target.unit: target.name for target in targets})
        return SunspecBank((Speaker(line.device, whose),), line.positive, SunListing(), policy_of(bank))
    speakers = tuple(Speaker(target.unit, Whose(target.name)) for target in targets)
    return SunspecBank(speakers, line.positive, SunListing(), policy_of(bank))


def policy_of(bank: Bank) -> Policy:
    """How the modules are polled: as patiently as the file says."""
    timeout = bank.bus.timeout if bank.bus is not None else None
    return Policy() if timeout is None else Policy(Patience(timeout=timeout))


def opened_wire(bank: Bank, port: str | None = None, host: str | None = None) -> Wire:
    """Open the port or the connection that the file names, or another one; WireGone when that fails."""
    line = bank.bus
    host = host or (line.host if line is not None and port is None else None)
    if host is not None:
        name, _, number = host.partition(":")
        return TcpWire(name, int(number) if number.isdigit() else HOST_PORT)
    path = port or (line.port if line is not None else None)
    if path is None:
        raise _fault("bus.port", "no port is named", 'Write port = "/dev/ttyUSB0" under [bus], or give --port')
    control = Control(line.rts, line.dtr) if line is not None else Control()
    return SerialPort(path, framing_of(bank) or START, control)


@dataclass(frozen=True, slots=True)
class PollPlan:
    """The shortest poll cycle of the bank's line, and whether the wished one fits."""

    blocks: tuple[Ask, ...]
    cycle: float | None  # s; None over TCP, where the line sets no limit
    wished: float | None
    silent_cost: float  # s, of asking a module that does not answer
    apart: bool  # current and voltage in different requests

    @property
    def fits(self) -> bool | None:
        """Whether the wished time is possible; None where something is not known."""
        return None if self.cycle is None or self.wished is None else self.cycle <= self.wished


def poll_plan(bank: Bank, register_map: Known) -> PollPlan:
    """What each module is asked in a poll, and the time that it takes at least."""
    framing, modules = framing_of(bank), len(targets_of(bank))
    asked = asks_of(register_map, framing)
    cycle = None if framing is None else cycle_time(framing, modules, [each.characters for each in asked])
    wished, timeout = (bank.bus.every, bank.bus.timeout) if bank.bus else (None, None)
    silent = silent_time(framing, asked[0].characters, timeout or Patience().timeout)
    return PollPlan(asked, cycle, wished, silent, apart(asked))
