"""Everything that is said in sentences, for the terminal and for the page."""
