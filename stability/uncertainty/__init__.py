"""What uncertain inputs do to a factor of safety."""
