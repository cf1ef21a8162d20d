"""The operations, one resource a file."""
