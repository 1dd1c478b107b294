"""Invented sites, and the tutorial that works on them: notebooks, as they ship."""
