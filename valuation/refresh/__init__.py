"""The analyst's month: from new files to a decision and a published model."""
