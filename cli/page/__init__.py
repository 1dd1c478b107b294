"""Blocks that a page is made of, and what shows them."""
