"""The budget workbook."""
