"""Faults of each flight, turned into fields of the flight kernel.

A fault that other numbers can tell changes those; the rest has inputs of its own in
`sim.physics.faults`. Where no fault of a kind is drawn, every field is what it was, to the bit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sim.scenario.faults import CHANNELS, FAULTS

if TYPE_CHECKING:
    from sim.scenario import Scenario

Floats = NDArray[np.float64]
Values = Floats | float
Value = Callable[[str], Values]
Fields = dict[str, Values]

NEVER = 1e30  # s, the kernel's time that never comes
NO_LIMIT = 1e30

SOUND: Mapping[str, float] = {
    "recess_share": 0.0, "recess_angle_y": 0.0, "recess_angle_z": 0.0, "recess_contact": 0.0,
    "gnss_disturbed_from": NEVER, "gnss_disturbed_until": NEVER, "gnss_disturbed_factor": 1.0,
    "barometer_fooled_from": NEVER, "barometer_fooled_speed_share": 0.0,
    "barometer_fooled_plume": 0.0,
    "throttle_stuck_from": NEVER, "throttle_stuck_at": 0.0,
    "jam_from": NEVER, "jam_y": 0.0, "jam_z": 0.0,
    "ascent_gimbal_gain": 1.0, "landing_gimbal_gain": 1.0, "ascent_stop_y": NO_LIMIT,
    "channel_from": NEVER, "channel_number": -1.0, "channel_holds": 0.0,
    "channel_gain": 1.0, "channel_step": 0.0, "channel_limit": NO_LIMIT,
    "reset_from": NEVER, "reset_until": NEVER, "continuity_lost": 0.0,
}  # fmt: skip
"""Fields that only faults have, of a vehicle without one."""

STANDARD_GRAVITY = 9.80665


def cables(mount: str, stiffness: Values, torque: Values, band: Values) -> Fields:
    """Fields of one mount whose cables pull it back, see `sim.physics.actuators`.

    Parameters
    ----------
    mount : {"ascent", "landing"}
    stiffness : float or array (n,) [N m/rad]
        Of the cables; 0 for limp ones, and the servo has no limit then.
    torque, band : float or array (n,) [N m], [rad]
        Largest of the servo, and how far off its goal it gives it.

    Returns
    -------
    dict of str to array (n,) or ()
        The kernel's two, and the three numbers themselves, to which a fault may add.
    """
    share = np.asarray(stiffness) * band / torque
    return {
        f"{mount}_servo_band": np.where(share > 0.0, band, NO_LIMIT),
        f"{mount}_servo_cable": share,
        f"{mount}_cable_stiffness": stiffness, f"{mount}_servo_torque": torque,
        f"{mount}_servo_reach": band,
    }  # fmt: skip


def parachute_fields(value: Value, scenario: Scenario) -> Fields:
    """Fields of the recovery parachute."""
    present = scenario.has("parachute")
    return {
        "chute_area": value("parachute.drag_area") if present else 0.0,
        "chute_x": -np.asarray(value("parachute.station")),
        "chute_delay": value("parachute.delay"),
        "chute_time": value("parachute.filling_time"),
    }


def which_faults(value: Value, scenario: Scenario) -> dict[str, NDArray[np.bool_]]:
    """Which flights have which fault: its own chance or margin, or the common cause.

    Parameters
    ----------
    value : callable
        Drawn numbers by dotted name.
    scenario : Scenario

    Returns
    -------
    dict of str to bool array (n,) or ()
        The faults that any flight may have. Of faults that exclude one another a flight keeps the
        first; the chances that they are drawn with make up for it, see
        `sim.scenario.fault_chances.link_faults`.
    """
    found: dict[str, NDArray[np.bool_]] = {}
    taken: dict[str, NDArray[np.bool_]] = {}
    names = [name for name in FAULTS if scenario.has(f"faults.{name}")]
    # a fault that follows another comes after it
    for name in sorted(names, key=lambda n: scenario.choices[f"faults.{n}.after"] != "none"):
        part = f"faults.{name}"
        alone = np.asarray(value(f"{part}.happens")) > 0.5
        forced = scenario.choices[f"{part}.forced"] is True
        chance = scenario.chances.get(name)
        if chance is not None and chance.margin and scenario.choices["faults.mixed"] and not forced:
            alone = np.asarray(value(f"{part}.strength")) < np.asarray(value(f"{part}.load"))
        cause = found.get(str(scenario.choices[f"{part}.after"]))
        if cause is not None:
            alone = np.where(cause, np.asarray(value(f"{part}.happens_after")) > 0.5, alone)
        group = FAULTS[name].excludes
        if group and not forced:
            alone = alone & ~taken.get(group, np.asarray(False))
        if group:
            taken[group] = taken.get(group, np.asarray(False)) | alone
        if np.any(alone):
            found[name] = alone
    return found


def apply_faults(fields: Fields, value: Value, scenario: Scenario) -> Fields:
    """Change the fields of flights that have faults.

    Parameters
    ----------
    fields : dict of str to float or array (n,)
        Of sound vehicles, without those of `SOUND`.
    value : callable
    scenario : Scenario

    Returns
    -------
    dict of str to float or array (n,)
        All fields.
    """
    fields = {**fields, **SOUND}
    for name, happens in which_faults(value, scenario).items():

        def number(key: str, name: str = name) -> Floats:
            return np.asarray(value(f"faults.{name}.{key}"), dtype=np.float64)

        for key, changed in _CHANGES[name](fields, number, scenario).items():
            fields[key] = np.where(happens, changed, fields[key])
    return fields


Change = Callable[[Fields, Callable[[str], Floats], "Scenario"], Fields]


def _times(fields: Fields, key: str, factor: Values) -> Values:
    return np.asarray(fields[key]) * factor


def _light_later(fields: Fields, number: Callable[[str], Floats], _: Scenario) -> Fields:
    return {"landing_delay": np.asarray(fields["landing_delay"]) + number("lateness")}


def _chuff(fields: Fields, number: Callable[[str], Floats], scenario: Scenario) -> Fields:
    left = 1.0 - number("spent")
    return {
        **_light_later(fields, number, scenario),
        "landing_thrust_scale": _times(fields, "landing_thrust_scale", left),
        "landing_total": _times(fields, "landing_total", left),
    }


def _weak(motor: str) -> Change:
    def change(fields: Fields, number: Callable[[str], Floats], _: Scenario) -> Fields:
        keys = (f"{motor}_thrust_scale", f"{motor}_total")
        return {key: _times(fields, key, number("impulse")) for key in keys}

    return change


def _short(fields: Fields, number: Callable[[str], Floats], _: Scenario) -> Fields:
    keys = ("landing_time_scale", "landing_total")
    return {key: _times(fields, key, number("burn")) for key in keys}


def _hangs_on(_: Fields, number: Callable[[str], Floats], __: Scenario) -> Fields:
    angle, clocking = number("side_angle"), number("side_clocking")
    return {
        "recess_contact": number("contact"),
        "separation_delay": np.where(number("frees") > 0.5, number("frees_after"), NEVER),
        "recess_share": number("thrust_lost"),
        "recess_angle_y": -angle * np.sin(clocking),
        "recess_angle_z": angle * np.cos(clocking),
    }


def _reversed(fields: Fields, _: Callable[[str], Floats], scenario: Scenario) -> Fields:
    which = str(scenario.choices["faults.gimbal_reversed.mount"])
    mounts = ("ascent", "landing") if which == "both" else (which,)
    return {f"{m}_gimbal_gain": _times(fields, f"{m}_gimbal_gain", -1.0) for m in mounts}


def _slow(fields: Fields, number: Callable[[str], Floats], _: Scenario) -> Fields:
    keys = ("ascent_servo_rate", "landing_servo_rate")
    return {key: _times(fields, key, number("speed")) for key in keys}


def _cable(fields: Fields, number: Callable[[str], Floats], _: Scenario) -> Fields:
    found: Fields = {}
    for mount in ("ascent", "landing"):
        own, torque, band = (
            fields[f"{mount}_{key}"] for key in ("cable_stiffness", "servo_torque", "servo_reach")
        )
        found |= cables(mount, np.asarray(own) + number("stiffness"), torque, band)
    return found


def _fooled(_: Fields, number: Callable[[str], Floats], __: Scenario) -> Fields:
    return {
        "barometer_fooled_from": number("onset"),
        "barometer_fooled_speed_share": number("pressure_coefficient") / (2.0 * STANDARD_GRAVITY),
        "barometer_fooled_plume": number("plume_offset"),
    }


def _channel(name: str) -> Change:
    def change(fields: Fields, number: Callable[[str], Floats], scenario: Scenario) -> Fields:
        place = CHANNELS.index(str(scenario.choices[f"faults.{name}.channel"]))
        sensor = "gyro" if place < 3 else "accelerometer"
        found: Fields = {"channel_from": number("onset"), "channel_number": float(place)}
        if name == "channel_dead":
            found["channel_gain"] = 0.0
        elif name == "channel_stuck":
            found["channel_holds"] = 1.0
        elif name == "channel_clipped":
            found["channel_limit"] = _times(fields, f"{sensor}_range", number("share"))
        else:
            found["channel_step"] = number("rate" if place < 3 else "force")
        return found

    return change


def _typed(fields: Fields, number: Callable[[str], Floats], _: Scenario) -> Fields:
    error, clocking = number("error"), number("clocking")
    return {
        "level_error_y": np.asarray(fields["level_error_y"]) + error * np.cos(clocking),
        "level_error_z": np.asarray(fields["level_error_z"]) + error * np.sin(clocking),
    }


_CHANGES: dict[str, Change] = {
    "ascent_weak": _weak("ascent"),
    "landing_no_light": lambda _, number, __: {
        "landing_delay": NEVER, "continuity_lost": number("open_circuit"),
    },
    "landing_late_light": _light_later,
    "landing_chuff": _chuff,
    "landing_weak": _weak("landing"),
    "landing_short": _short,
    "stage_hangs_on": _hangs_on,
    "throttle_stuck": lambda fields, number, _: {
        "throttle_stuck_from": number("onset"),
        "throttle_stuck_at": _times(fields, "throttle_authority", number("place")),
    },
    "throttle_weak": lambda fields, number, _: {
        "throttle_gain": _times(fields, "throttle_gain", number("authority"))
    },
    "gimbal_jammed": lambda _, number, __: {
        "jam_from": number("onset"), "jam_y": number("angle_y"), "jam_z": number("angle_z"),
    },
    "gimbal_one_sided": lambda _, number, __: {"ascent_stop_y": number("stop")},
    "gimbal_slow": _slow,
    "gimbal_reversed": _reversed,
    "gimbal_cable": _cable,
    "legs_stay_up": lambda fields, number, _: {
        # all of them: the legs are never commanded open at all, as far as the world goes
        "legs_delay": np.where(number("each") >= 1.0, NEVER, fields["legs_delay"]),
        "leg_stuck": number("each"),
    },
    "legs_late": lambda fields, number, _: {
        "legs_delay": np.asarray(fields["legs_delay"]) + number("lateness")
    },
    "wheels_saturate": lambda fields, number, _: {
        "wheel_momentum": _times(fields, "wheel_momentum", number("momentum"))
    },
    "channel_dead": _channel("channel_dead"),
    "channel_stuck": _channel("channel_stuck"),
    "channel_clipped": _channel("channel_clipped"),
    "channel_step": _channel("channel_step"),
    "computer_reset": lambda _, number, __: {
        "reset_from": number("onset"), "reset_until": number("onset") + number("lasts"),
    },
    "tilt_typed_wrong": _typed,
    "parachute_stays_in": lambda _, __, ___: {"chute_area": 0.0},
    "gnss_disturbed": lambda _, number, __: {
        "gnss_disturbed_from": number("onset"),
        "gnss_disturbed_until": number("onset") + number("lasts"),
        "gnss_disturbed_factor": number("factor"),
    },
    "barometer_fooled": _fooled,
}  # fmt: skip
