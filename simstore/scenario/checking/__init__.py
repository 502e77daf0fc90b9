"""Whether what the user says can be: rules, and findings with file, line, value and cure."""
