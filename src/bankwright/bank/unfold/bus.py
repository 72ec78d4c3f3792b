"""From the written data bus to the model.

Gives: bus(). Limits: what it names was looked at in bank/rules/bus.
"""

from __future__ import annotations

from bankwright.bank.model_bus import Bus, CanBus, MqttBus, Pins
from bankwright.bank.written.bus import BusW, MqttBusW, PinsW

__all__ = ["bus"]


def _pins(w: PinsW | None) -> Pins | None:
    return None if w is None else Pins(w.d1, w.d0, w.common, w.supply)


def _mqtt(w: MqttBusW) -> MqttBus:
    return MqttBus(w.tls, w.ca, w.certificate, w.key, w.user, w.password_in, w.password_file)


def bus(w: BusW | None) -> Bus | None:
    """The data bus of the bank; None where the file has none."""
    if w is None:
        return None
    return Bus(
        wire=w.wire,
        port=w.port,
        host=w.host,
        protocol=w.protocol,
        baud=w.baud,
        parity=w.parity,
        stop_bits=w.stop_bits,
        map=w.map,
        every=w.every,
        timeout=w.timeout,
        order=tuple(w.order or ()),
        length=w.length,
        stub=w.stub,
        terminators=None if w.terminators is None else tuple(w.terminators),
        terminator=w.terminator,
        polarised_at=w.polarised_at,
        bias=w.bias,
        module_pins=_pins(w.module_pins),
        computer_pins=_pins(w.computer_pins),
        masters=tuple(w.masters or ()),
        rts=bool(w.rts),
        dtr=bool(w.dtr),
        isolated=w.isolated,
        fed_from=w.fed_from,
        draw=w.draw,
        can=CanBus(w.can.bit_rate),
        mqtt=_mqtt(w.mqtt),
        device=w.device,
        positive=w.positive,
    )
