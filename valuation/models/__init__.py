"""Models of tables: the hedonic regression, comparable sales, ranges."""
