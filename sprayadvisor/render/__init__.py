"""Values into words and pictures."""
