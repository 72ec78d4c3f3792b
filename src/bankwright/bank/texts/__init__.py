"""Ground 2: the manual of keys and the starter file, made from the written form."""
