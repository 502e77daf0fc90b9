"""Files to values: TOML, registers, loggers, weather."""
