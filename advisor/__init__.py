"""Corrects the recipe of a hand-kneaded cleansing bar whose dough failed, within its strength and limits."""
