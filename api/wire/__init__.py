"""The shapes of what goes over the wire; no rule of the game is known here."""
