"""Ground 2: every lug, washer, sleeve, screw and cable, with its place and the key that causes it."""
