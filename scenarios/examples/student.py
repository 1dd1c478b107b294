"""A student follows the steps: from shear readings to a line, from the line to a slope.

Three tests on a dry sand, invented; each figure the program gives is found again by hand.
"""

# ruff: noqa: T201  (what is shown to a person is printed)

# %% Three tests: normal and shear stress at the peak
import numpy as np

from slipmargin.stability import InfiniteSlope, Soil
from slipmargin.strength import Readings, Strength, fit_envelope, fit_line, reduce_readings

normal = np.array([40.0, 80.0, 120.0])  # kPa
shear = np.array([28.9, 55.1, 84.3])  # kPa
readings = Readings(
    test=("S1", "S2", "S3"),
    normal=normal,
    shear=shear,
    unit="kPa",
)
tests = reduce_readings(readings)

# %% Step 1: the least-squares line, by the sums of any textbook
slope = np.sum((normal - normal.mean()) * (shear - shear.mean())) / np.sum(
    (normal - normal.mean()) ** 2
)
intercept = shear.mean() - slope * normal.mean()
line = fit_line(tests.normal, tests.shear)
print(f"by hand:    c′ = {intercept:.3f} kPa, tan φ′ = {slope:.4f}")
print(f"fit_line:   c′ = {float(line.intercept):.3f} kPa, tan φ′ = {float(line.slope):.4f}")

# %% Step 2: what one degree of freedom leaves open
fit = fit_envelope(tests)
print(fit)

# %% Step 3: the slope, dry, 1.5 m of sand at 24 deg
sand = Soil(name="sand", strength=fit.strength(), unit_weight=17.0)
result = InfiniteSlope(soil=sand, slope_angle=24.0, depth=1.5).evaluate()
print(result)

# %% Step 4: the same by hand
beta = np.radians(24.0)
weight = 17.0 * 1.5
stress = weight * np.cos(beta) ** 2
driving = weight * np.sin(beta) * np.cos(beta)
by_hand = (intercept + stress * slope) / driving
print(f"by hand: F = {by_hand:.3f}; evaluate: F = {float(result.lowest):.3f}")

# %% Step 5: without cohesion the depth falls out, and F = tan φ′ / tan β
bare = Strength(cohesion=0.0, friction_angle=fit.best_fit.friction_angle)
for depth in (0.5, 1.5, 5.0):
    soil = Soil(name="sand", strength=bare, unit_weight=17.0)
    found = InfiniteSlope(soil=soil, slope_angle=24.0, depth=depth).evaluate()
    print(f"depth {depth:3.1f} m: F = {float(found.lowest):.4f}")
print(f"tan φ′ / tan β = {slope / np.tan(beta):.4f}")
