"""Studies: how well the market model forecasts sales it has not seen."""
