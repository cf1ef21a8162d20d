"""Simulated tables: four seats, the whole Charleston, and play to the end of the wall."""
