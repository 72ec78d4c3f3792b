"""Ground 2: the first conversation, as a machine of states without a face: questions, what was heard, what is known."""
