"""A small scenario that the tests spoil one line at a time."""

from pathlib import Path

SMALL = """\
title = "Small"

[vehicle]
length = "1.00 m"
diameter = "76 mm"
nose_length = "0.20 m"
dry_mass = "1.260 kg +/- 6 g"
cg = "0.560 m +/- 3 mm"
axial_inertia = "1.3e-3 kg m2 +/- 5 %"
transverse_inertia = "0.098 kg m2 +/- 3 %"

[landing_motor]
curve = "thrust.csv"
propellant_mass = "52 g +/- 0.7 g"
propellant_cg = "0.93 m"
nozzle = "1.00 m"
label_bias = "0 +/- 1 %"

[legs]
count = 4
foot_radius = "0.28 m"
foot_station = "1.10 m"
folded_foot_radius = "0.06 m"
folded_foot_station = "0.80 m"

[wind]
speed = "2.5 m/s +/- 0.8 m/s"
law = "power"

[launch_pad]
tilt = { half_normal = "0.3 deg" }

[landing_pad]
radius = "3 m"

[inertial]
station = "0.35 m"

[inertial.gyro]
bias = "0 deg/s +/- 0.8 deg/s"

[[correlated]]
numbers = ["landing_motor.label_bias", "vehicle.dry_mass"]
correlation = 0.5

[success]
touchdown_speed = "< 2.5 m/s"
inside_landing_pad = true
"""

THRUST = """\
# Invented.
time, thrust
0.00, 0.0
0.05, 40.0
0.10, 38.0
1.00, 36.0
1.10, 0.5
1.20, 0.0
"""


def write_small(folder: Path, text: str = SMALL, thrust: str = THRUST) -> Path:
    """Write the small scenario and its thrust curve; return the scenario's path."""
    (folder / "thrust.csv").write_text(thrust, encoding="utf-8")
    path = folder / "small.toml"
    path.write_text(text, encoding="utf-8")
    return path


def line_of(text: str, start: str) -> int:
    """Line, counted from 1, that starts so."""
    return next(n for n, line in enumerate(text.splitlines(), 1) if line.startswith(start))
