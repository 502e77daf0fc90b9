"""The cheapest plan that keeps the standards."""
