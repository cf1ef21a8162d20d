"""Timed drills in the terminal, the log of them, and how they go over time."""
