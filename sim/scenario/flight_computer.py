"""Settings of the flight computer that setdown brings along."""

from __future__ import annotations

from typing import Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity


class FlightComputer(Part):
    """The built-in flight computer; without the section nothing steers."""

    kind: Literal["built_in", "none"] = choice(
        "built_in", absent="none", doc="the one built in, or nothing on board"
    )
    control_rate: Quantity = quantity(
        "frequency", "200 Hz", sign="positive", doc="commands a second", source=CHOSEN
    )
    navigation: Literal["dead_reckoning", "aided"] = choice(
        "dead_reckoning",
        doc="the inertial unit alone, or corrected by the aids aboard through a Kalman filter",
    )
    innovation_gate: Quantity = quantity(
        "number", "5", sign="positive",
        doc="standard deviations beyond which the filter does not believe a reading of an aid",
        source=CHOSEN,
    )  # fmt: skip
    lift_off_threshold: Quantity = quantity(
        "acceleration", "1.5 g", sign="positive", doc="specific force along the nose",
        source=CHOSEN,
    )  # fmt: skip
    lift_off_samples: int = choice(8, doc="samples in a row above it, then back-dated")
    climb: Literal["programme", "aimed"] = choice(
        "programme",
        doc="lean by climb_tilt, or aim: lean so that coasting ends over the landing pad",
    )
    climb_tilt: Quantity = quantity(
        "angle", "0 deg", doc="of the pitch programme, or the largest when aimed",
        source="straight up",
    )  # fmt: skip
    climb_time: Quantity = quantity(
        "time", "0.35 s", sign="positive", doc="in which an aimed climb makes up its lateral speed",
        source=CHOSEN,
    )  # fmt: skip
    coast_time: Quantity = quantity(
        "time", "6 s", sign="positive",
        doc="metres gone by landing for each m/s of lateral speed while climbing, when aimed",
        source="found by flying the nominal flight",
    )  # fmt: skip
    wind_drift: Quantity = quantity(
        "time", "0 s", sign="non_negative",
        doc="metres blown by landing for each m/s of wind read on the field, when aimed",
        source="found by flying the nominal flight in wind",
    )  # fmt: skip
    climb_tilt_start: Quantity = quantity(
        "time", "0.5 s", sign="non_negative", doc="after lift-off", source=CHOSEN
    )
    climb_tilt_end: Quantity = quantity(
        "time", "1.4 s", sign="non_negative", doc="after lift-off", source=CHOSEN
    )
    bandwidth: Quantity = quantity(
        "angular rate", "7 rad/s", sign="positive", doc="of the attitude loop",
        source="well below that of a small servo",
    )  # fmt: skip
    damping: Quantity = quantity(
        "number", "0.8", sign="positive", doc="ratio of the attitude loop", source=CHOSEN
    )
    integral: Quantity = quantity(
        "share per second", "0.8 1/s", sign="non_negative",
        doc="integral gain over proportional gain", source=CHOSEN,
    )  # fmt: skip
    schedule_gains: bool = choice(True, doc="gains follow believed thrust, arm and inertia")
    roll_bandwidth: Quantity = quantity(
        "angular rate", "5 rad/s", sign="positive", doc="of the roll loop", source=CHOSEN
    )
    wheel_bandwidth: Quantity = quantity(
        "angular rate", "3 rad/s", sign="positive",
        doc="of attitude hold by wheels between the burns", source=CHOSEN,
    )  # fmt: skip
    wheel_unload: Quantity = quantity(
        "share per second", "0 1/s", sign="non_negative",
        doc="of the wheels' momentum across the axis, given back while a motor pushes",
        source="never given back",
    )  # fmt: skip
    separation_after_burn_out: Quantity = quantity(
        "time", "0.15 s", sign="non_negative", doc="of the ascent motor", source=CHOSEN
    )
    petals_at: Literal["apogee", "separation", "never"] = choice("apogee", doc="when they open")
    legs_after_ignition: Quantity = quantity(
        "time", "0.2 s", sign="non_negative", doc="of the landing motor", source=CHOSEN
    )
    check_stage: bool = choice(
        False, doc="give up, falling, if the separation switch still says attached"
    )
    stage_wait: Quantity = quantity(
        "time", "0.5 s", sign="non_negative", doc="from the command to part until it is late",
        source=CHOSEN,
    )  # fmt: skip
    check_light: bool = choice(False, doc="give up if no push is felt after the landing ignition")
    light_wait: Quantity = quantity(
        "time", "0.5 s", sign="non_negative", doc="from that command until it is late",
        source=CHOSEN,
    )  # fmt: skip
    check_continuity: bool = choice(
        False, doc="give up, falling, if the landing igniter is an open circuit"
    )
    hold: bool = choice(
        False, doc="do not light the ascent motor while the landing igniter is an open circuit"
    )
    on_fault: Literal["parachute", "level_out", "do_not_light"] = choice(
        "parachute",
        doc="when it gives up nothing is lit any more; besides, let out the parachute, or hold the "
        "nose upright without guidance, or nothing",
    )
    ignition: Literal["table", "height", "time"] = choice(
        "table", doc="landing motor lit by a table of height against sink rate, height or time"
    )
    ignition_margin: Quantity = quantity("length", "0 m", doc="added to the table", source=CHOSEN)
    ignition_height: Quantity = quantity(
        "length", "0 m", doc='of the feet, for ignition = "height"', source="must be given then"
    )
    ignition_time: Quantity = quantity(
        "time", "0 s", sign="non_negative", doc="after lift-off, for ignition = \"time\"",
        source="must be given then",
    )  # fmt: skip
    touchdown_sink_rate: Quantity = quantity(
        "speed", "0.6 m/s", sign="non_negative", doc="aimed at", source=CHOSEN
    )
    sink_gain: Quantity = quantity(
        "share per second", "3 1/s", sign="non_negative", doc="of the sink-rate loop",
        source=CHOSEN,
    )  # fmt: skip
    surplus: Literal["throttle", "divert", "divert_open_loop", "none"] = choice(
        "throttle",
        doc="what becomes of thrust beyond the need: throttled away, shed by leaning out and back "
        "in (replanned each tick, or planned at light only), or nothing",
    )
    divert_tilt: Quantity = quantity(
        "angle", "25 deg", sign="non_negative", doc="limit of the lean of a divert", source=CHOSEN
    )
    divert_way: Quantity = quantity(
        "length", "0 m", sign="non_negative",
        doc="that a divert goes sideways; an aimed climb ends short of the landing pad by it",
        source="found by flying the nominal flight",
    )  # fmt: skip
    guidance_tilt: Quantity = quantity(
        "angle", "8 deg", sign="non_negative", doc="limit of lateral steering", source=CHOSEN
    )
    guidance_freeze: Quantity = quantity(
        "time", "0.4 s", sign="non_negative", doc="time to go at which commands freeze",
        source=CHOSEN,
    )  # fmt: skip
