"""Prose of the bank file's manual: what stands before and after the tables of keys.

Gives: HEAD, TAIL for bank/texts/manual. The examples in it are read by a test; all data in them is invented.
"""

from __future__ import annotations

__all__ = ["HEAD", "TAIL"]

HEAD = """\
# The bank file

One TOML file describes one bank: everything on one DC bus. You write it by hand, or the page does; an edit by the
program changes only the characters of that value, comments and order stay. `bankwright new` writes one to start from.

A whole small file, invented data, called `small.toml` here:

<!-- file small.toml -->
```toml
format = 1
title = "Two modules"
rules = "nec-2023"

[kinds.module.M100]
cells = 16
capacity = "100 Ah"
resistance = { dc = "14 mohm +- 3 mohm", after = "30 s", ohmic = "6 mohm +- 1 mohm" }
discharge = { continuous = "100 A", trip = "150 A for 3 s" }
charge = { continuous = "50 A" }
mass = "46 kg"

[kinds.device.fuse-300]
type = "fuse"
rating = "300 A"
volts = "80 V"
interrupts = "50 kA"

[kinds.inverter.inv-6k]
power = "6 kW"
efficiency = "93 %"
lowest_voltage = "48 V"

[[modules]]
name = "M1"
kind = "M100"
slot = 1

[[modules]]
name = "M2"
kind = "M100"
slot = 2

[wiring]
pattern = "chain"
feed = "opposite ends"
link = { cable = "4/0 AWG", length = "320 mm", joint = "20 uohm" }
main = { cable = "4/0 AWG", length = "1.5 m", joint = "20 uohm" }

[[devices]]
name = "F1"
kind = "fuse-300"
on = "main+"
at = "bank end"

[[inverters]]
name = "I1"
kind = "inv-6k"
```

It can be read, but it is no good design, and it says little: its fuse may be larger than a cable may have, nothing
switches it off, and most of what a data sheet says is missing.

```sh
bankwright plan small.toml
bankwright new --demo demo      # writes demo/four.toml, among others: a file with every value
bankwright plan demo/four.toml
```

A link whose resistance was measured, the other diagonal of the feed, your own limit of drop,
a load with the sheet of its terminals:

```toml-part
[site]
most_drop = "2 %"
most_drop_charge = "0.8 %"

[wiring]
pattern = "chain"
feed = "opposite ends, plus first"
link = { resistance = "3.5 mohm +- 0.1 mohm", joint = "20 uohm" }
main = { cable = "4/0 AWG", length = "1.5 m", joint = "20 uohm" }

[[loads]]
name = "lamps"
current = "12 A"
terminals = { stud = "M6", torque = "5 N m", rating = "75 degC" }
```

A measured resistance alone says nothing of what the cable may carry:
its size is still asked for by the checks of its current.

What a maker states of a short gives the resistance that rules fault currents, here 53.6 V / 8 kA = 6.7 mohm:

```toml-module
resistance = { dc = "14 mohm +- 3 mohm", short_circuit = "8 kA", open_circuit = "53.6 V" }
```

## Values

- Quantities are texts with their unit: `"320 mm"`, `"95 degF"`, `"10 N m"`. Metric and US are equal on input. A bare
  number, a decimal comma (`"1,5 m"`) and a length in two parts (`"3 ft 6 in"`) are refused, with what to write
  instead. Inches and feet may be fractions: `"3/8 in"`.
- A tolerance stands behind its value: `"14 mohm +- 3 mohm"`, `"14 mohm +- 20 %"`, `"14 mohm +4 mohm -2 mohm"`, or as
  a range, `"11 mohm to 17 mohm"`. It is a pair of limits, flat in between.
- Wire and stud sizes are labels of the tables below, not quantities: `"4/0 AWG"`, `"350 kcmil"`, `"70 mm2"`, `"M8"`,
  `"3/8 in"`.
- What you do not know you leave out. It stays unknown; it is never taken as 0.

## Names

`M1+` and `M1-` are the posts of module M1; with two pairs of posts `M1+b` and `M1-b` are the second ones. `bar+3` is
the third stud of a bar, `I1+` a terminal of inverter I1, `J+` a place where several cables meet without a bar.
`L3+@M4+` is the joint of link L3+ on post M4+; `main+@F1a` and `main+@F1b` are the joints at a device, in the order
of the link. Names are unique over the whole bank.

Alike modules may stand in one entry: `name = "M1"`, `count = 4`, `slot = 1` are M1 to M4 in slots 1 to 4. What one of
them has of its own (a measured capacity, an address, a rack unit) needs an entry of its own.

## Patterns

A pattern is shorthand; it unfolds to named links.

- `chain`: link `Lk+` and `Lk-` from module k to module k+1. With two pairs of posts a link leaves by the second post
  and arrives at the first; with one pair two lugs share a post.
- `busbar`: lead `Lk+` and `Lk-` from module k to its stud of `bar+` and `bar-`. Without `studs` the modules sit in
  their order and the main at the end that `feed` names.
- `listed`: every link stands under `[[links]]` with `from` and `to`.
- `feed`: `same end`, both mains at the first module; `opposite ends`, plus at the last and minus at the first; `both
  ends`, a main a pole at each (`main+` and `main+b`).
- With `wiring.main`, the mains run to the inverter if it is alone and has no `lead` of its own; otherwise to `J+` and
  `J-`, from where cables `I1+lead`, `I2+lead` go on. Without `wiring.main` those cables start at the bank.
- A bar whose `studs` name `main` and inverters, chargers or loads, and no module, stands in the place of `J+`: the main
  ends at its stud of that bar, and each lead starts at its own.
- To change one cable of a pattern, write a `[[links]]` entry with that cable's name and only the values that differ. A
  new name adds a cable.
- `strap = { width = "20 mm", thickness = "5 mm", hole = "9 mm" }` in the place of `cable` is a flat strap, drilled at
  both ends: no lugs, its `length` from hole to hole. It is judged as a bar is: by its rating, else by the current over
  its section less a hole. Metals as for bars; `layers` on each other count as one; what covers it is its `insulation`.
- `straight = true` in `wiring.link` (or in one lead under `[[links]]`): the module's post is bolted straight on the
  bar, with no cable, no lug and one joint. No device can sit there, so nothing stands between the modules.
- `on = "each module +"` puts a device into the lead of every module (`F-M1`, `F-M2` for one named F); `"each module"`
  one with both poles; `each inverter`, `each charger` and `each main` likewise.
"""

TAIL = """\
## Files of kinds

`include = ["kinds.toml"]` reads kinds from further files, in the folder of the bank file or below it. They hold
`[kinds...]` tables, and may include others. A kind is given once.

## Faults

All faults of a file come at once, each with line, key, what was found and what would be right; a fault of TOML itself
comes alone. Nothing is computed from a file with faults. A bad design is no fault: a missing fuse or a small cable is
a finding of `bankwright plan`.
"""
