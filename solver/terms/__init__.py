"""Constraints and objective terms of the pass model, one named unit a file."""
