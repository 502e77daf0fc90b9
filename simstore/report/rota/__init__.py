"""The rota as files for the wall and for a calendar."""
