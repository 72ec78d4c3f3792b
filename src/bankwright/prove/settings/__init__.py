"""Stage: settings by hand: what to set at every inverter and charger, why, and what was set."""
