"""One bench for everything that simulates: tasks in, results out, in this process or in many, each kept once."""
