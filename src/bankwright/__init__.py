"""Bankwright: plan, buy, build, match and look after a home battery bank, from one bank file.

Gives: the public Python face; names load on first use. Nobody inside imports this package root.
"""

__version__ = "0.1.0"
