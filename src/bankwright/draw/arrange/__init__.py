"""Paper: where things go: topology, grid, sides, lanes; knows the pen only."""
