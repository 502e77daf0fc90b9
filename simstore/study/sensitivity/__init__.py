"""Which figure that is not well known decides."""
