"""Trimmings and cracked bars as a material for a later batch."""
