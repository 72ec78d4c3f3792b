"""Engine: from a bank to its network: resistances, temperatures, shorts."""
