"""Constants that several rooms need, each once: the inch and the pound, gravity, the rack unit, copper.

Gives: INCH, FOOT, POUND, GRAVITY, CIRCULAR_MIL, RACK_UNIT, COPPER_RHO_20, COPPER_ALPHA_20, CALORIE.
Limits: exact definitions and laws of nature only; what was measured or agreed in a table is in the handbook.
Sources: stand beside each number.
"""

from __future__ import annotations

import math

__all__ = [
    "CALORIE",
    "CIRCULAR_MIL",
    "COPPER_ALPHA_20",
    "COPPER_RHO_20",
    "FOOT",
    "GRAVITY",
    "INCH",
    "POUND",
    "RACK_UNIT",
]

INCH = 0.0254  # m  international yard and pound of 1959, exact (NIST SP 811:2008, appendix B, from memory)
FOOT = 0.3048  # m  the same
POUND = 0.45359237  # kg  the same
GRAVITY = 9.80665  # m/s2  standard, exact (ISO 80000-3, from memory)
CIRCULAR_MIL = math.pi / 4 * (INCH / 1000) ** 2  # m2  circle 0.001 in wide [definition]
RACK_UNIT = 0.04445  # m  EIA/ECA-310-E, IEC 60297-3-100 [read]
COPPER_RHO_20 = 1.7241e-8  # ohm m  IEC 60028:1925, annealed copper at 20 degC [read]
COPPER_ALPHA_20 = 3.93e-3  # 1/K  IEC 60028:1925, constant mass, at 20 degC [read]
CALORIE = 4.184  # J  thermochemical, exact
