"""The store at work: people, ovens, stock and rounds on an integer-minute clock."""
