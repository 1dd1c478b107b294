"""From shear readings to an effective strength with its uncertainty."""

from strength.diagnostics import Diagnosis, diagnose
from strength.drainage import drainage_notices
from strength.envelope_fit import (
    ENVELOPES,
    INTERCEPTS,
    EnvelopeFit,
    Interval,
    fit_envelope,
)
from strength.errors import InputError, SlipmarginError
from strength.interpretation import Interpretation, interpretations
from strength.joint import JointStrength
from strength.laboratory import (
    Choices,
    Drainage,
    LaboratoryStrength,
    strength_from_readings,
)
from strength.line import Line, fit_line
from strength.notice import Notice, Severity, distinct
from strength.pair import Numeric, Pair
from strength.power_curve import PowerCurve
from strength.readings import STATES, Readings, ShearTests, reduce_readings
from strength.readings_csv import read_readings
from strength.specimen import Specimen
from strength.stated_strength import stated_against_fit
from strength.strength import Strength
from strength.stress_displacement import reduce_records, reduce_tests

__all__ = [
    "ENVELOPES",
    "INTERCEPTS",
    "STATES",
    "Choices",
    "Diagnosis",
    "Drainage",
    "EnvelopeFit",
    "InputError",
    "Interpretation",
    "Interval",
    "JointStrength",
    "LaboratoryStrength",
    "Line",
    "Notice",
    "Numeric",
    "Pair",
    "PowerCurve",
    "Readings",
    "Severity",
    "ShearTests",
    "SlipmarginError",
    "Specimen",
    "Strength",
    "diagnose",
    "distinct",
    "drainage_notices",
    "fit_envelope",
    "fit_line",
    "interpretations",
    "read_readings",
    "reduce_readings",
    "reduce_records",
    "reduce_tests",
    "stated_against_fit",
    "strength_from_readings",
]
