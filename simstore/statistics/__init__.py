"""Intervals, shares, selection, elementary effects, Pareto: not one word of the domain."""
