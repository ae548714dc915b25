"""Makes the points of `source_discharge_over_twenty_hours…` in tests/model/battery.rs.

pip install pybamm; python3 tests/reference/discharge.py

A lead-acid cell of the parameter set Sulzer2019, full at first, 25 °C, gives a steady current until it is at 1.75 V:
with the current at which that takes 20 hours. Printed: share of that charge given, volts of six cells, and how far that
lies under the open-circuit voltage of its own acid.
"""

import sys

import numpy
import pybamm

KIND = {"LOQS": pybamm.lead_acid.LOQS, "Full": pybamm.lead_acid.Full}[sys.argv[1] if len(sys.argv) > 1 else "LOQS"]


def discharged(amps):
    """Time [h], volts of a cell until 1.75 V, and volts under those of its acid at rest."""
    model = KIND()
    values = model.default_parameter_values
    values.update({"Current function [A]": amps, "Lower voltage cut-off [V]": 1.75})
    simulation = pybamm.Simulation(model, parameter_values=values)
    solution = simulation.solve(numpy.linspace(0.0, 24.0 * 3600.0, 1441))
    volts = solution["Voltage [V]"].entries
    # of six cells, by the mean concentration of the acid
    rest = solution["Battery open-circuit voltage [V]"].entries / 6.0
    return solution["Time [h]"].entries, volts, rest - volts


# what it gives hardly depends on so small a current: a few rounds find the one for 20 hours
amps = 1.09
for _ in range(4):
    hours, volts, under = discharged(amps)
    amps *= hours[-1] / 20.0
hours, volts, under = discharged(amps)
print(f"pybamm {pybamm.__version__}, {KIND.__name__}: {amps:.4f} A for {hours[-1]:.3f} h, {amps * hours[-1]:.3f} Ah")
given = hours / hours[-1]
for share in [0.02, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95]:
    print(f"    ({share:.2f}, {6.0 * numpy.interp(share, given, volts):.3f}, "
          f"{6.0 * numpy.interp(share, given, under):.3f}),")
