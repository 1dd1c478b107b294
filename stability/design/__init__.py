"""What a check is held to: targets and partial factors."""
