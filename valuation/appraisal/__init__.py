"""Markets and valuations: sales to a fitted market model, one car to a valuation."""
