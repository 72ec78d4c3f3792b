"""Paper: figures over time, with bands, walls and gaps."""
