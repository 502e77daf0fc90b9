"""Which plan is better, by how much, and how surely."""
