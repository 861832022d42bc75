"""TODO room front page."""
