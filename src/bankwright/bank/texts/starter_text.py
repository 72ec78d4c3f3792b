"""Texts of the starter bank file: one piece a section, with the questions as comments.

Gives: HEAD, MODULE_KIND, PARTS_KINDS, INVERTER_KIND, WIRING, BARS for bank/texts/starter.
Limits: figures behind `#` are examples of form, invented; none of them is read.
"""

from __future__ import annotations

__all__ = ["BARS", "HEAD", "INVERTER_KIND", "MODULE_KIND", "PARTS_KINDS", "WIRING"]

HEAD = """\
# A bank file. Lines that begin with # are questions: fill them in when you have the data sheet or have measured, and
# remove the #. What stays open is reported as unknown, never guessed. Quantities are texts with units, metric or US:
# "320 mm", "4/0 AWG", "95 degF". Figures behind # are examples of form, not of your parts.
format = 1
title = {title}
rules = "{rules}"
units = "{units}"
{include}# storage_rules = "irc-2021"   # edition that the building department uses for places and energy limits

[site]
{place}
{ambient}
# rack_rise = "8 K"   # air inside the loaded rack above the room: a thermometer on the top module after an hour
# earthing = {{ pole = "none", detector = true, bond = "4 AWG" }}   # pole: none, minus, plus; then also at = ["bar-1"]
# extension = 2   # modules to come: fault currents are computed with them
"""

MODULE_KIND = """\
# ---- what data sheets say
[kinds.module.{module}]
cells = {cells}
{capacity}
{discharge}
# further in discharge: trip = "150 A for 3 s", lowest = "-20 degC", highest = "55 degC", cell_trip = "2.5 V"
{charge}
# further in charge: trip = "110 A for 3 s", lowest = "0 degC", highest = "50 degC", cell_trip = "3.75 V"
{mass}
# energy = "5.12 kWh"   # nameplate
# resistance = {{ dc = "14 mohm +- 3 mohm", after = "30 s", ohmic = "6 mohm" }}   # ask the maker, or measure
# trips = {{ charge = "still discharges", discharge = "still charges", restart = "by hand", recloses = "never" }}
{breaker}
{posts}
# parallel = {{ most = 16, join_within = "0.5 V" }}
{height}
# depth = "480 mm"
# address = {{ switches = 4, first = 1 }}
"""

PARTS_KINDS = """\
# Devices and lugs: write down what you mean to buy. DC values, not AC.
[kinds.device.{branch_fuse}]
type = "fuse"
{lead}
# volts = "80 V"
# interrupts = "20 kA"
# class = "class T"
# polarised = false

[kinds.device.{main_fuse}]
type = "fuse"
{main}
# volts = "80 V"
# interrupts = "20 kA"
# class = "class T"

[kinds.device.{main_switch}]
type = "disconnect"
{main}
# volts = "80 V"
# breaks_load = true

[kinds.lug.{lug}]
# hole = "8.4 mm"
# cables = ["2/0 AWG"]
# strands = ["fine"]
# rating = "90 degC"
"""

INVERTER_KIND = """\
[kinds.inverter.{inverter}]
{power}
{efficiency}
{lowest}
# surge_power = "10 kW"
# surge_time = "5 s"
# cut_out = "44 V"
# highest_input = "62 V"
# phases = 1
# frequency = "60 Hz"
# isolated = true
# capacitance = "20 mF"
# earthable = ["minus"]   # poles that its manual lets one earth; [] for none
# charger = {{ current = "80 A", voltage = "48 V to 60 V", setting = "56 V", without_message = "0 A", one_way = false }}
"""

WIRING = """\
# ---- how they are joined
[wiring]
pattern = "{pattern}"   # chain: module to module; busbar: every module to a bar a pole; listed: by [[links]]
{feed}
# Sizes follow from the currents, lengths are a start: put in your own, and see what the plan says of them.
link = {link}
main = {main}
branch = {branch}
# further in each: strands = "fine", insulation = "90 degC", joint = "20 uohm", method = "free air"
"""

BARS = """\
# [[bars]]
# name = "bar+"
# pole = "+"
# width = "40 mm"
# thickness = "10 mm"
# hole = "9 mm"
# spacing = "50 mm"
# stud = "M8"
# lugs_per_stud = 1
"""
