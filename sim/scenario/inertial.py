"""The inertial unit: gyros, accelerometers, and the vibration they feel."""

from __future__ import annotations

from sim.scenario.declare import CHOSEN, Part, Quantity, quantity

_CLASS = "small consumer units, from memory; "
_IDEAL = "none unless given"


class Inertial(Part):
    """Where the unit sits and how often it is read; without the section it is ideal."""

    station: Quantity = quantity("length", absent="0 m", doc="of the unit")
    offset_y: Quantity = quantity("length", "0 m", doc="from the axis", source="on the axis")
    offset_z: Quantity = quantity("length", "0 m", doc="from the axis", source="on the axis")
    rate: Quantity = quantity(
        "frequency", "200 Hz", sign="positive", doc="samples a second", source=CHOSEN
    )


class Gyro(Part):
    """Errors of the gyros, each axis apart."""

    bias: Quantity = quantity(
        "angular rate", "0 deg/s +/- 0.8 deg/s", absent="0 deg/s", believed="0 deg/s", axes="xyz",
        doc="at turn-on, before it is averaged away on the launch pad",
        source=_CLASS + "0.5 to 5 deg/s, R4.21",
    )  # fmt: skip
    noise: Quantity = quantity(
        "angular noise density", "0.007 deg/s/sqrt(Hz)", absent="0 deg/s/sqrt(Hz)",
        sign="non_negative", doc="random-walk coefficient, root of the two-sided density",
        source=_CLASS + "0.003 to 0.015 deg/s/sqrt(Hz), R4.20",
    )  # fmt: skip
    instability: Quantity = quantity(
        "angular rate", "8 deg/h", absent="0 deg/h", sign="non_negative",
        doc="of the bias in flight, root mean square of a first-order Gauss-Markov process",
        source=_CLASS + "2 to 20 deg/h, R4.21",
    )  # fmt: skip
    instability_time: Quantity = quantity(
        "time", "100 s", sign="positive", doc="its correlation time", source="assumed"
    )
    scale_factor: Quantity = quantity(
        "number", "0 +/- 0.3 %", absent="0", believed="0", axes="xyz", doc="error, share",
        source=_CLASS + "0.05 to 0.5 % calibrated, R4.24",
    )  # fmt: skip
    misalignment: Quantity = quantity(
        "angle", "0 deg +/- 0.1 deg", absent="0 deg", believed="0 deg", axes="xyz",
        doc="small turn of the sensor's axes about each body axis",
        source=_CLASS + "0.3 to 1.1 deg raw, R4.24, less by calibration",
    )  # fmt: skip
    g_sensitivity: Quantity = quantity(
        "angular rate per acceleration", "0 deg/s/g +/- 0.02 deg/s/g", absent="0 deg/s/g",
        believed="0 deg/s/g", axes="xyz", doc="rate shown per specific force along the axis",
        source=_CLASS + "0.005 to 0.1 deg/s/g, R4.25",
    )  # fmt: skip
    vibration_rectification: Quantity = quantity(
        "angular rate per acceleration squared", "0 deg/s/g2", believed="0 deg/s/g2", axes="xyz",
        doc="rate shown per square of the vibration level", source=_IDEAL,
    )  # fmt: skip
    range: Quantity = quantity(
        "angular rate", "2000 deg/s", absent="1e9 deg/s", sign="positive", doc="largest shown",
        source="usual for small units",
    )  # fmt: skip
    resolution: Quantity = quantity(
        "angular rate", "0.06 deg/s", absent="0 deg/s", sign="non_negative", doc="one count",
        source="2000 deg/s in 16 bits",
    )  # fmt: skip
    bandwidth: Quantity = quantity(
        "frequency", "90 Hz", absent="1e9 Hz", sign="positive", doc="of its first-order filter",
        source="below half the sample rate",
    )  # fmt: skip


class Accelerometer(Part):
    """Errors of the accelerometers, each axis apart."""

    bias: Quantity = quantity(
        "acceleration", "0 mg +/- 6 mg", absent="0 mg", believed="0 mg", axes="xyz",
        doc="at turn-on", source=_CLASS + "1 to 10 mg calibrated, R4.23",
    )  # fmt: skip
    noise: Quantity = quantity(
        "acceleration noise density", "150 ug/sqrt(Hz)", absent="0 ug/sqrt(Hz)",
        sign="non_negative", doc="random-walk coefficient, root of the two-sided density",
        source=_CLASS + "60 to 300 ug/sqrt(Hz), R4.22",
    )  # fmt: skip
    instability: Quantity = quantity(
        "acceleration", "40 ug", absent="0 ug", sign="non_negative",
        doc="of the bias in flight, root mean square of a first-order Gauss-Markov process",
        source="assumed",
    )  # fmt: skip
    instability_time: Quantity = quantity(
        "time", "100 s", sign="positive", doc="its correlation time", source="assumed"
    )
    scale_factor: Quantity = quantity(
        "number", "0 +/- 0.2 %", absent="0", believed="0", axes="xyz", doc="error, share",
        source=_CLASS + "0.05 to 0.5 % calibrated, R4.24",
    )  # fmt: skip
    misalignment: Quantity = quantity(
        "angle", "0 deg +/- 0.15 deg", absent="0 deg", believed="0 deg", axes="xyz",
        doc="small turn of the sensor's axes about each body axis",
        source=_CLASS + "0.3 to 1.1 deg raw, R4.24, less by calibration",
    )  # fmt: skip
    vibration_rectification: Quantity = quantity(
        "acceleration per acceleration squared", "0 mg/g2", believed="0 mg/g2", axes="xyz",
        doc="shown per square of the vibration level", source=_IDEAL,
    )  # fmt: skip
    range: Quantity = quantity(
        "acceleration", "16 g", absent="1e9 g", sign="positive", doc="largest shown",
        source="usual for small units",
    )  # fmt: skip
    resolution: Quantity = quantity(
        "acceleration", "0.5 mg", absent="0 mg", sign="non_negative", doc="one count",
        source="16 g in 16 bits",
    )  # fmt: skip
    bandwidth: Quantity = quantity(
        "frequency", "90 Hz", absent="1e9 Hz", sign="positive", doc="of its first-order filter",
        source="below half the sample rate",
    )  # fmt: skip


class Vibration(Part):
    """Vibration felt at the unit while a motor burns."""

    level: Quantity = quantity(
        "acceleration", "0 g", sign="non_negative", doc="root mean square", source=_IDEAL
    )
