"""A grid over figures of the description."""
