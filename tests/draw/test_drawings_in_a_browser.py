"""Collisions counted with the faces that a browser really uses, all drawings on one page, in both sizes."""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from bankwright.draw.pen.styles import drawing_css, tokens_css
from bankwright.draw.wiring import wiring
from support.banks.drawn import Plan, drawn_bank, invented_currents
from support.drawn_findings import findings_everywhere

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.xdist_group("browser")]

COUNT = """
const counted = [...document.querySelectorAll('svg.bank')].map(s => {
  const box = e => e.getBoundingClientRect(), clear = {text_text: [], cable_text: [], plus_minus: 0, balloon_text: []};
  const texts = [...s.querySelectorAll('text:not(.baln)')].map(t => { const r = box(t), f = r.height * .18;
    return {words: t.textContent, l: r.left + 1, r: r.right - 1, a: r.top + f, b: r.bottom - f}; });
  const along = p => { const o = [], m = p.getScreenCTM(), w = (+p.getAttribute('stroke-width') || 2) / 2;
    for (let d = 0; d <= p.getTotalLength(); d += 2) {
      const q = p.getPointAtLength(d).matrixTransform(m); o.push([q.x, q.y, w]); }
    return o; };
  const cables = pol => [...s.querySelectorAll(`path.wire.${pol}, path.planned.${pol}`)].flatMap(along);
  const plus = cables('pos'), minus = cables('neg');
  texts.forEach((a, i) => texts.slice(i + 1).forEach(b => {
    if (a.l < b.r && b.l < a.r && a.a < b.b && b.a < a.b) clear.text_text.push(a.words + ' on ' + b.words); }));
  for (const [x, y, w] of plus.concat(minus)) for (const t of texts)
    if (x + w > t.l && x - w < t.r && y + w > t.a && y - w < t.b) clear.cable_text.push(t.words);
  for (const a of plus) for (const b of minus)
    if (Math.hypot(a[0] - b[0], a[1] - b[1]) < a[2] + b[2]) clear.plus_minus++;
  for (const q of [...s.querySelectorAll('.bal')].map(box)) for (const t of texts)
    if (q.left < t.r && t.l < q.right && q.top < t.b && t.a < q.bottom) clear.balloon_text.push(t.words);
  clear.cable_text = [...new Set(clear.cable_text)];
  clear.least_px = Math.min(...[...s.querySelectorAll('text')].map(t => parseFloat(getComputedStyle(t).fontSize)));
  const outer = box(s);
  clear.outside = texts.filter(t => t.l < outer.left - 2 || t.r > outer.right + 2).map(t => t.words);
  return [s.parentNode.id, clear]; });
const out = Object.assign(document.createElement('pre'), {id: 'out', textContent: JSON.stringify(counted)});
document.body.replaceChildren(out);
"""


def _browser() -> str:
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        pytest.skip("no browser on this machine")
    return found


def dumped(page: str, folder: Path) -> str:
    """Open a page in a browser without a window and return its document when the scripts have run."""
    (folder / "page.html").write_text(page, "utf-8")
    flags = "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking"
    flags += " --disable-component-update --disable-sync --window-size=1280,900 --dump-dom"
    data = f"--user-data-dir={folder / 'profile'}"
    run = subprocess.run(
        [_browser(), *flags.split(), data, (folder / "page.html").as_uri()],
        capture_output=True,
        timeout=120,
        check=True,
    )
    return run.stdout.decode("utf-8")


def _page(drawings: dict[str, str], script: str) -> str:
    figures = "".join(f'<figure id="{name}">{text}</figure>' for name, text in drawings.items())
    return (
        f"<!doctype html><meta charset='utf-8'><style>{tokens_css()}{drawing_css()}</style>"
        f"<body>{figures}<script>{script}</script></body>"
    )


def _drawings() -> dict[str, str]:
    plans = {
        f"{pattern}{n}": Plan(
            n, pattern=pattern, feed="opposite ends", inverters=2, pairs=1 if pattern == "busbar" else 2
        )
        for n in (2, 5, 8, 16, 20)
        for pattern in ("chain", "busbar")
    }
    plans["both"] = Plan(8, feed="both ends", inverters=3, on_branches=("breaker",))
    plans["fuses"] = Plan(8, pattern="busbar", pairs=1, on_leads=("fuse",), inverters=2)
    plans["linkfuses"] = Plan(5, on_leads=("fuse",), chargers=1, loads=1)
    plans["racks"] = Plan(8, racks=(4, 4), feed="both ends")
    found = {}
    for name, plan in plans.items():
        bank = drawn_bank(plan)
        for size in ("desk", "phone"):
            for tag, findings in (("plain", ()), ("marked", findings_everywhere(bank))):
                key = f"{name}-{size}-{tag}"
                amps = invented_currents(bank)
                drawn = wiring(bank, amps, findings, size, case="full discharge", embedded=True, prefix=key)  # type: ignore[arg-type]
                found[key] = drawn.text
    return found


def test_nothing_lies_on_anything_with_real_faces(tmp_path: Path) -> None:
    drawings = _drawings()
    out = re.search(r'<pre id="out">(.*?)</pre>', dumped(_page(drawings, COUNT), tmp_path), re.S)
    assert out is not None
    counted = json.loads(out[1].replace("&gt;", ">").replace("&lt;", "<").replace("&amp;", "&"))
    assert len(counted) == len(drawings)
    bad = {name: {k: v for k, v in n.items() if v and k != "least_px"} for name, n in counted}
    assert not {name: n for name, n in bad.items() if n}
    assert min(n["least_px"] for _, n in counted) >= 12


def test_the_count_sees_a_cable_through_everything(tmp_path: Path) -> None:
    drawn = wiring(drawn_bank(Plan(5)), None, embedded=True).text
    spoil = "document.querySelector('svg.bank path.wire.pos').setAttribute('d', 'M50 380L560 380');"
    out = re.search(r'<pre id="out">(.*?)</pre>', dumped(_page({"spoilt": drawn}, spoil + COUNT), tmp_path), re.S)
    assert out is not None
    assert json.loads(out[1])[0][1]["plus_minus"] > 0
