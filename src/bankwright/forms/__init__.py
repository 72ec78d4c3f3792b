"""Blank forms that every floor fills in: values with tolerance, findings, readings, sheets, faults."""
