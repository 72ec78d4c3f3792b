"""Ground 2: what stands there: the bank file, the model, patterns unfolded to named things."""
