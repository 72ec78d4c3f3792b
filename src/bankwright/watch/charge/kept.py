"""Where the estimator stopped, as bytes: the same state gives the same bytes, and reading them back changes nothing.

Gives: packed(), unpacked(), FORM. Arrays as they are, behind a head that says which; what does not hold together is
refused by a checksum.
Limits: the bytes of another form, other modules or another number of them are refused with ValueError; the estimator
then begins anew from the telemetry.
"""

from __future__ import annotations

import json
import struct
import zlib
from dataclasses import replace
from typing import Any

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.charge.blocks import Relaxing
from bankwright.watch.charge.estimator import Anchor, Estimator
from bankwright.watch.charge.facts import Facts
from bankwright.watch.charge.mixture import Mixture

__all__ = ["FORM", "packed", "unpacked"]

FORM = 2
_HEAD = struct.Struct("<4sII")
_MARK = b"BWCH"


def packed(one: Estimator, extra: dict[str, Array] | None = None) -> bytes:
    """Everything that the next block needs; `extra` arrays of the caller come back with it."""
    arrays: dict[str, Array] = {f"extra/{key}": value for key, value in (extra or {}).items()}
    if one.common.drifting is not None:
        raise ValueError("an estimator of a sensor that is hardly known is not kept")
    _put(arrays, "lasting", one.common.lasting)
    arrays |= {"apart/x": one.apart.x, "apart/P": one.apart.P, "apart/on": one.apart.was_on.astype(float)}
    arrays |= {f"relaxing/{key}": getattr(one.relaxing, key) for key in Relaxing.__slots__}
    arrays |= {"last_current": one.last_current, "counted": one.counted}
    arrays["numbers"] = np.array([one.factor, one.end, one.hours, one.common.passed, *one.anchored,
                                   float(one.common.is_proved)])  # fmt: skip
    arrays["anchors"] = np.array([[a.time, a.is_top, a.hours, *a.counted, *a.offset] for a in one.anchors])
    shapes = {key: list(value.shape) for key, value in arrays.items()}
    head = json.dumps({"modules": one.facts.names, "shapes": shapes}, separators=(",", ":")).encode()
    body = b"".join(np.ascontiguousarray(value, dtype="<f8").tobytes() for value in arrays.values())
    whole = zlib.compress(struct.pack("<I", len(head)) + head + body, 1)
    return _HEAD.pack(_MARK, FORM, zlib.crc32(whole)) + whole


def _put(arrays: dict[str, Array], name: str, one: Mixture) -> None:
    parts = {"x": one.x, "P": one.P, "weight": one.log_weight, "turned": one.turned}
    arrays |= {f"{name}/{key}": value for key, value in parts.items()}
    arrays[f"{name}/steps"] = np.array([float(one.steps)])


def unpacked(data: bytes, facts: Facts) -> tuple[Estimator, dict[str, Array]]:
    """Go on where it stopped; ValueError where these bytes are of something else."""
    names, arrays = _read(data)
    if names != list(facts.names):
        raise ValueError("the state is of other modules")
    made = Estimator.begin(facts)
    factor, end, hours, passed, top, low, proved = (float(n) for n in arrays["numbers"])
    curve = facts.curve(factor)
    made.common.lasting = _mixture(arrays, "lasting", replace(made.common.lasting, curve=curve))
    made.common.is_proved = proved > 0
    made.common.passed, made.factor, made.end, made.hours, made.anchored = passed, factor, end, hours, (top, low)
    made.apart.x, made.apart.P = arrays["apart/x"], arrays["apart/P"]
    made.apart.was_on = np.asarray(arrays["apart/on"] > 0)
    made.relaxing = Relaxing(*(arrays[f"relaxing/{key}"] for key in Relaxing.__slots__))
    made.last_current, made.counted = arrays["last_current"], arrays["counted"]
    made.anchors = tuple(_anchor(row) for row in arrays["anchors"])
    return made, {key.removeprefix("extra/"): value for key, value in arrays.items() if key.startswith("extra/")}


def _read(data: bytes) -> tuple[list[str], dict[str, Array]]:
    try:
        mark, form, crc = _HEAD.unpack_from(data)
        if mark != _MARK or form != FORM or zlib.crc32(data[_HEAD.size :]) != crc:
            raise ValueError("not a state of charge, or of another form")
        whole = zlib.decompress(data[_HEAD.size :])
        (length,) = struct.unpack_from("<I", whole)
        head: dict[str, Any] = json.loads(whole[4 : 4 + length])
        at, arrays = 4 + length, {}
        for key, shape in head["shapes"].items():
            count = int(np.prod(shape))
            arrays[key] = np.frombuffer(whole, "<f8", count, at).reshape(shape).copy()
            at += 8 * count
    except (struct.error, zlib.error, KeyError, TypeError) as error:
        raise ValueError("the state does not hold together") from error
    return head["modules"], arrays


def _mixture(arrays: dict[str, Array], name: str, one: Mixture) -> Mixture:
    x, P, weight, turned, steps = (arrays[f"{name}/{key}"] for key in ("x", "P", "weight", "turned", "steps"))
    return replace(one, steps=int(steps[0]), x=x, P=P, log_weight=weight, turned=turned)


def _anchor(row: Array) -> Anchor:
    counted, offset = (tuple(float(v) for v in half) for half in np.split(row[3:], 2))
    return Anchor(float(row[0]), bool(row[1]), counted, float(row[2]), offset)
