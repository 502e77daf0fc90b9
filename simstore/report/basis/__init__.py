"""What the page, the charts and the workbook all rest on: the budget and the origin of its figures."""
