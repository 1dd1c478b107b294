"""Random cases of every kind through the program and through mechanics written apart from it.

Each kind draws a case, works it out both ways and returns the relative differences by name.
The bounds beside them are those of the oracle's own searches and sums.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import lines
import numpy as np
import slices
import spirals
import statics
from walls import CantileverWall, Fill, wall_factors

from slipmargin.stability import (
    EarthPressure,
    InfiniteSlope,
    LayeredSlope,
    PlanarWedge,
    RetainingWall,
    Rotational,
    Soil,
)
from slipmargin.stability.layered_slope import SlopeLayer
from slipmargin.stability.retaining_wall.section import Wall
from slipmargin.strength import (
    InputError,
    JointStrength,
    Readings,
    Strength,
    fit_envelope,
    reduce_readings,
)

Rng = np.random.Generator
Differences = dict[str, float]


@dataclass
class Found:
    """Of one kind: how many cases were compared, the largest difference, and the misses."""

    cases: int = 0
    left_out: int = 0
    largest: float = 0.0
    misses: list[str] = field(default_factory=list)


def apart(program: float, oracle: float) -> float:
    """Relative difference; nothing where both are without limit."""
    if np.isinf(program) and np.isinf(oracle):
        return 0.0
    return abs(program - oracle) / max(abs(oracle), 1e-9)


def soil(c: Any, phi: Any, gamma: float = 19.0, saturated: float | None = None) -> Soil:
    return Soil(
        strength=Strength(cohesion=c, friction_angle=phi),
        unit_weight=gamma,
        saturated_unit_weight=saturated,
    )


def factor(check: Any) -> float:
    return float(check.evaluate(leave_out=("overall",)).factors_of_safety["sliding"])


def maybe(rng: Rng, low: float, high: float, share: float = 0.5) -> float:
    """A value, or nothing as often as not."""
    return float(rng.uniform(low, high)) if rng.random() < share else 0.0


def ground(rng: Rng, height: float) -> list[list[float]]:
    """A ground line that rises from the toe, steep and flat by turns, and flattens out."""
    points = [[0.0, 0.0]]
    pieces = int(rng.integers(1, 4))
    for _ in range(pieces):
        rise = height / pieces
        points.append([points[-1][0] + rise / np.tan(np.radians(rng.uniform(40, 85))),
                       points[-1][1] + rise])  # fmt: skip
        if rng.random() < 0.5:
            points.append([points[-1][0] + rng.uniform(0.5, 3.0), points[-1][1] + 0.05])
    points.append([points[-1][0] + rng.uniform(1.0, 4.0) * height, points[-1][1] + 0.1 * height])
    return points


def planar_loads(rng: Rng) -> dict[str, float]:
    return {
        "surcharge": maybe(rng, 2.0, 40.0),
        "horizontal_seismic_coefficient": maybe(rng, 0.02, 0.3),
        "support_force": maybe(rng, 5.0, 60.0, 0.3),
        "support_angle": float(rng.uniform(-10.0, 40.0)),
        "pore_pressure_ratio": maybe(rng, 0.05, 0.4, 0.4),
    }


def by_vectors(loads: dict[str, float]) -> dict[str, float]:
    names = {
        "horizontal_seismic_coefficient": "shaking",
        "support_force": "support",
        "tension_crack_water_depth": "crack_water",
    }
    return {names.get(name, name): value for name, value in loads.items()}


def given_plane(rng: Rng) -> Differences:
    """A plane that is given, with a crack and water in it, on a slope or a ground line."""
    height, face = rng.uniform(3, 15), rng.uniform(45, 90)
    upper = maybe(rng, 1.0, 15.0)
    run = height / np.tan(np.radians(face))
    far = 60.0 * height
    points = [[0.0, 0.0], [run, height], [run + far, height + far * np.tan(np.radians(upper))]]
    c, phi, gamma = rng.uniform(2, 30), rng.uniform(20, 40), rng.uniform(16, 22)
    loads = planar_loads(rng)
    angle = rng.uniform(upper + 4.0, face - 4.0)
    crack: dict[str, float] = {}
    crack_x = None
    if rng.random() < 0.5:
        meets = (height - run * np.tan(np.radians(upper))) / (
            np.tan(np.radians(angle)) - np.tan(np.radians(upper))
        )
        crack = {"tension_crack_distance": float(rng.uniform(0.1, 0.9) * (meets - run))}
        crack_x = run + crack["tension_crack_distance"]
        if loads["pore_pressure_ratio"] == 0.0:
            deep = height + crack["tension_crack_distance"] * np.tan(np.radians(upper))
            deep -= crack_x * np.tan(np.radians(angle))
            crack["tension_crack_water_depth"] = float(rng.uniform(0.0, deep))
    check = PlanarWedge(
        soil=soil(c, phi, gamma), height=height, face_angle=face, upper_slope_angle=upper,
        plane_angle=angle, **loads, **crack,
    )  # fmt: skip
    water = {"crack_water": crack.get("tension_crack_water_depth", 0.0)}
    expected = statics.planar_factor(
        [np.array(p) for p in points], angle, cohesion=c, friction_angle=phi, unit_weight=gamma,
        crest_x=run, crack_x=crack_x, **by_vectors(loads), **water,
    )  # fmt: skip
    return {"factor": apart(factor(check), max(expected, 0.0))}


def searched_plane(rng: Rng) -> Differences:
    """The critical plane of a slope or of a ground line."""
    height = rng.uniform(3, 15)
    c, phi, gamma = rng.uniform(4, 40), rng.uniform(15, 40), rng.uniform(16, 22)
    loads = planar_loads(rng)
    loads["support_force"] *= 0.3
    shape: dict[str, Any]
    if rng.random() < 0.6:
        points = ground(rng, height)
        shape = {"ground_line": points}
        array = np.array(points)
        chord = np.interp(array[:, 0], [0.0, array[-1, 0]], [0.0, array[-1, 1]])
        crest = array[int(np.argmax((array[:, 1] - chord) * array[-1, 0])), 0]
        steepest = np.degrees(np.arctan2(array[1, 1], array[1, 0]))
        flattest = np.degrees(np.arctan2(array[-1, 1], array[-1, 0]))
    else:
        face, upper = rng.uniform(45, 89), maybe(rng, 1.0, 15.0)
        shape = {"height": height, "face_angle": face, "upper_slope_angle": upper}
        crest = height / np.tan(np.radians(face))
        far = 200.0 * height
        rise = far * np.tan(np.radians(upper))
        points = [[0.0, 0.0], [crest, height], [crest + far, height + rise]]
        steepest, flattest = face, upper + 0.3
    check = PlanarWedge(soil=soil(c, phi, gamma), **shape, **loads)
    expected = statics.critical_plane(
        [np.array(p) for p in points], flattest, steepest, cohesion=c, friction_angle=phi,
        unit_weight=gamma, crest_x=crest, **by_vectors(loads),
    )  # fmt: skip
    # a block that is lifted off its plane has no strength left
    return {"factor": apart(factor(check), max(expected, 0.0))}


def infinite(rng: Rng) -> Differences:
    """An endless slope: dry, with inclined seepage, or under still water; shaken or not."""
    state = rng.choice(["dry", "flow", "still"])
    depth = rng.uniform(0.5, 6.0)
    slope = rng.uniform(8, 40)
    numbers = {
        "slope_angle": slope,
        "depth": depth,
        "surcharge": 0.0 if state == "still" else maybe(rng, 1.0, 20.0),
    }
    if state == "flow":
        numbers["water_table_depth"] = rng.uniform(0.0, depth)
        if rng.random() < 0.7:
            numbers["seepage_angle"] = rng.uniform(0.0, 60.0)
    shaking = maybe(rng, 0.02, 0.3)
    c, phi, gamma, wet = rng.uniform(0, 15), rng.uniform(18, 42), 18.0, rng.uniform(19, 22)
    check = InfiniteSlope(
        soil=soil(c, phi, gamma, wet), **numbers, submerged=state == "still",
        horizontal_seismic_coefficient=shaking,
    )  # fmt: skip
    named = {"water_table_depth": "water_table"}
    expected = statics.column_factor(
        cohesion=c, friction_angle=phi, unit_weight=gamma, saturated=wet,
        submerged=state == "still", shaking=shaking,
        **{named.get(name, name): float(value) for name, value in numbers.items()},
    )  # fmt: skip
    if expected <= 0.05:
        return {}
    values = check.evaluate(leave_out=("overall",)).values
    found = {"factor": apart(factor(check), expected)}
    k_y = float(values.yield_seismic_coefficient)
    if 0.0 < k_y < 1.0:
        at_yield = statics.column_factor(
            cohesion=c, friction_angle=phi, unit_weight=gamma, saturated=wet,
            submerged=state == "still", shaking=k_y,
            **{named.get(name, name): float(value) for name, value in numbers.items()},
        )  # fmt: skip
        found["factor at the yield coefficient"] = apart(at_yield, 1.0)
    return found


def rotation(rng: Rng) -> Differences:
    """The hardest of thousands of spirals at the strength that the program says just holds."""
    height, face = rng.uniform(4, 15), rng.uniform(25, 80)
    crest = height / np.tan(np.radians(face))
    upper = maybe(rng, 2.0, 10.0, 0.3)
    far = 30.0 * height
    points = [[-far, 0.0], [0.0, 0.0], [crest, height],
              [crest + far, height + far * np.tan(np.radians(upper))]]  # fmt: skip
    loads = {
        "surcharge": maybe(rng, 5.0, 30.0, 0.4),
        "horizontal_seismic_coefficient": maybe(rng, 0.03, 0.2, 0.4),
        "pore_pressure_ratio": maybe(rng, 0.05, 0.4, 0.4),
    }
    c, phi, gamma = rng.uniform(5, 30), rng.uniform(18, 40), rng.uniform(16, 22)
    check = Rotational(
        soil=soil(c, phi, gamma), height=height, face_angle=face, upper_slope_angle=upper, **loads
    )
    result = check.evaluate(leave_out=("overall",))
    if any(n.code == "endless-ground-governs" for n in result.notices):
        return {}
    found = float(result.lowest)
    hill = spirals.Hill(
        np.array(points), gamma, loads["surcharge"], crest,
        loads["horizontal_seismic_coefficient"], loads["pore_pressure_ratio"],
    )  # fmt: skip
    tan = np.tan(np.radians(phi)) / found
    needed = spirals.hardest(hill, tan, height, rng)
    # of the strength at the depth of the slope: what c′ / F is measured against
    return {"cohesion needed": abs(needed - c / found) / (c / found + 0.1 * gamma * height * tan)}


def rotation_forms(rng: Rng) -> Differences:
    """One ground given by height and angle, and by points: the program against itself."""
    height, face, place = rng.uniform(2, 15), rng.uniform(18, 90), rng.uniform(0.1, 0.95)
    run = height / np.tan(np.radians(face))
    before, behind = rng.uniform(1, 8, 2) * height
    line = [[0.0, 0.0], [place * run, place * height], [run, height]]
    if rng.random() < 0.5:
        line = [[-before, 0.0], [0.0, 0.0], [run, height], [run + behind, height]]
    bank = soil(np.exp(rng.uniform(-6.0, 4.0, 8)) * np.arange(8), rng.uniform(3.0, 44.0, 8))
    loads = {
        "surcharge": maybe(rng, 1.0, 80.0, 0.7),
        "horizontal_seismic_coefficient": maybe(rng, 0.02, 0.25),
        "pore_pressure_ratio": maybe(rng, 0.02, 0.4, 0.3),
    }
    by_angle, by_points = (
        Rotational(soil=bank, **shape, **loads)
        .evaluate(leave_out=("overall",))
        .factors_of_safety["sliding"]
        for shape in ({"height": height, "face_angle": face}, {"ground_line": line})
    )
    # of a bare upright face under a load: factors below 0.05 are nothing to a relative bound
    return {"factor": float(np.max(np.abs(by_angle - by_points) / np.maximum(by_points, 0.05)))}


def thrust(rng: Rng) -> Differences:
    """Coulomb, Mononobe-Okabe and trial wedges by force polygons, active and passive."""
    active = bool(rng.random() < 0.6)
    height, batter = rng.uniform(2, 9), rng.uniform(-10, 20)
    phi = rng.uniform(24, 42)
    slope = rng.uniform(-8, 0.5 * phi) if active else rng.uniform(-10, 8)
    delta = rng.uniform(0, 0.66 * phi if active else 0.33 * phi)
    shaking = maybe(rng, 0.02, 0.2, 0.4)
    lift = maybe(rng, -0.1, 0.1, 0.3) if shaking else 0.0
    theory = str(rng.choice(["coulomb", "trial_wedge"]))
    c = rng.uniform(0.0, 10.0) if theory == "trial_wedge" else 0.0
    adhesion = maybe(rng, 0.0, 0.6, 0.4) * c
    surcharge = maybe(rng, 2.0, 30.0)
    top = np.array([-height * np.tan(np.radians(batter)), height])
    check = EarthPressure(
        soil=soil(c, phi), height=height, theory=theory, side="active" if active else "passive",
        wall_friction_angle=delta, wall_adhesion=adhesion, wall_batter=batter,
        backfill_slope_angle=slope, surcharge=surcharge, tension_crack=False,
        horizontal_seismic_coefficient=shaking, vertical_seismic_coefficient=lift,
    )  # fmt: skip
    end = top + 80.0 * height * np.array([1.0, np.tan(np.radians(slope))])
    expected = statics.wedge_thrust(
        [np.zeros(2), top, end], active=active, friction_angle=phi, unit_weight=19.0,
        wall_friction=delta, cohesion=c, adhesion=adhesion, surcharge=surcharge,
        shaking=shaking, lift=lift,
    )  # fmt: skip
    if not np.isfinite(expected) or expected < 1.0:
        return {}
    return {"thrust": apart(float(check.evaluate(leave_out=("overall",)).values.thrust), expected)}


def rankine(rng: Rng) -> Differences:
    """Rankine on a slope, with cohesion, by circles of stress at many depths."""
    active = bool(rng.random() < 0.6)
    phi, height = rng.uniform(22, 42), rng.uniform(2, 9)
    slope, c = rng.uniform(0, 0.8 * phi), maybe(rng, 1.0, 12.0)
    check = EarthPressure(
        soil=soil(c, phi), height=height, theory="rankine",
        side="active" if active else "passive", backfill_slope_angle=slope,
    )  # fmt: skip
    expected = statics.conjugate_thrust(
        height=height, slope=slope, active=active, friction_angle=phi, cohesion=c, unit_weight=19.0
    )
    found = float(check.evaluate(leave_out=("overall",)).values.thrust)
    if expected < 0.02 * 19.0 * height**2:
        return {}
    return {"thrust": apart(found, expected)}


def wall(rng: Rng) -> Differences:
    """Sliding, overturning and pressures of a cantilever by summing polygons."""
    made = CantileverWall(
        stem=rng.uniform(2, 6), slab=rng.uniform(0.3, 0.7), top=rng.uniform(0.2, 0.35),
        foot=rng.uniform(0.35, 0.6), toe=rng.uniform(0.3, 1.2), heel=rng.uniform(1.0, 3.0),
        unit_weight=24.0,
    )  # fmt: skip
    phi, below, gamma, saturated = rng.uniform(26, 40), rng.uniform(26, 38), 18.0, 20.0
    wet = rng.random() < 0.4
    slope = 0.0 if wet else maybe(rng, 2.0, 15.0)
    shaking = 0.0 if wet else maybe(rng, 0.02, 0.15)
    height = made.stem + made.slab
    table = rng.uniform(0.0, height) if wet else None
    surcharge, delta = maybe(rng, 2.0, 20.0), rng.uniform(15, 28)
    embedment, share = rng.uniform(made.slab, 1.2), maybe(rng, 0.1, 1.0)
    check = RetainingWall(
        backfill=soil(0.0, phi, gamma, saturated), foundation=soil(0.0, below, gamma, saturated),
        wall=Wall(
            unit_weight=24.0, shape="cantilever", stem_height=made.stem,
            stem_top_thickness=made.top, stem_bottom_thickness=made.foot, toe_width=made.toe,
            heel_width=made.heel, base_thickness=made.slab,
        ),
        backfill_slope_angle=slope, surcharge=surcharge, base_friction_angle=delta,
        water_table_depth=table, embedment=embedment, passive_fraction=share,
        horizontal_seismic_coefficient=shaking,
    )  # fmt: skip
    factors = check.evaluate(leave_out=("overall",)).factors_of_safety
    expected = wall_factors(
        made, Fill(phi, gamma, saturated, slope, surcharge), table=table, shaking=shaking,
        base_friction=delta, passive=share, embedment=embedment, below=below,
    )  # fmt: skip
    return {name: apart(float(factors[name]), value) for name, value in expected.items()}


def fitted_line(rng: Rng) -> Differences:
    """A least-squares line, its errors and its limits, and the statistic of its joint region."""
    tests = int(rng.integers(3, 9))
    normal = np.sort(rng.uniform(15.0, 300.0, tests))
    shear = rng.uniform(5, 30) + np.tan(np.radians(rng.uniform(20, 40))) * normal
    shear = shear + rng.normal(0.0, rng.uniform(0.5, 4.0), tests)
    readings = Readings(
        test=tuple(str(i) for i in range(tests)), state=("peak",) * tests, normal=normal,
        shear=shear, unit="kPa",
    )  # fmt: skip
    reduced = reduce_readings(readings)
    origin = fit_envelope(reduced, intercept="zero")
    zero = lines.through_origin(normal, shear)
    assert origin.cautious is not None
    found = {
        "slope through the origin": apart(_tan(origin.best_fit.friction_angle), zero["slope"]),
        "cautious through the origin": apart(
            _tan(origin.cautious.friction_angle), zero["slope_cautious"]
        ),
    }
    expected = lines.least_squares(normal, shear)
    if expected["intercept"] < 0.1:
        return found
    fit = fit_envelope(reduced)
    assert fit.interval is not None
    assert fit.interval.cohesion is not None
    joint = JointStrength.of(fit)
    pair = expected["intercept"] * 0.9, np.degrees(np.arctan(expected["slope"] * 1.03))
    statistic = lines.joint_statistic(normal, shear, pair[0], _tan(pair[1]))
    return found | {
        "intercept": apart(float(fit.best_fit.cohesion), expected["intercept"]),
        "slope": apart(_tan(fit.best_fit.friction_angle), expected["slope"]),
        "intercept error": apart(fit.standard_error_cohesion or 0.0, expected["intercept_error"]),
        "slope error": apart(fit.standard_error_tan or 0.0, expected["slope_error"]),
        "correlation": apart(fit.correlation or 0.0, expected["correlation"]),
        "highest cohesion": apart(fit.interval.cohesion[1], expected["intercept_high"]),
        "lowest cohesion": abs(fit.interval.cohesion[0] - max(expected["intercept_low"], 0.0)),
        "highest angle": apart(_tan(fit.interval.friction_angle[1]), expected["slope_high"]),
        "lowest angle": apart(_tan(fit.interval.friction_angle[0]), expected["slope_low"]),
        "r squared": apart(fit.r_squared, expected["r_squared"]),
        "scatter": apart(fit.residual_std or 0.0, expected["residual_std"]),
        "joint statistic": apart(_distance(joint, pair[0], _tan(pair[1])), statistic),
    }


def _distance(joint: JointStrength, intercept: float, slope: float) -> float:
    """Squared distance of a line from the centre, as an F statistic over two."""
    shift = [intercept - joint.intercept, slope - joint.slope]
    return float(np.sum(np.linalg.solve(joint.factor, shift) ** 2)) / 2.0


def _tan(angle: float) -> float:
    return float(np.tan(np.radians(angle)))


def joint_regions(rng: Rng, series: int) -> float:
    """Share of simulated series whose joint 95 % region holds the truth, c′ far above zero."""
    from scipy.stats import f

    held = 0
    for _ in range(series):
        tests = int(rng.integers(3, 8))
        normal = np.linspace(25.0, 250.0, tests)
        shear = 60.0 + 0.6 * normal + rng.normal(0.0, 2.0, tests)
        readings = Readings(
            test=tuple(str(i) for i in range(tests)), state=("peak",) * tests, normal=normal,
            shear=shear, unit="kPa",
        )  # fmt: skip
        joint = JointStrength.of(fit_envelope(reduce_readings(readings)))
        held += _distance(joint, 60.0, 0.6) <= f.ppf(0.95, 2, tests - 2)
    return held / series


def layered(rng: Rng) -> Differences:
    """How far a searched factor lies above that of the best circle found by trial."""
    height, benches = rng.uniform(4.0, 14.0), int(rng.integers(0, 2))
    ground, x = [[-30.0, 0.0], [0.0, 0.0]], 0.0
    for bench in range(benches + 1):
        x += height / (benches + 1) * rng.uniform(0.7, 2.5)
        y = height * (bench + 1) / (benches + 1)
        ground.append([x, y])
        if bench < benches:
            x += rng.uniform(1.0, 4.0)
            ground.append([x, y])
    ground.append([x + 60.0, height + rng.uniform(0.0, 2.0)])
    count = int(rng.integers(1, 4))
    tops = [
        [[-30.0, level + rng.uniform(-0.5, 0.5)], [x + 60.0, level + rng.uniform(-0.5, 1.5)]]
        for level in height * (0.6 - 0.45 * np.arange(count - 1)) * rng.uniform(0.7, 1.0)
    ]
    pairs = [(rng.uniform(3.0, 20.0), rng.uniform(12.0, 36.0)) for _ in range(count)]
    weights = rng.uniform(17.0, 21.0, count)
    deep, q, near = rng.uniform(0.0, 0.5) * height, rng.uniform(0.0, 30.0), rng.uniform(0.5, 3.0)
    ratio, k = rng.uniform(0.0, 0.35), rng.uniform(0.0, 0.12)
    check = LayeredSlope(
        ground_line=ground,
        layers=tuple(
            SlopeLayer(soil=soil(*pair, float(gamma)), top=tops[at - 1] if at else None)
            for at, (pair, gamma) in enumerate(zip(pairs, weights, strict=True))
        ),
        firm_ground_depth=deep,
        pore_pressure_ratio=ratio,
        horizontal_seismic_coefficient=k,
        surcharge=q,
        surcharge_setback=near,
        surcharge_width=4.0,
    )
    section = slices.Section(
        np.asarray(ground),
        [np.asarray(top) for top in tops],
        [c for c, _ in pairs],
        [float(np.tan(np.radians(phi))) for _, phi in pairs],
        weights.tolist(),
        firm=-deep,
        ratio=ratio,
        shaking=k,
        load=(q, x + near, x + near + 4.0),
    )
    reach = -1.5 * height, x + 2.0 * height
    tried = slices.lowest_circle(section, reach, 0.055 * height, rng)
    factors = [one.spencer() for one in tried]
    if not np.any(np.isfinite(factors)):
        return {}
    found = float(check.factors_alone()["sliding"])
    return {"above": max(found / float(np.nanmin(factors)) - 1.0, 0.0)}


KINDS: dict[str, tuple[Callable[[Rng], Differences], float]] = {
    "planar wedge, given plane": (given_plane, 1e-12),
    "planar wedge, searched plane": (searched_plane, 1e-6),
    "infinite slope": (infinite, 1e-12),
    "rotation": (rotation, 1e-4),
    "rotation, both forms of one ground": (rotation_forms, 1e-4),
    "layered slope": (layered, 3e-3),
    "earth pressure, trial wedges": (thrust, 1e-6),
    "earth pressure, Rankine": (rankine, 1e-5),
    "retaining wall": (wall, 1e-4),
    "fitted line": (fitted_line, 1e-9),
}
"""Every kind with the bound on its differences."""


def compare(kind: str, cases: int, seed: int) -> Found:
    """Run random cases of one kind; each has a seed of its own, so that a miss can be repeated."""
    work, bound = KINDS[kind]
    found = Found()
    for case in range(cases):
        try:
            differences = work(np.random.default_rng([seed, case]))
        except InputError as error:
            # a case that the check refuses is no answer to compare
            found.left_out += 1
            if found.left_out > cases // 2:
                found.misses.append(f"most cases are refused, the last: {error}")
            continue
        if not differences:
            found.left_out += 1
            continue
        found.cases += 1
        for name, value in differences.items():
            found.largest = max(found.largest, value) if np.isfinite(value) else np.inf
            if not value <= bound:
                found.misses.append(f"case {case}: {name} differs by {value:.2g}")
    return found
