"""A scenario file as soils, checks and questions."""
