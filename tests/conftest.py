"""Draws of hypothesis are the same in every run; ``--hypothesis-profile wide`` draws anew.

The module ``made`` beside this file may be imported by every test.
"""

from __future__ import annotations

import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("wide", deadline=None)
settings.load_profile("steady")
