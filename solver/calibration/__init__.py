"""Are the probabilities true? Predicted reach held against simulated play."""
