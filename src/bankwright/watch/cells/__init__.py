"""Stage: cells of a bank that is watched: which reading is none, what a spread means, which cell is weak, and capacity.

A minute of readings (minutes.py) is first asked whether it can be true (senses.py); a spread of voltage is then turned
into a difference of charge, with what the curves leave open (spread.py); how it goes with charge and current says of
which kind it is (kinds.py). Capacity follows from anchors of full and empty (capacity.py).
"""
