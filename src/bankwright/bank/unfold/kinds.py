"""Kinds from their written form to the model's types, each with its file key.

Gives: module_kind(), device_kind(), lug_kind(), inverter_kind(), charger_kind(), rack_kind(), post_spec().
Limits: one to one; nothing is assumed for what the sheet does not say.
"""

from __future__ import annotations

from dataclasses import replace

from bankwright.bank.model_kinds import (
    Addressing,
    ChargeLimits,
    ChargerKind,
    DeviceKind,
    DischargeLimits,
    InverterKind,
    LugKind,
    Message,
    ModuleKind,
    PostSpec,
    Precharge,
    RackKind,
    Resistances,
    TripBehaviour,
)
from bankwright.bank.written.kinds import ChargerW, DeviceW, InverterW, LugW, MessageW, PrechargeW, RackW
from bankwright.bank.written.module import AddressW, BreakerW, ChargeW, DischargeW, ModuleW, PostsW, ResistanceW, TripsW
from bankwright.bank.written.parts import DeviceParts, Terminals
from bankwright.forms.toleranced import Toleranced, exact

__all__ = ["charger_kind", "device_kind", "inverter_kind", "lug_kind", "module_kind", "rack_kind"]


def module_kind(name: str, path: str, w: ModuleW) -> ModuleKind:
    """A kind of module."""
    r = w.resistance
    return ModuleKind(
        name=name,
        path=path,
        cells=w.cells,
        chemistry=w.chemistry,
        capacity_ah=w.capacity,
        energy_kwh=w.energy,
        listing=tuple(w.listing),
        resistance=Resistances(r.dc, r.after, r.surge, r.surge_after, _ohmic(r), r.cells),
        discharge=_discharge(w.discharge),
        charge=_charge(w.charge),
        trips=_trips(w.trips),
        breaker=None if w.breaker is None else _breaker(f"{name}.breaker", f"{path}.breaker", w.breaker),
        breaker_backed_by=None if w.breaker is None else w.breaker.backed_by,
        posts=_module_posts(w.posts),
        parallel_most=w.parallel.most,
        join_within=w.parallel.join_within,
        mass=w.mass,
        height=w.height,
        width=w.width,
        depth=w.depth,
        address=_addressing(w.address),
        ocv=w.ocv,
        standby_power=w.standby_power,
        heat_capacity=w.heat_capacity,
        cell_spread=w.cell_spread,
        altitude=w.altitude,
        enclosure=w.enclosure,
    )


def _ohmic(r: ResistanceW) -> Toleranced | None:
    """The ohmic resistance as given, or Voc / Isc of what the maker states of a short (Ohm's law [stated law])."""
    if r.ohmic is not None or r.short_circuit is None or r.open_circuit is None:
        return r.ohmic
    return exact(r.open_circuit / r.short_circuit)


def _discharge(w: DischargeW) -> DischargeLimits:
    trip, delay = w.trip or (None, None)
    return DischargeLimits(w.continuous, trip, delay, w.lowest, w.highest, w.cell_trip, w.cell_empty, w.cell_spread)


def _charge(w: ChargeW) -> ChargeLimits:
    trip, delay = w.trip or (None, None)
    return ChargeLimits(
        continuous=w.continuous,
        by_temperature=w.by_temperature,
        trip=trip,
        trip_delay=delay,
        lowest_degc=w.lowest,
        highest_degc=w.highest,
        cell_trip=w.cell_trip,
        cell_full=w.cell_full,
        highest_voltage=w.highest_voltage,
        inhibits=w.inhibits,
        heated=w.heated,
    )


def _trips(w: TripsW) -> TripBehaviour:
    words, delay = w.recloses or (None, None)
    return TripBehaviour(w.charge, w.discharge, w.restart, words, delay)


def _module_posts(w: PostsW) -> PostSpec:
    return PostSpec(w.pairs, w.inner, w.stud, w.lugs, w.torque, w.through, w.rating)


def post_spec(w: Terminals | None) -> PostSpec | None:
    """Terminals of a device, inverter, charger or load; None when the sheet is silent."""
    return None if w is None else PostSpec(1, None, w.stud, w.lugs, w.torque, None, w.rating)


def _resistance(w: DeviceParts) -> Toleranced | None:
    """The resistance as given, or from the drop at its current."""
    if w.resistance is not None or w.drop is None:
        return w.resistance
    drop, current = w.drop
    return None if current is None else drop.scaled(1 / current)


def _device(name: str, path: str, kind: str, w: DeviceParts) -> DeviceKind:
    return DeviceKind(
        name=name,
        path=path,
        type=kind,  # type: ignore[arg-type]
        rating=w.rating,
        volts=w.volts,
        interrupts=w.interrupts,
        poles=w.poles,
        polarised=w.polarised,
        device_class=w.device_class,
        curve=w.curve,
        melting=w.melting,
        melting_i2t=w.melting_i2t,
        let_through=w.let_through,
        least_breaking=w.least_breaking,
        derating=w.derating,
        full_rated=w.full_rated,
        breaks_load=w.breaks_load,
        terminals=post_spec(w.terminals),
        resistance=_resistance(w),
        instant=w.instant,
        listing=tuple(w.listing),
        ac_rating_only=w.ac_rating_only,
        mass=w.mass,
        accuracy=w.accuracy if isinstance(w, DeviceW) else None,
        time_constant=w.time_constant,
        withstands=w.withstands,
        current_limiting=w.current_limiting,
        altitude=w.altitude,
        enclosure=w.enclosure,
    )


def device_kind(name: str, path: str, w: DeviceW) -> DeviceKind:
    """A kind of fuse, breaker, disconnect or shunt."""
    return _device(name, path, w.type, w)


def _breaker(name: str, path: str, w: BreakerW) -> DeviceKind:
    return replace(_device(name, path, "breaker", w), sits_in=w.sits_in)


def lug_kind(name: str, path: str, w: LugW) -> LugKind:
    """A kind of lug."""
    return LugKind(name, path, w.hole, w.stud, tuple(w.cables), tuple(w.strands), w.rating, w.barrel, w.crimp)


def charger_kind(name: str, path: str, w: ChargerW) -> ChargerKind:
    """A kind of charger, or the charging side of an inverter."""
    low, high = w.voltage or (None, None)
    return ChargerKind(
        name=name,
        path=path,
        current=w.current,
        voltage_low=low,
        voltage_high=high,
        setting=w.setting,
        without_message=w.without_message,
        highest_input=w.highest_input,
        one_way=w.one_way,
        terminals=post_spec(w.terminals),
        message=_message(w.message),
        altitude=w.altitude,
        enclosure=w.enclosure,
    )


def _message(w: MessageW) -> Message:
    return Message(w.socket, w.cable, w.pins, w.terminator, w.first, w.lost)


def inverter_kind(name: str, path: str, w: InverterW) -> InverterKind:
    """A kind of inverter."""
    p = w.precharge
    return InverterKind(
        name=name,
        path=path,
        power=w.power,
        efficiency=w.efficiency,
        surge_power=w.surge_power,
        surge_time=w.surge_time,
        lowest_voltage=w.lowest_voltage,
        cut_out=w.cut_out,
        highest_input=w.highest_input,
        phases=w.phases,
        frequency=w.frequency,
        isolated=w.isolated,
        capacitance=w.capacitance,
        capacitor_resistance=w.capacitor_resistance,
        standby_current=w.standby_current,
        earthable=None if w.earthable is None else tuple(w.earthable),
        precharge=None if p is None else _precharge(p),
        charger=None if w.charger is None else charger_kind(f"{name}.charger", f"{path}.charger", w.charger),
        terminals=post_spec(w.terminals),
        start_delay=w.start_delay,
        message=_message(w.message),
        volts_out=w.volts_out,
        stops_within=w.stops_within,
        transfers_within=w.transfers_within,
        altitude=w.altitude,
        enclosure=w.enclosure,
    )


def _precharge(w: PrechargeW) -> Precharge:
    return Precharge(w.resistor, w.pulse_energy, w.power, w.wait, w.hold, w.place, w.tolerance)


def rack_kind(name: str, path: str, w: RackW) -> RackKind:
    """A kind of rack."""
    return RackKind(name=name, path=path, **w.model_dump())


def _addressing(w: AddressW) -> Addressing:
    return Addressing(w.switches, w.first, w.most, w.order, w.base, w.on_is, w.reserved, w.wakes)
