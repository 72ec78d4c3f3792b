"""Stage: figures that several checks need: currents carried, voltages, air, derating."""
