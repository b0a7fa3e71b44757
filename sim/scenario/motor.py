"""A solid motor: its thrust curve as a test stand logged it, and what differs flight by flight."""

from __future__ import annotations

from sim.scenario.declare import Curve, Part, Quantity, curve_file, quantity

_EITHER_SIDE = {"uniform": ["0 deg", "360 deg"]}


class Motor(Part):
    """A solid motor, which cannot be cut and does not relight."""

    curve: Curve = curve_file(
        ("time", "s"), ("thrust", "N"), required=True, doc="CSV of time and thrust as logged"
    )
    propellant_mass: Quantity = quantity(
        "mass", absent="0 kg", sign="positive", doc="before firing"
    )
    propellant_cg: Quantity = quantity(
        "length", absent="0 m", doc="station of the propellant's centre of gravity"
    )
    grain_length: Quantity = quantity(
        "length", "60 mm", absent="0 m", sign="non_negative",
        doc="of the propellant, for its inertia", source="a small cartridge, assumed",
    )  # fmt: skip
    grain_diameter: Quantity = quantity(
        "length", "24 mm", absent="0 m", sign="non_negative",
        doc="of the propellant, for its inertia", source="a small cartridge, assumed",
    )  # fmt: skip
    nozzle: Quantity = quantity(
        "length", absent="0 m", sign="positive", doc="station of the exit plane"
    )
    impulse_factor: Quantity = quantity(
        "number", "1 +/- 2 %", sign="positive", believed="1",
        doc="total impulse of this motor over the curve's",
        source="certified batches scatter 1 to 3 %, general knowledge, from memory; R7.6",
    )  # fmt: skip
    burn_time_factor: Quantity = quantity(
        "number", "1 +/- 3 %", sign="positive", believed="1",
        doc="burn time of this motor over the curve's, at the same impulse",
        source="certified batches scatter 2 to 5 %, general knowledge, from memory; R7.6",
    )  # fmt: skip
    label_bias: Quantity = quantity(
        "number", "0 +/- 1 %", believed="0",
        doc="the lot's mean impulse against the curve's, shared by one lot",
        source="assumed; a measured set differed by more than its scatter, R7.8",
    )  # fmt: skip
    ignition_delay: Quantity = quantity(
        "time", {"lognormal": ["90 ms", "0.30"]}, absent="0 s", sign="non_negative",
        doc="from the command to first thrust",
        source="dipped igniters, 50 to 500 ms, general practice, from memory; R7.10",
    )  # fmt: skip
    grain_temperature: Quantity = quantity(
        "temperature", "20 degC", sign="positive", doc="of the propellant at ignition",
        source="as on the test stand",
    )  # fmt: skip
    reference_temperature: Quantity = quantity(
        "temperature", "20 degC", sign="positive", doc="of the grain when the curve was logged",
        source="a usual workshop",
    )  # fmt: skip
    temperature_sensitivity: Quantity = quantity(
        "share per temperature", "0.2 %/K", absent="0 1/K",
        doc="of thrust and burning rate, the impulse unchanged",
        source="Sutton and Biblarz, Rocket Propulsion Elements, ch. 12, from memory; R7.9",
    )  # fmt: skip
    misalignment: Quantity = quantity(
        "angle", {"half_normal": "0.25 deg"}, sign="non_negative", believed="0 deg",
        doc="of the thrust line with the axis",
        source="small motors, 0.1 to 0.5 deg, general practice, from memory; R7.11",
    )  # fmt: skip
    misalignment_clocking: Quantity = quantity(
        "angle", _EITHER_SIDE, believed="0 deg", doc="where it leans, from body y towards z",
        source="no side is preferred",
    )  # fmt: skip
    offset: Quantity = quantity(
        "length", {"half_normal": "0.4 mm"}, sign="non_negative", believed="0 m",
        doc="of the thrust line from the axis",
        source="small motors, 0.2 to 1 mm, general practice, from memory; R7.11",
    )  # fmt: skip
    offset_clocking: Quantity = quantity(
        "angle", _EITHER_SIDE, believed="0 deg", doc="where it lies, from body y towards z",
        source="no side is preferred",
    )  # fmt: skip
