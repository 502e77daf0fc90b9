"""Charts: humidity, work, decisions; each returns a figure and the data behind it."""
