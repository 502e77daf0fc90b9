"""Questions put to the simulation: which plan, how sure, and what each extra pound or hour buys."""
