"""Figures from tests: pH doses, titrations, the spread of strength, and a powder's uptake."""
