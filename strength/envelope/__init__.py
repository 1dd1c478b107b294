"""From the points to an envelope with its uncertainty."""
