"""The forces on a retaining wall against the same forces found by hand."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from made import cantilever, soil
from made import retaining_wall as check
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.optimize import brentq

from slipmargin.stability.earth_pressure.coefficients import coulomb
from slipmargin.stability.earth_pressure.trial_wedge import trial_wedge
from slipmargin.stability.retaining_wall.check import RetainingWall
from slipmargin.stability.retaining_wall.section import Wall

HARD = {
    "rankine": {
        "backfill": soil(6.0, 30.0, 18.0, 20.0),
        "foundation": soil(8.0, 28.0, 18.5, 20.0),
        "backfill_slope_angle": 12.0,
        "surcharge": 12.0,
        "water_table_depth": 2.5,
        "water_level_in_front": 1.3,
        "embedment": 1.2,
        "passive_fraction": 0.5,
        "base_adhesion": 4.0,
        "horizontal_seismic_coefficient": 0.08,
    },
    "coulomb": {
        "backfill": soil(3.0, 34.0, 18.0, 20.5),
        "foundation": soil(8.0, 33.0, 18.5, 20.0),
        "wall": Wall(
            unit_weight=23.0,
            shape="gravity",
            height=5.0,
            top_width=0.8,
            base_width=3.6,
            back_offset=1.1,
        ),
        "theory": "coulomb",
        "wall_friction_angle": 20.0,
        "backfill_slope_angle": 8.0,
        "surcharge": 9.0,
        "water_table_depth": 1.8,
        "embedment": 0.9,
        "horizontal_seismic_coefficient": 0.1,
    },
}


def face_of(wall: RetainingWall) -> tuple[float, float, float, float]:
    """Height, batter [rad], angle of the thrust from the normal [rad] and foot of its plane."""
    w = wall.wall
    if wall.theory == "rankine":
        beta = math.radians(wall.backfill_slope_angle)
        width = w.toe_width + w.stem_bottom_thickness + w.heel_width
        height = w.base_thickness + w.stem_height + w.heel_width * math.tan(beta)
        return height, 0.0, beta, width
    batter = math.atan2(w.back_offset, w.height)
    return w.height, batter, math.radians(wall.wall_friction_angle), w.base_width


def drawn(wall: RetainingWall) -> tuple[shapely.Polygon, shapely.Polygon, float]:
    """Wall, soil counted with it, and height of the wall, drawn corner by corner."""
    w = wall.wall
    if w.shape == "gravity":
        edge = w.base_width - w.back_offset
        corners = [(0, 0), (w.base_width, 0), (edge, w.height), (edge - w.top_width, w.height)]
        return shapely.Polygon(corners), shapely.Polygon(), w.height
    stem = w.toe_width + w.stem_bottom_thickness
    heel, slab = stem + w.heel_width, w.base_thickness
    top = slab + w.stem_height
    rise = w.heel_width * math.tan(math.radians(wall.backfill_slope_angle))
    concrete = shapely.Polygon(
        [(0, 0), (heel, 0), (heel, slab), (stem, slab), (stem, top),
         (stem - w.stem_top_thickness, top), (w.toe_width, slab), (0, slab)]
    )  # fmt: skip
    fill = shapely.Polygon([(stem, slab), (heel, slab), (heel, top + rise), (stem, top)])
    return concrete, fill, top


def thrusts_by_hand(wall: RetainingWall) -> tuple[float, float, float]:
    """Static thrust, its height and what shaking adds: the largest of the theory's pressure by
    quadrature, of the trial wedge and of the minimum earth pressure, each with its moment.
    """
    height, batter, delta, _ = face_of(wall)
    top = drawn(wall)[2]
    soil_, c = wall.backfill, wall.backfill.strength.cohesion
    phi, gw = wall.backfill.strength.friction_angle, wall.water_unit_weight
    beta, level = math.radians(wall.backfill_slope_angle), top - wall.water_table_depth
    load = wall.surcharge * math.cos(batter) * math.cos(beta) / math.cos(batter - beta)
    angles: dict[str, Any] = {
        "wall_friction_angle": math.degrees(delta),
        "wall_batter": math.degrees(batter),
        "backfill_slope_angle": wall.backfill_slope_angle,
    }

    def stress(y: float, wet: float) -> float:
        dry = height - max(y, level)
        return load + soil_.unit_weight * dry + wet * (height - y - dry)

    def level_of(pressed: float) -> float:
        found = brentq(lambda y: stress(y, sat - gw) - pressed, -50.0, 50.0)
        return float(min(max(found, 0.0), height))

    def over(function: Any, kink: float = height) -> float:
        kinks = sorted({0.0, level, kink, height})
        return sum(
            quad(function, low, high, epsabs=1e-12, epsrel=1e-12)[0]
            for low, high in pairwise(kinks)
        )

    def whole(k: float, held: float, y: float) -> float:
        return max(k * stress(y, sat - gw) - held * c, 0.0)

    def rankine(y: float) -> float:
        """The traction on a plane parallel to the ground is vertical; the soil fails."""
        s, tan = stress(y, sat - gw), math.tan(beta)
        sin, cos = math.sin(math.radians(phi)), math.cos(math.radians(phi))

        def beyond(x: float) -> float:
            z = s + x * tan**2
            return math.hypot((z - x) / 2, x * tan) - (z + x) / 2 * sin - c * cos

        passive_side = s / (1.0 - tan**2)
        if beyond(0.0) <= 0.0:
            return 0.0
        low = brentq(beyond, 0.0, min(passive_side, s), xtol=1e-14, rtol=1e-15)
        return low / math.cos(beta)

    sat = soil_.saturated_unit_weight
    k_h = wall.horizontal_seismic_coefficient
    p = math.radians(phi)
    k_c = 2 * math.cos(p) * math.cos(batter - beta) / math.cos(batter)
    k_c /= 1 + math.sin(p + delta + batter - beta)
    psi = over(lambda y: stress(y, sat)) / over(lambda y: stress(y, sat - gw))
    psi = math.degrees(math.atan(k_h * psi))
    k_a, k_ae, k_m, k_me = (
        float(coulomb(one, seismic_angle=lean, **angles))
        for one in (phi, 40.0)
        for lean in (0.0, psi)
    )
    straight = [over(lambda y, k=k: whole(k, k_c, y), level_of(k_c * c / k)) for k in (k_a, k_ae)]
    added = straight[1] - straight[0]
    half = 2.0 * c * math.tan(math.radians(45.0 + phi / 2))
    law, kink = rankine, level_of(half)
    if wall.theory == "coulomb":
        law, kink = lambda y: whole(k_a, k_c, y), level_of(k_c * c / k_a)
    own, turn = over(law, kink), over(lambda y: law(y) * y, kink)
    least, least_turn = (over(lambda y, n=n: whole(k_m, 0.0, y) * y**n) for n in (0, 1))

    def wedge(phi: float, c: float, crack: float, k_h: float) -> float:
        found = trial_wedge(
            "active",
            height=height,
            friction_angle=phi,
            unit_weight=soil_.unit_weight,
            saturated_unit_weight=sat,
            cohesion=c,
            surcharge=wall.surcharge,
            crack_depth=crack,
            water_table_depth=height - level,
            k_h=k_h,
            **angles,
        )
        return float(found.thrust)

    crack = height - level_of(half)
    still, shaken = (wedge(phi, c, crack, one) for one in (0.0, k_h))
    low, low_shaken = (wedge(40.0, 0.0, 0.0, one) for one in (0.0, k_h))
    held, held_shaken = max(least, low), max(least * k_me / k_m, low_shaken)
    thrust = max(own, still, held)
    moment = max(turn, still * turn / own, held * least_turn / least)
    return thrust, moment / thrust, max(own + added, shaken, held_shaken) - thrust


def loads_by_hand(wall: RetainingWall) -> list[tuple[float, float, float, float]]:
    """(outward, down, x, y) of every load: weights by shapely, pressures by quadrature."""
    height, batter, delta, foot = face_of(wall)
    concrete, fill, top = drawn(wall)
    fill_soil, gw = wall.backfill, wall.water_unit_weight
    level = top - wall.water_table_depth
    before = wall.water_level_in_front or 0.0
    free = max(before - wall.embedment, 0.0)
    k_h = wall.horizontal_seismic_coefficient
    sat = fill_soil.saturated_unit_weight
    loads = []
    thrust, y_thrust, added = thrusts_by_hand(wall)
    for force, y in ((thrust, y_thrust), (added, 0.6 * height)):
        turned = delta + batter
        loads.append(
            (force * math.cos(turned), force * math.sin(turned), foot - y * math.tan(batter), y)
        )
    loads += [
        (gw * level**2 / 2, 0.0, 0.0, level / 3),
        (0.0, gw * level**2 / 2 * math.tan(batter), foot - level / 3 * math.tan(batter), 0.0),
        (-gw * before**2 / 2, 0.0, 0.0, before / 3),
        # Westergaard's pull of free water above the ground in front
        (
            7 / 12 * wall.horizontal_seismic_coefficient * gw * free**2,
            0.0,
            0.0,
            wall.embedment + 0.4 * free,
        ),
    ]
    width = concrete.bounds[2]
    for head, x in ((level, 2 / 3 * width), (before, width / 3)):  # uplift in two triangles
        loads.append((0.0, -gw * head * width / 2, x, 0.0))
    box = shapely.box(-1, -1, 99, level)
    pieces = [(concrete, wall.wall.unit_weight), (fill.difference(box), fill_soil.unit_weight)]
    pieces.append((fill.intersection(box), sat))
    for piece, gamma in pieces:
        if piece.area > 0:
            weight, at = gamma * piece.area, piece.centroid
            loads += [(0.0, weight, at.x, 0.0), (k_h * weight, 0.0, 0.0, at.y)]
    if before > 0:
        pool = shapely.box(0, 0, width, before).difference(concrete)
        pool = min(shapely.get_parts(pool), key=lambda part: part.centroid.x)
        loads.append((0.0, gw * pool.area, pool.centroid.x, 0.0))
    return loads


@pytest.mark.parametrize("name", HARD)
def test_loads_and_base_reaction_close(name: str) -> None:
    """Loads found by another route balance the reaction integrated from the edge pressures."""
    wall = check(**HARD[name])
    v = wall.evaluate(leave_out=("overall",)).values
    loads = loads_by_hand(wall)
    down = sum(one[1] for one in loads)
    outward = sum(one[0] for one in loads)
    moment = sum(v_ * x - h * y for h, v_, x, y in loads)
    assert abs(float(v.horizontal_force) - outward) < 1e-9 * outward
    width, toe, heel = float(v.base_width), float(v.toe_pressure), float(v.heel_pressure)
    pressed = width if heel > 0 else 3.0 * float(v.resultant_distance)
    reaction = 0.5 * (toe + heel) * pressed
    reaction_moment = pressed**2 * (toe + 2.0 * heel) / 6.0
    assert abs(reaction - down) < 1e-9 * down
    assert abs(reaction_moment - moment) < 1e-9 * float(v.righting_moment)


def plain_cantilever(
    c: float, phi: float, c2: float, phi2: float, water: float, q: float, wall: Wall
) -> tuple[float, float, float]:
    """Level backfill, Rankine and Vesić, branch by branch; factors of the three limit states."""
    gamma, sat, gamma2, sat2, gw, depth = 18.0, 20.0, 18.5, 20.0, 9.81, 1.0
    slab, stem = wall.base_thickness, wall.toe_width + wall.stem_bottom_thickness
    height, width = slab + wall.stem_height, stem + wall.heel_width
    k = math.tan(math.pi / 4 - math.radians(phi) / 2) ** 2
    h_w = max(height - water, 0.0)
    kinks = [0.0, height - h_w, height]
    stress = [q, q + gamma * kinks[1], q + gamma * kinks[1] + (sat - gw) * h_w]
    k_least = math.tan(math.pi / 4 - math.radians(max(phi, 40.0)) / 2) ** 2
    pushes, turns = [], []
    for coefficient, held in ((k, 2 * c * math.sqrt(k)), (k_least if c > 0 else k, 0.0)):
        push = turn = 0.0
        for n in range(2):
            p1, p2 = (coefficient * s - held for s in stress[n : n + 2])
            z1, z2 = kinks[n], kinks[n + 1]
            if p2 <= 0 or z2 == z1:
                continue
            if p1 < 0:
                z1, p1 = z2 - (z2 - z1) * p2 / (p2 - p1), 0.0
            span = z2 - z1
            push += (p1 + p2) / 2 * span
            turn += (p1 + p2) / 2 * span * (height - z2) + span**2 * (2 * p1 + p2) / 6
        pushes.append(push)
        turns.append(turn)
    push, turn = max(pushes), max(turns)
    slope = wall.stem_bottom_thickness - wall.stem_top_thickness
    weights = [
        (24.0 * width * slab, width / 2),
        (24.0 * wall.stem_top_thickness * wall.stem_height, stem - wall.stem_top_thickness / 2),
        (24.0 * slope * wall.stem_height / 2, wall.toe_width + slope * 2 / 3),
    ]
    wet = min(max(h_w - slab, 0.0), wall.stem_height)
    on_heel = gamma * (wall.stem_height - wet) + sat * wet
    weights.append((on_heel * wall.heel_width, stem + wall.heel_width / 2))
    uplift = gw * h_w * width / 2
    v = sum(w for w, _ in weights) - uplift
    h = push + gw * h_w**2 / 2
    righting = sum(w * x for w, x in weights)
    driving = turn + gw * h_w**3 / 6 + uplift * width * 2 / 3
    e = width / 2 - (righting - driving) / v
    b_eff = width - 2 * abs(e)
    sliding = v * math.tan(math.radians(phi2) * 2 / 3) / h
    t, s = math.tan(math.radians(phi2)), math.sin(math.radians(phi2))
    n_q = math.exp(math.pi * t) * (1 + s) / (1 - s)
    n_c = (n_q - 1) / t
    d_q = 1 + 2 * t * (1 - s) ** 2 * depth / width
    d_c = d_q - (1 - d_q) / (n_c * t)
    i_q = (1 - h / (v + b_eff * c2 / t)) ** 2
    i_c = i_q - (1 - i_q) / (n_c * t)
    below = min(max(water - height, 0.0) / width, 1.0)
    gamma_b = sat2 - gw + below * (gamma2 - sat2 + gw)
    capacity = c2 * n_c * d_c * i_c + gamma2 * depth * n_q * d_q * i_q
    capacity += gamma_b * b_eff * (n_q + 1) * t * i_q**1.5
    return sliding, righting / driving, capacity / (v / b_eff)


def test_one_call_over_arrays_equals_a_plain_loop() -> None:
    rng = np.random.default_rng(3)
    n = 60
    c, phi = rng.uniform(0.0, 12.0, n), rng.uniform(26.0, 38.0, n)
    c2, phi2 = rng.uniform(1.0, 20.0, n), rng.uniform(24.0, 36.0, n)
    water, q = rng.uniform(2.0, 9.0, n), rng.uniform(0.0, 20.0, n)
    heel = rng.uniform(2.5, 4.0, n)
    many = check(
        backfill=soil(c, phi, 18.0, 20.0),
        foundation=soil(c2, phi2, 18.5, 20.0),
        wall=cantilever(heel_width=heel),
        water_table_depth=water,
        surcharge=q,
        bearing_depth_factors=True,
    )
    v = many.evaluate(leave_out=("overall",)).values
    rows = zip(c, phi, c2, phi2, water, q, heel, strict=True)
    loop = np.array(
        [plain_cantilever(*map(float, r[:6]), cantilever(heel_width=float(r[6]))) for r in rows]
    )
    found = np.stack([v.factor_sliding, v.factor_overturning, v.factor_bearing], axis=1)
    assert_allclose(found, loop, rtol=1e-10)


@pytest.mark.parametrize("name", HARD)
def test_arrays_equal_scalars(name: str) -> None:
    wall = check(**HARD[name])
    phi, k_h = np.array([[29.0], [33.0], [36.0]]), np.array([0.0, 0.05])
    many = dataclasses.replace(
        wall,
        backfill=soil(3.0, phi, 18.0, 20.0),
        horizontal_seismic_coefficient=k_h,
    ).evaluate(leave_out=("overall",))
    for row in range(3):
        for column in range(2):
            one = dataclasses.replace(
                wall,
                backfill=soil(3.0, float(phi[row, 0]), 18.0, 20.0),
                horizontal_seismic_coefficient=float(k_h[column]),
            ).evaluate(leave_out=("overall",))
            for state, factor in one.factors_of_safety.items():
                assert_allclose(many.factors_of_safety[state][row, column], factor, rtol=1e-13)


def test_a_key_shakes_with_its_whole_weight_and_turns_nothing() -> None:
    key = {"key_depth": 0.8, "key_width": 0.5, "key_position": 2.0}
    still = check(wall=cantilever(**key), water_table_depth=2.5, horizontal_seismic_coefficient=0.0)
    shaken = dataclasses.replace(still, horizontal_seismic_coefficient=0.2)
    v = shaken.evaluate(leave_out=("overall",)).values
    assert v.key_weight == pytest.approx((24.0 - 9.81) * 0.8 * 0.5)
    assert v.key_inertia == pytest.approx(0.2 * 24.0 * 0.8 * 0.5)
    assert still.evaluate(leave_out=("overall",)).values.key_inertia == 0.0
    parts = v.thrust_horizontal + v.thrust_increment_horizontal + v.water_thrust + v.key_thrust
    parts += v.wall_inertia + v.heel_soil_inertia + v.key_inertia
    assert v.horizontal_force == pytest.approx(parts - v.water_thrust_in_front)
    turned = v.thrust_horizontal * v.thrust_height + v.water_thrust * v.water_height_behind / 3.0
    turned += v.thrust_increment_horizontal * v.thrust_increment_height + v.uplift * v.uplift_arm
    turned += v.wall_inertia * v.wall_centroid_height
    turned += v.heel_soil_inertia * v.heel_soil_centroid_height
    assert v.overturning_moment == pytest.approx(turned)
