"""A market of our own invention in which the truth is known exactly."""
