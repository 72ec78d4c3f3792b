"""Stage: rack, floor and wall: anchors, loads, stability, lifts, clearances."""
