"""The command `threepass`: each file is one concept; `main` puts the commands together."""
