"""Ground 2: the text of a bank file: spans, edits, quantities, includes, places of keys."""
