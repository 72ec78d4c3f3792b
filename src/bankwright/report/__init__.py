"""Paper: what is handed over: the booklet of a bank."""
