"""What may be asked of a store: one module a question, the same for the command line and for a script."""
