"""The sections of the page, in words, tables and charts."""
