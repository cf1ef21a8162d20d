"""HTTP over the operations: a thin skin that admits, times, streams, logs, and listens."""
