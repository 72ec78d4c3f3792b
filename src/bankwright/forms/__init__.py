"""Ground 0: blank forms that every floor fills in: values with tolerance, findings, readings, sheets, faults."""
