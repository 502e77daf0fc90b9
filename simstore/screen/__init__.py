"""The fluid model of a year, which screens plans before they are simulated."""
