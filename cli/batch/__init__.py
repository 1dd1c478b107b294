"""Many scenarios at once."""
