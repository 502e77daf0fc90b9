"""One spreadsheet as a scenario: sheets for what scenario.toml and the register say, both ways without loss."""
