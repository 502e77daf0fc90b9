"""Looks at a list that somebody keeps and proposes how it is to be read as the register."""
