"""From shear readings to an effective strength with its uncertainty."""

from strength.errors import InputError, SlipmarginError
from strength.notice import Notice, Severity, distinct
from strength.strength import Numeric, Strength

__all__ = [
    "InputError",
    "Notice",
    "Numeric",
    "Severity",
    "SlipmarginError",
    "Strength",
    "distinct",
]
