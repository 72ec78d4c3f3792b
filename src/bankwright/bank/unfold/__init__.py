"""Ground 2: from the written form to a bank where everything is named."""
