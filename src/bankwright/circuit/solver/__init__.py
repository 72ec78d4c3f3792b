"""Engine: graph, loops, laws of loads, the batch solve; knows networks, no bank."""
