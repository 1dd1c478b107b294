"""The handbook: theory, examples and check values, made from the program's own declarations."""
