"""From shear readings to an effective strength with its uncertainty."""

from strength.envelope_fit import EnvelopeFit, Interval, Pair, fit_envelope
from strength.errors import InputError, SlipmarginError
from strength.line import Line, fit_line
from strength.notice import Notice, Severity, distinct
from strength.readings import Readings, ShearTests, reduce_readings
from strength.readings_csv import read_readings
from strength.specimen import Specimen
from strength.strength import Numeric, Strength

__all__ = [
    "EnvelopeFit",
    "InputError",
    "Interval",
    "Line",
    "Notice",
    "Numeric",
    "Pair",
    "Readings",
    "Severity",
    "ShearTests",
    "SlipmarginError",
    "Specimen",
    "Strength",
    "distinct",
    "fit_envelope",
    "fit_line",
    "read_readings",
    "reduce_readings",
]
