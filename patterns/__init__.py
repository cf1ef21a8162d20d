"""Tiles, racks and cards: what the game's things are and how they are written down."""
