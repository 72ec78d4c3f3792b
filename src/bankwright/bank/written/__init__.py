"""Ground 2: the file as written, patterns and all; knows bank/file and the sizes only."""
