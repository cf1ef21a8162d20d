"""Reach: the exact probability that a target is completed, under three kinds of arrival."""
