"""Runs the check values of earth pressure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipmargin.stability import Soil
from slipmargin.stability.earth_pressure import coefficients
from slipmargin.stability.earth_pressure.check import EarthPressure
from slipmargin.stability.earth_pressure.profile import ConjugateLaw, Layer
from slipmargin.stability.earth_pressure.surcharge import LineLoad, load_pressure, load_thrust
from slipmargin.strength import Strength

__all__ = ["METHODS"]

Inputs = Mapping[str, Any]
Found = Mapping[str, Any]


def soil(c: Any = 0.0, phi: Any = 30.0, gamma: Any = 18.0) -> Soil:
    """A soil that weighs the same above and below water."""
    strength = Strength(cohesion=c, friction_angle=phi)
    return Soil(strength=strength, unit_weight=gamma, saturated_unit_weight=gamma)


def values(**fields: Any) -> Any:
    """Values of the pressure on a wall, by default 6 m high in an ordinary sand."""
    usual: dict[str, Any] = {"soil": soil(), "height": 6.0}
    return EarthPressure(**(usual | fields)).evaluate().values


def column(numbers: Any) -> NDArray[np.float64]:
    """Down the rows of a table."""
    return np.asarray(numbers, dtype=float)[:, None]


def row(numbers: Any) -> NDArray[np.float64]:
    """Across the columns of a table."""
    return np.asarray(numbers, dtype=float)


def rankine_ka_table(i: Inputs) -> Found:
    """Active coefficients over φ′ and the slope of the ground."""
    phi, beta = row(i["phi"]), column(i["beta"])
    return {"Ka": coefficients.rankine_active(phi, backfill_slope_angle=beta)}


def rankine_kp_table(i: Inputs) -> Found:
    """Passive coefficients over φ′ and the slope of the ground."""
    phi, beta = row(i["phi"]), column(i["beta"])
    return {"Kp": coefficients.rankine_passive(phi, backfill_slope_angle=beta)}


def coulomb_ka_delta_table(i: Inputs) -> Found:
    """Active coefficients over φ′ and wall friction."""
    return {
        "Ka": coefficients.coulomb_active(column(i["phi"]), wall_friction_angle=row(i["delta"]))
    }


def coulomb_ka_theta_table(i: Inputs) -> Found:
    """Active coefficients over φ′ and the batter of the back face."""
    phi = column(i["phi"])
    ka = coefficients.coulomb_active(
        phi, wall_friction_angle=phi * i["delta_over_phi"], wall_batter=row(i["theta"])
    )
    return {"Ka": ka}


def coulomb_active(i: Inputs, theory: str = "coulomb") -> Found:
    """A wall with friction; where it has cohesion, the example goes on with its rounded 0.44."""
    c = i.get("c", 0.0)
    got = values(
        soil=soil(c, i["phi"], i.get("gamma", 18.0)),
        height=i.get("H", 6.0),
        theory=theory,
        wall_friction_angle=i["delta"],
        wall_adhesion=i.get("cw", 0.0),
    )
    horizontal = got.coefficient * np.cos(np.radians(i["delta"]))
    found = {"Ka": got.coefficient, "Pa": got.thrust, "Kah": horizontal}
    if c:
        found["Kac"] = coefficients.bell_cohesion(0.44, i["cw"] / c)
    return found


def passive_curved_band(i: Inputs) -> Found:
    """Passive coefficient of EN 1997-1 Annex C beside those of curved surfaces."""
    kp = values(
        soil=soil(phi=i["phi"]), theory="annex_c", side="passive", wall_friction_angle=i["delta"]
    ).coefficient
    return {"Kp_zhu_qian": kp, "Kp_terzaghi_peck": kp}


def ec7c_kp_table(i: Inputs) -> Found:
    """Passive coefficients of EN 1997-1 Annex C over φ′ and wall friction."""
    phi = column(i["phi"])
    delta = phi * row(i["delta_over_phi"])
    return {"Kp": coefficients.annex_c_passive(phi, wall_friction_angle=delta)}


def mazindrani_table(i: Inputs) -> Found:
    """Active coefficients of a sloping soil with cohesion."""
    phi, alpha, ratio = np.meshgrid(i["phi"], i["alpha"], i["c_over_gamma_z"], indexing="ij")
    law = ConjugateLaw(ratio, phi, alpha, -1.0)
    ka = law.pressure(np.ones(phi.shape)) / np.cos(np.radians(alpha))
    return {"Ka": ka.reshape(-1, ka.shape[-1])}


def layered(i: Inputs, **fields: Any) -> EarthPressure:
    """A wall behind which soils lie in layers, with water."""
    count = len(i["thickness"])
    phi = i["phi"] if isinstance(i["phi"], list) else [i["phi"]] * count
    cohesion = i.get("c", [0.0] * count)
    layers = tuple(
        Layer(soil=soil(cohesion[k], phi[k], i["gamma"][k]), thickness=i["thickness"][k])
        for k in range(count)
    )
    return EarthPressure(
        layers=layers,
        height=float(sum(i["thickness"])),
        water_table_depth=i["zw"],
        water_unit_weight=i["gamma_w"],
        **fields,
    )


def pressures(check: EarthPressure, boundary: float) -> list[float]:
    """At the top, above and below a boundary, and at the base."""
    depths = (0.0, boundary, boundary * (1.0 + 1e-12), float(np.asarray(check.height)))
    return [float(check.pressure(depth)) for depth in depths]


def layered_active(i: Inputs) -> Found:
    """Pressure in layers, and the thrust with water."""
    check = layered(i, side=i.get("state", "active"))
    got: Any = check.evaluate().values
    return {
        "sigma_h_eff": pressures(check, i["thickness"][0]),
        "P_total": got.thrust + got.water_thrust,
    }


def at_rest_layered(i: Inputs) -> Found:
    """Pressure at rest of an overconsolidated soil, with water."""
    check = layered(i, theory="at_rest", overconsolidation_ratio=i["OCR"])
    got: Any = check.evaluate().values
    total = got.thrust + got.water_thrust
    moment = got.thrust * got.thrust_height + got.water_thrust * got.water_thrust_height
    return {
        "K0": got.coefficient,
        "sigma_h_eff": pressures(check, i["thickness"][0]),
        "u_base": i["gamma_w"] * i["thickness"][1],
        "P_total": total,
        "zbar": moment / total,
    }


def rankine_thrusts(i: Inputs, theory: str = "rankine") -> Found:
    """Thrust on a smooth wall under level ground, either side."""
    given = {
        "soil": soil(0.0, i["phi"], i["gamma"]),
        "height": float(i["H"]),
        "theory": theory,
    }
    active, passive = (values(**given, side=side) for side in ("active", "passive"))
    return {
        "Ka": active.coefficient,
        "Pa": active.thrust,
        "Pp": passive.thrust,
        "zbar": active.thrust_height,
    }


def cphi_level(i: Inputs) -> Found:
    """Thrust of a soil with cohesion before and after it has cracked."""
    given = {"soil": soil(i["c"], i["phi"], i["gamma"]), "height": float(i["H"])}
    return {
        "Pa_before": values(**given, tension_crack=False).thrust,
        "Pa_after": values(**given).thrust,
    }


def cphi_sloping(i: Inputs) -> Found:
    """The book's triangle below the crack, with its own interpolated coefficient."""
    crack = values(
        soil=soil(i["c"], i["phi"], i["gamma"]),
        height=float(i["H"]),
        backfill_slope_angle=i["alpha"],
    ).tension_crack_depth
    at_base = i["gamma"] * i["H"] * i["Ka_prime"] * np.cos(np.radians(i["alpha"]))
    return {"Pa_after": 0.5 * at_base * (i["H"] - crack)}


def mononobe_okabe(i: Inputs, theory: str = "coulomb") -> Found:
    """A wall that is shaken."""
    given = {
        "soil": soil(0.0, i["phi"], i["gamma"]),
        "height": float(i["H"]),
        "theory": theory,
        "wall_friction_angle": i["delta"],
    }
    got = values(
        **given,
        horizontal_seismic_coefficient=i["kh"],
        vertical_seismic_coefficient=i["kv"],
    )
    return {
        "psi": got.seismic_angle,
        "KAE": got.coefficient,
        "KA": got.static_coefficient,
        "PA": got.thrust - got.seismic_thrust,
        "PAE": got.thrust,
        "dPAE": got.seismic_thrust,
        "zbar": got.thrust_height,
    }


def mo_table(i: Inputs) -> Found:
    """Active coefficients of a shaken wall over k_h and φ′."""
    phi = row(i["phi"])
    kae = coefficients.coulomb_active(
        phi,
        wall_friction_angle=phi * i["delta_over_phi"],
        backfill_slope_angle=i["beta"],
        seismic_angle=coefficients.seismic_angle(column(i["kh"]), 0.0),
    )
    return {"KAE": kae}


def line_load(i: Inputs) -> Found:
    """Thrust of a line load, at distances over the height."""
    loads = [LineLoad(force=i["Q"], distance=m * i["H"]) for m in i["m"]]
    return {"P": [float(load_thrust(load, i["H"])) for load in loads]}


def line_load_pressure(i: Inputs) -> Found:
    """Pressure of a line load, at depths over the height."""
    load = LineLoad(force=i["Q"], distance=i["m"] * i["H"])
    return {"sigma_h": load_pressure(load, row(i["n"]) * i["H"])}


def water_thrust(i: Inputs) -> Found:
    """Thrust of still water and its height above the base."""
    got = values(
        height=float(i["H"]), water_table_depth=float(i["zw"]), water_unit_weight=i["gamma_w"]
    )
    return {"P": got.water_thrust, "z": got.water_thrust_height}


def trial_wedge_delta_table(i: Inputs) -> Found:
    """The table over wall friction, by searched wedges."""
    got = values(
        soil=soil(phi=column(i["phi"])), theory="trial_wedge", wall_friction_angle=row(i["delta"])
    )
    return {"Ka": got.coefficient}


def trial_wedge_theta_table(i: Inputs) -> Found:
    """The table over batter, by searched wedges."""
    phi = column(i["phi"])
    got = values(
        soil=soil(phi=phi),
        theory="trial_wedge",
        wall_friction_angle=phi * i["delta_over_phi"],
        wall_batter=row(i["theta"]),
    )
    return {"Ka": got.coefficient}


def trial_wedge_active(i: Inputs) -> Found:
    """A wall with friction, by a searched wedge."""
    return coulomb_active(i, "trial_wedge")


def trial_wedge_thrusts(i: Inputs) -> Found:
    """Thrust on a smooth wall under level ground, by searched wedges."""
    return rankine_thrusts(i, "trial_wedge")


def trial_wedge_shaken(i: Inputs) -> Found:
    """A wall that is shaken, by a searched wedge."""
    return mononobe_okabe(i, "trial_wedge")


def plane_of_rupture(i: Inputs) -> Found:
    """Searched planes behind a smooth wall under level ground."""
    return {
        side: values(soil=soil(phi=i["phi"]), theory="trial_wedge", side=side).plane_angle
        for side in ("active", "passive")
    }


METHODS: dict[str, Callable[[Inputs], Found]] = {
    f.__name__: f
    for f in (
        rankine_ka_table,
        rankine_kp_table,
        coulomb_ka_delta_table,
        coulomb_ka_theta_table,
        coulomb_active,
        passive_curved_band,
        ec7c_kp_table,
        mazindrani_table,
        layered_active,
        at_rest_layered,
        rankine_thrusts,
        cphi_level,
        cphi_sloping,
        mononobe_okabe,
        mo_table,
        line_load,
        line_load_pressure,
        water_thrust,
        trial_wedge_delta_table,
        trial_wedge_theta_table,
        trial_wedge_active,
        trial_wedge_thrusts,
        trial_wedge_shaken,
        plane_of_rupture,
    )
}
"""By the name a row calls it."""
