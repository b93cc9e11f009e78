"""The mathematics: rows, linear programs, the solver, conflicts and rounding; knows no trade."""
