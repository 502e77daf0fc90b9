"""A sheet that comes back filled in: what was done goes into register, stock and measurements."""
