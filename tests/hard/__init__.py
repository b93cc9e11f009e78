"""Hard use: every operation under generated requests, rubbish in files, a solver that fails, a full machine."""
