"""Plans that a study tries: candidates, what differs between two, a plan that was found."""
