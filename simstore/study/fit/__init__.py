"""Leaks learnt from weighed packets and from loggers inside."""
