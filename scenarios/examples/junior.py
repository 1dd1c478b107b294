"""A junior engineer checks a slope: factor of safety, working, and what was left out.

Four shear box tests on the silty sand of an invented bank, Plover Bank; the slope above a
footpath, dry and in a wet season. Run it as a script, or cell by cell in a notebook, where
the last line of each cell shows itself.
"""

# ruff: noqa: T201  (what is shown to a person is printed)

# %% The tests, as read off the gauges: normal and shear force on a 60 mm square specimen
import numpy as np

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import Readings, Specimen, strength_from_readings

normal = np.array([90.0, 180.0, 360.0, 540.0])  # N
shear = np.array([73.0, 125.0, 236.0, 343.0])  # N
readings = Readings(
    test=("P1", "P2", "P3", "P4"),
    normal=normal,
    shear=shear,
    unit="N",
)
laboratory = strength_from_readings(readings, Specimen(shape="square", width=60.0))
print(laboratory)

# %% The soil, and the slope: a plane 1.6 m down, first dry
bank = Soil(
    name="bank",
    strength=laboratory.strength("cautious"),
    unit_weight=18.3,
    saturated_unit_weight=19.9,
)
dry = InfiniteSlope(soil=bank, slope_angle=26.6, depth=1.6, target=1.5).evaluate()
print(dry)

# %% In a wet season the water stands 0.4 m below the ground
wet = InfiniteSlope(
    soil=bank, slope_angle=26.6, depth=1.6, water_table_depth=0.4, target=1.3
).evaluate()
print(wet)

# %% The steps between, each with its unit
print(f"total normal stress   {float(wet.values.normal_stress):6.2f} kPa")
print(f"pore pressure         {float(wet.values.pore_pressure):6.2f} kPa")
print(f"shear strength        {float(wet.values.shear_strength):6.2f} kPa")
print(f"shear stress          {float(wet.values.shear_stress):6.2f} kPa")

# %% What must not be left out when the number is handed on
for notice in wet.notices:
    print(f"[{notice.severity}] {notice.text}")
