"""Draws of hypothesis are the same in every run; ``--hypothesis-profile wide`` draws anew."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("wide", deadline=None)
settings.load_profile("steady")
