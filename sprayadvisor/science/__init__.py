"""Formulae of humidity, sun, sky, wind, panel, drying and light: pure functions on arrays."""
