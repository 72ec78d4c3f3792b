"""Drawings of the bank as SVG: wiring, one-line diagram, rack, gauges and charts."""
