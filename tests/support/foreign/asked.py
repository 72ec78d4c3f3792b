"""Files that must be asked about, or refused."""

from __future__ import annotations

from datetime import UTC, datetime

from support.foreign.truth import Case, text, truth


def simple(stamp: str, head: str = "time,voltage [V],current [A]", **more: object) -> bytes:
    t = truth(seed=40, **more)  # type: ignore[arg-type]
    body = [f"{m.strftime(stamp)},{v},{a}" for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return "\n".join([head, *body, ""]).encode()


CASES: list[Case] = [
    Case(
        "asks: day or month first",
        simple("%d/%m/%Y %H:%M", start=datetime(2026, 5, 3, 8, 0, tzinfo=UTC)),
        {"zone": "UTC"},
        open=("dates",),
    ),
    Case(
        "asks: two digits of each",
        simple("%d-%m-%y %H:%M", start=datetime(2026, 5, 3, 8, 0, tzinfo=UTC)),
        {"zone": "UTC"},
        open=("dates",),
    ),
    Case("asks: zone", simple("%Y-%m-%d %H:%M:%S"), open=("zone",), kept=120),
    Case(
        "asks: sign",
        text(
            [["time", "voltage [V]", "current [A]"], *[[f"2026-03-14 10:{k:02d}", 52.4, 7.8] for k in range(40)]]
        ).encode(),
        {"zone": "UTC"},
        open=("sign of current [A]",),
        kept=40,
    ),
    Case(
        "asks: unit of a current",
        text(
            [
                ["time", "voltage [V]", "current"],
                *[[f"2026-03-14 10:{k:02d}", 52.4 - (k % 5) / 100, 120 + 40 * (k % 5)] for k in range(40)],
            ]
        ).encode(),
        {"zone": "UTC", "positive": "discharging"},
        open=("unit of current",),
        kept=40,
    ),
    Case(
        "asks: decimal mark",
        text([["time", "power [W]"], *[[f"2026-03-14 10:{k:02d}", f"1.{250 + k}"] for k in range(40)]], ";").encode(),
        {"zone": "UTC", "positive": "discharging"},
        open=("decimal mark",),
    ),
    Case(
        "asks: two decimal marks",
        text(
            [
                ["time", "voltage [V]", "power [W]"],
                *[[f"2026-03-14 10:{k:02d}", f"52.{k:02d}", f"12{k % 10},5"] for k in range(40)],
            ],
            ";",
        ).encode(),
        {"zone": "UTC"},
        open=("decimal mark",),
    ),
    Case("asks: which module", simple("%Y-%m-%d %H:%M:%S"), {"zone": "UTC", "modules": 4}, open=("module",), kept=120),
    Case(
        "asks: start of an elapsed time",
        text([["Elapsed (s)", "Voltage (V)"], *[[60 * k, 52.4 + k / 100] for k in range(40)]]).encode(),
        {"zone": "UTC"},
        open=("start",),
        kept=40,
    ),
    Case(
        "asks: temperature in what",
        text(
            [["time", "voltage [V]", "Temp"], *[[f"2026-03-14 10:{k:02d}", 52.4, 70 + k % 3] for k in range(40)]]
        ).encode(),
        {"zone": "UTC"},
        open=("unit of Temp",),
        kept=40,
    ),
    Case(
        "asks: a sign that was lost",
        text(
            [
                ["time", "voltage [V]", "current [A]", "SOC [%]"],
                *[[f"2026-03-14 10:{k:02d}", 52.4, 30, 60 - k if k < 20 else 20 + k] for k in range(40)],
            ]
        ).encode(),
        {"zone": "UTC"},
        open=("sign of current [A]",),
        kept=40,
    ),
    Case("refuses: no headings", b"2026-03-14 10:00,52.4,3.1\n2026-03-14 10:01,52.4,3.1\n", refused="no-headings"),
    Case("refuses: headings alone", b"time,voltage,current\n", refused="no-rows"),
    Case("refuses: one column", b"voltage\n52.4\n52.3\n52.2\n", refused="no-table"),
    Case("refuses: no time", b"voltage [V],current [A]\n52.4,1.2\n52.3,1.3\n52.1,1.4\n", refused="no-time"),
    Case(
        "refuses: nothing of a battery",
        text([["time", "rain [mm]"], *[[f"2026-03-14 10:{k:02d}", k] for k in range(9)]]).encode(),
        refused="nothing-to-take",
    ),
    Case(
        "refuses: more fields than headings",
        text(
            [["time", "voltage [V]", "current [A]"], *[[f"2026-03-14 10:{k:02d}", 52.4, 1, 7, 8, 9] for k in range(9)]]
        ).encode(),
        refused="wrong-width",
    ),
    Case("refuses: a PDF", b"%PDF-1.7\n\x00\x01\x02 1 0 obj\n", refused="wrong-kind"),
    Case("refuses: a picture", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", refused="wrong-kind"),
    Case("refuses: a spreadsheet's own file", b"PK\x03\x04\x14\x00\x06\x00", refused="wrong-kind"),
    Case("refuses: an empty file", b"", refused="empty"),
    Case("refuses: blanks alone", b"  \n\n \r\n", refused="empty"),
    Case("refuses: JSON", b'[{"time": "2026-03-14", "voltage": 52.4}]', refused="wrong-kind"),
    Case(
        "refuses: a web page", b"<!DOCTYPE html><html><table><tr><td>1</td></tr></table></html>", refused="wrong-kind"
    ),
    Case(
        "refuses: a bank file",
        b'format = 1\ntitle = "x"\n[kinds.module.A]\ncells = 16\n[[modules]]\nname = "M1"\n',
        refused="wrong-kind",
    ),
    Case("refuses: no text", bytes(range(1, 32)) * 40 + b"\xfe\xff" * 9, refused="wrong-kind"),
]
