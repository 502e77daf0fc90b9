"""Charts, page, workbook and rota files: results as people read them."""
