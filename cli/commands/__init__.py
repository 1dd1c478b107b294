"""The commands of the terminal, each with its options."""
