"""Files to sales: raw tables, their columns, the map of a source, checks, cars to be valued."""
