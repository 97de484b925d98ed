"""Makes drift.csv, the reference table of crates/daybook/src/drift.rs.

Needs SciPy (pip install scipy). The table is kept in the repository, so that the tests need no
library. Each row: points as day:value, then slope, lower and upper end of the 95 % interval of
scipy.stats.theilslopes, and what the line gives for the last day.
"""

import random

import scipy
from scipy.stats import theilslopes

random.seed(20260304)
with open("drift.csv", "w") as file:
    file.write(f"# scipy.stats.theilslopes, SciPy {scipy.__version__}; made by make_drift.py\n")
    file.write("points,slope,low,high,last\n")
    for case in range(24):
        count = random.choice([10, 11, 17, 30, 31, 60])
        days = sorted(random.sample(range(20500, 20500 + 2 * count), count))
        if case % 4 == 3:  # two records on some days
            days = sorted(random.choices(days, k=count))
        slope = random.choice([-0.2, -0.02, 0.0, 0.05])
        places = random.choice([0, 1, 3])  # few places: ties among the values
        values = [round(5 + slope * (day - 20500) + random.gauss(0, 0.5), places) for day in days]
        line = theilslopes(values, days, alpha=0.95)
        points = " ".join(f"{day}:{value!r}" for day, value in zip(days, values))
        last = line.intercept + line.slope * days[-1]
        row = [line.slope, line.low_slope, line.high_slope, last]
        file.write(points + "," + ",".join(repr(float(x)) for x in row) + "\n")
