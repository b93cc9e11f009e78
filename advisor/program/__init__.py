"""The mathematics: rows, problems, the solver, conflicts and rounding."""
