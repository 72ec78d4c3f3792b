"""Engine: who answers on the line, and why the others do not: listen first, ask politely, explain in words."""
