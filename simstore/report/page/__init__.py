"""The page: one file that opens anywhere."""
