"""The work of the next weeks, dated, from a plan and today's register."""
