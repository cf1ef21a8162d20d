"""Reach, the pass model and its answers. Knows tiles and cards, not JSON and not the web."""
