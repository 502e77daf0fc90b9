"""What a year costs, and what a change of plan costs to make."""
