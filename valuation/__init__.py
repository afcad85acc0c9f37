"""Prices collector cars from comparable sales, with every unit of money explained."""

__version__ = "0.1.0"
