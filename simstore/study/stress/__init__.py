"""What a failure at the worst time does to a plan."""
