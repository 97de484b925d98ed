"""Makes residence.csv and water.csv, the reference tables of tests/tests/references.rs.

Needs SciPy and CoolProp (pip install scipy CoolProp); made with SciPy 1.17.1 and CoolProp 8.0.0.
The tables are kept in the repository, so that the tests need neither library.

residence.csv: for a flow given as a formula, the time for which its integral equals the tube's volume
(6000 L/h for 16.2 s), by scipy.integrate.quad and scipy.optimize.brentq.
water.csv: the Reynolds number of water in a round tube from its mass flow, Re = 4 m/(pi D mu), with
density and viscosity of water at 3 bar from CoolProp (IAPWS formulations).
"""

import csv
import math

from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad
from scipy.optimize import brentq

VOLUME = 6000 * 16.2  # L/h times s


def step(t):
    """5500 L/h, and from 40.0 s on 6500 L/h, reached within the tenth of a second before."""
    return 5500 + 1000 * min(max((t - 39.9) / 0.1, 0), 1)


FLOWS = {
    "constant": lambda t: 6123.0,
    "ramp": lambda t: 5000 + 20 * t,
    "step": step,
    "sine": lambda t: 6000 + 400 * math.sin(2 * math.pi * t / 60),
}


def integral(flow, start, end):
    breaks = [t for t in (39.9, 40.0) if start < t < end]
    return quad(flow, start, end, points=breaks or None, epsabs=1e-9, epsrel=1e-12, limit=500)[0]


with open("residence.csv", "w", newline="") as file:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(["flow", "leaves_s", "residence_s"])
    for name, flow in FLOWS.items():
        for leaves in (30, 41, 45.5, 50, 55, 60, 72.3, 90, 110):
            residence = brentq(
                lambda tau: integral(flow, leaves - tau, leaves) - VOLUME, 1, 30, xtol=1e-12
            )
            writer.writerow([name, leaves, f"{residence:.6f}"])

with open("water.csv", "w", newline="") as file:
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(
        ["celsius", "litres_per_hour", "diameter_mm", "density", "viscosity_mpa_s", "reynolds"]
    )
    for celsius in (20, 63, 72, 75, 89):
        for litres_per_hour, diameter in ((10000, 72.9), (2000, 47.5), (300, 60.2)):
            kelvin = celsius + 273.15
            density = PropsSI("D", "T", kelvin, "P", 3e5, "Water")
            viscosity = PropsSI("V", "T", kelvin, "P", 3e5, "Water")
            mass_flow = litres_per_hour / 3.6e6 * density
            reynolds = 4 * mass_flow / (math.pi * diameter / 1000 * viscosity)
            writer.writerow(
                [
                    celsius,
                    litres_per_hour,
                    diameter,
                    f"{density:.6f}",
                    f"{viscosity * 1000:.9f}",
                    f"{reynolds:.4f}",
                ]
            )
