"""From shear readings to an effective strength with its uncertainty."""

from slipmargin.strength.envelope.diagnosis import Diagnosis
from slipmargin.strength.envelope.diagnostics import diagnose
from slipmargin.strength.envelope.fit import ENVELOPES, INTERCEPTS, EnvelopeFit, fit_envelope
from slipmargin.strength.envelope.fitted import Interval
from slipmargin.strength.envelope.interpretation import Interpretation, interpretations
from slipmargin.strength.envelope.joint import JointStrength
from slipmargin.strength.envelope.power_curve import PowerCurve
from slipmargin.strength.envelope.stated_strength import stated_against_fit
from slipmargin.strength.envelope.strength import Strength
from slipmargin.strength.errors import InputError, SlipmarginError
from slipmargin.strength.from_laboratory import (
    Choices,
    Drainage,
    LaboratoryStrength,
    strength_from_readings,
)
from slipmargin.strength.laboratory.apparatus import Apparatus, RingCalibration
from slipmargin.strength.laboratory.drainage import drainage_notices
from slipmargin.strength.laboratory.readings import STATES, Readings
from slipmargin.strength.laboratory.readings_csv import read_readings
from slipmargin.strength.laboratory.shear_tests import ShearTests, reduce_readings
from slipmargin.strength.laboratory.specimen import Specimen
from slipmargin.strength.laboratory.stress_displacement import reduce_tests
from slipmargin.strength.laboratory.triaxial import triaxial_readings
from slipmargin.strength.line import Line, fit_line
from slipmargin.strength.notice import Notice, Severity, distinct
from slipmargin.strength.pair import Numeric, Pair

__all__ = [
    "ENVELOPES",
    "INTERCEPTS",
    "STATES",
    "Apparatus",
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
    "RingCalibration",
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
    "reduce_tests",
    "stated_against_fit",
    "strength_from_readings",
    "triaxial_readings",
]
