"""Market models on disk."""
