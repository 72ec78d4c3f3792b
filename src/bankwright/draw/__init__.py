"""Paper: drawings of the bank as SVG: wiring, one-line diagram, front of the racks, gauges and charts.

Gives: wiring(), one_line(), rack(), gauge(), rule(), shares(), charge_ranges(), cut_plan(), settle(); numbered(), the
numbering of findings; tokens_css(), drawing_css() for a page; Drawing.
"""

from bankwright.draw.charts import ChargeRange, Cut, charge_ranges, cut_plan, shares
from bankwright.draw.gauge import gauge, rule
from bankwright.draw.one_line import one_line
from bankwright.draw.paint.places import place_of
from bankwright.draw.pen.paper import Drawing
from bankwright.draw.pen.styles import drawing_css, tokens_css
from bankwright.draw.pen.symbols import verdict_mark
from bankwright.draw.rack import rack
from bankwright.draw.settle import Curve, settle
from bankwright.draw.wiring import wiring
from bankwright.forms.grouping import numbered

__all__ = [
    "ChargeRange",
    "Curve",
    "Cut",
    "Drawing",
    "charge_ranges",
    "cut_plan",
    "drawing_css",
    "gauge",
    "numbered",
    "one_line",
    "place_of",
    "rack",
    "rule",
    "settle",
    "shares",
    "tokens_css",
    "verdict_mark",
    "wiring",
]
