"""Words and cells to values: pure readers for one cell, a whole column or a title."""
