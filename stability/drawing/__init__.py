"""What drawings of a section share."""
