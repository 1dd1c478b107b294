"""From readings to a strength that may be used, with everything that was noticed on the way.

One call for all who need it: reduction, fit, diagnosis, drainage, and strengths stated by
others. Every choice between gauge and (c′, φ′) is an argument here.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slipmargin.strength.envelope.diagnosis import Diagnosis
from slipmargin.strength.envelope.diagnostics import diagnose
from slipmargin.strength.envelope.fit import EnvelopeFit, fit_envelope
from slipmargin.strength.envelope.fitted import TRAVELLING, Interpretation, fit_table
from slipmargin.strength.envelope.interpretation import interpretations, stated_as_read
from slipmargin.strength.envelope.plot import plot_with_records
from slipmargin.strength.envelope.stated_strength import StatedAgainstFit, stated_against_fit
from slipmargin.strength.envelope.strength import Strength
from slipmargin.strength.envelope.working import fit_steps
from slipmargin.strength.errors import InputError, need
from slipmargin.strength.laboratory.drainage import drainage_notices
from slipmargin.strength.laboratory.readings import Readings
from slipmargin.strength.laboratory.reduction_working import reduction_steps
from slipmargin.strength.laboratory.specimen import Specimen
from slipmargin.strength.laboratory.stress_displacement import reduce_tests
from slipmargin.strength.notice import Notice, distinct
from slipmargin.strength.pair import Pair
from slipmargin.strength.rare_values import rare_specimen
from slipmargin.strength.short_table import ShortTable, shown
from slipmargin.strength.working import Steps

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["Choices", "Drainage", "LaboratoryStrength", "strength_from_readings"]


_UNUSED = Notice.info(
    "specimen-not-used",
    "The specimen given is that of a shear box: triaxial readings are stresses already, and "
    "neither its size nor its times were used.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drainage:
    """What is known of the speed of the tests; see ``drainage_notices``. Times in minutes."""

    time_to_failure: float | None = None
    rate: float | None = None
    displacement_at_failure: float | None = None
    t50: float | None = None
    t90: float | None = None
    dry: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """The choices between readings and a strength; see ``fit_envelope``, ``reduce_tests``."""

    state: str = "peak"
    intercept: str = "non_negative"
    envelope: str = "line"
    confidence: float = 0.95
    area_correction: bool = False
    cohesionless: bool = False
    soil_class: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LaboratoryStrength:
    """A fit with its diagnosis and all notices.

    ``caveats`` are those of specimen and speed that travel with the strength beside the fit's;
    ``other_tests`` are tests of another kind on the same soil, see ``set_beside``.
    """

    readings: Readings
    specimen: Specimen | None
    choices: Choices
    fit: EnvelopeFit
    diagnosis: Diagnosis | None
    stated: tuple[StatedAgainstFit, ...]
    caveats: tuple[Notice, ...]
    notices: tuple[Notice, ...]
    other_tests: LaboratoryStrength | None = None

    def __repr__(self) -> str:
        return self._table().text()

    def _repr_html_(self) -> str:
        """The line, its uncertainty, strengths stated by others and all notices, for a notebook."""
        return self._table().html()

    def _table(self) -> ShortTable:
        table = fit_table(self.fit, self.notices)
        names = (("c′", "cohesion", self.fit.tests.unit), ("φ′", "friction_angle", "deg"))
        stated = [
            (f"stated by {one.who}, {what}", shown(getattr(one.stated, name), of), *"---", of)
            for one in self.stated
            for what, name, of in names
        ]
        return dataclasses.replace(table, rows=[*table.rows, *stated])

    def strength(self, value: str = "best_fit") -> Strength:
        """The strength a check may use; see ``EnvelopeFit.strength``."""
        found = self.fit.strength(value)
        return dataclasses.replace(found, caveats=distinct([*found.caveats, *self.caveats]))

    def beside(self, stated: Mapping[str, Pair]) -> LaboratoryStrength:
        """The same with further pairs that others stated, by who stated them."""
        more = _against(self.fit, stated)
        notices = distinct([*self.notices, *(n for one in more for n in one.notices)])
        return dataclasses.replace(self, stated=(*self.stated, *more), notices=notices)

    def plot(self) -> Figure:
        """Draw tests, line and band, and the lines others stated; records above them."""
        stated = [stated_as_read(one.who, one.stated) for one in self.stated]
        return plot_with_records(self.fit, stated)

    def working(self) -> Steps:
        """Every step from the readings to c′ and φ′, with its numbers."""
        of = (self.readings, self.specimen, self.fit.tests)
        read = reduction_steps(*of, area_correction=self.choices.area_correction)
        return Steps([*read, *fit_steps(self.fit)])

    def set_beside(self, other: LaboratoryStrength) -> LaboratoryStrength:
        """The same, with tests of another kind on the same soil set beside them.

        They are interpretations of their own; whether the two agree is said in a notice. A
        specimen that only they have a use for is not told of as unused.
        """
        used = () if other.specimen is None else (_UNUSED,)
        own = (one for one in self.notices if one not in used)
        theirs = (one for one in other.fit.tests.notices if one.code in TRAVELLING)
        notices = distinct([*own, _compared(self.fit, other.fit), *theirs, *other.caveats])
        return dataclasses.replace(self, other_tests=other, notices=notices)

    def interpretations(self, operating_stress: float | None = None) -> tuple[Interpretation, ...]:
        """Every interpretation of the same readings, and of those set beside them."""
        choices = self.choices
        own = interpretations(
            self.readings,
            self.specimen,
            confidence=choices.confidence,
            state=choices.state,
            intercept=self.fit.intercept,  # of a soil declared cohesionless that is zero
            envelope=choices.envelope,
            area_correction=choices.area_correction,
            stated={one.who: one.stated for one in self.stated},
            operating_stress=operating_stress,
        )
        if self.other_tests is None:
            return own
        kind = self.other_tests.fit.plane.kind_words
        return *own, *(
            dataclasses.replace(one, name=f"{kind}: {one.name}")
            for one in self.other_tests.interpretations(operating_stress)
        )


def strength_from_readings(
    readings: Readings,
    specimen: Specimen | None = None,
    *,
    choices: Choices | None = None,
    drainage: Drainage | None = None,
    stated: Mapping[str, Pair] | None = None,
) -> LaboratoryStrength:
    """Reduce, fit and judge readings.

    Parameters
    ----------
    readings, specimen
        As they come.
    choices
        The documented defaults without it.
    drainage
        What is known of the speed of the tests.
    stated
        Pairs that others stated for the same soil, by who stated them.

    Raises
    ------
    InputError
        For the first thing that cannot be used.

    Examples
    --------
    >>> from slipmargin.strength import Readings, strength_from_readings
    >>> readings = Readings(
    ...     test="1234", normal=[25.0, 50.0, 100.0, 150.0], shear=[20.3, 35.2, 65.8, 94.9]
    ... )
    >>> found = strength_from_readings(readings)
    >>> round(float(found.strength().friction_angle), 1)
    30.9
    >>> cautious = found.strength("cautious")
    >>> bool(cautious.cohesion < found.strength().cohesion)
    True
    """
    need("readings", readings, Readings, "Readings, such as read_readings(path) gives")
    for name, given, kind in (
        ("specimen", specimen, Specimen),
        ("choices", choices, Choices),
        ("drainage", drainage, Drainage),
    ):
        need(name, given, (kind, type(None)), f"a record of the kind {kind.__name__}")
    need("stated", stated, (Mapping, type(None)), "pairs by who stated them")
    choices = choices or Choices()
    drainage = drainage or Drainage()
    _refuse_two_zeros(readings, specimen)
    tests = reduce_tests(
        readings, specimen, state=choices.state, area_correction=choices.area_correction
    )
    fit = fit_envelope(
        tests,
        intercept=choices.intercept,
        confidence=choices.confidence,
        cohesionless=choices.cohesionless,
        envelope=choices.envelope,
    )
    # a curvature or a leverage needs a line through at least three tests
    diagnosis = diagnose(fit, choices.soil_class) if len(tests.names) > 2 else None
    known = dataclasses.asdict(drainage)
    if drainage.time_to_failure is None and drainage.rate is None and tests.rate is not None:
        known |= {"rate": tests.rate, "displacement_at_failure": tests.displacement}
    if not readings.plane.has_circles:
        speed = drainage_notices(**known, soil_class=choices.soil_class)
    else:
        # the times asked for are those of a shear box
        speed = (_UNUSED,) if specimen is not None else ()
    size = rare_specimen(specimen)
    against = _against(fit, stated or {})
    notices = [
        *fit.notices,
        *(diagnosis.notices if diagnosis else ()),
        *speed,
        *size,
        *(notice for one in against for notice in one.notices),
    ]
    return LaboratoryStrength(
        readings=readings,
        specimen=specimen,
        choices=choices,
        fit=fit,
        diagnosis=diagnosis,
        stated=against,
        caveats=(*(n for n in speed if n.code in TRAVELLING), *size),
        notices=distinct(notices),
    )


def _against(fit: EnvelopeFit, stated: Mapping[str, Pair]) -> tuple[StatedAgainstFit, ...]:
    """Stated pairs held against a fit, whose intercept has to be a stress for that."""
    for who, pair in stated.items():
        if fit.tests.unit == "N" and float(pair.cohesion) > 0.0:
            raise InputError(
                f"cohesion stated by {who}",
                f"{float(pair.cohesion):g} kPa",
                "the readings are forces: give the specimen's shape and width to compare it",
            )
    return tuple(stated_against_fit(fit, pair, who) for who, pair in stated.items())


def _refuse_two_zeros(readings: Readings, specimen: Specimen | None) -> None:
    """The reading at no load is taken off once, in divisions or in force."""
    if specimen is None or "dial" not in readings.taken:
        return
    if specimen.zero_reading and readings.apparatus.zero:
        raise InputError(
            "zero_reading",
            f"{specimen.zero_reading:g} N",
            f"dial_zero, {readings.apparatus.zero:g} div, is taken off every dial reading "
            "already; leave out one of the two",
        )


def _compared(fit: EnvelopeFit, other: EnvelopeFit) -> Notice:
    """What tests of another kind on the same soil say of its strength."""
    pair, kind = other.best_fit, other.plane.kind_words
    text = (
        f"The {kind} tests set beside these give c′ = {float(pair.cohesion):.1f} "
        f"{other.tests.unit} and φ′ = {float(pair.friction_angle):.1f} deg, against "
        f"{float(fit.best_fit.cohesion):.1f} {fit.tests.unit} and "
        f"{float(fit.best_fit.friction_angle):.1f} deg."
    )
    if fit.interval is None or other.interval is None:
        return Notice.info("test-kinds-beside", f"{text} Too few tests tell whether they agree.")
    low = max(fit.interval.friction_angle[0], other.interval.friction_angle[0])
    high = min(fit.interval.friction_angle[1], other.interval.friction_angle[1])
    if low <= high:
        return Notice.info("test-kinds-beside", text)
    return Notice.caution(
        "test-kinds-differ",
        f"{text} Their {fit.confidence:.0%} limits of φ′ do not meet: look for other density, "
        "drainage, direction of shearing, or strain at failure.",
    )
