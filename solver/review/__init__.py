"""Grading a recorded Charleston pass by pass."""
