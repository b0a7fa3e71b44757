"""The ground and the legs as they come: pad edge, spikes, moisture, slope, dips, legs that fail."""

from __future__ import annotations

import numpy as np
import pytest

from sim.ensemble.fly_runs import fly_trace
from sim.flight_records import AT_REST, OUT_OF_TIME, TIPPED
from sim.scenario import load_scenario
from tests.flight.eight import HERON, STANDARD_GRAVITY
from tests.flight.stool import EDGE, FOOT_RADIUS, HEIGHT, LANES, MASS, drop, set_down, stool_on

SOFTLY = {"ground_dashpot": 60.0, "bristle_damping": 30.0}
UPRIGHT = ("legs.hinge_radius=0.3 m",)


@pytest.fixture(scope="module")
def stool():
    return stool_on("rigid")


def rest_tilt(flown):
    return np.arccos(flown.outcomes["rest_tilt_cosine"])


def silent_feet(flown):
    """How many feet of each flight never touched."""
    return sum(np.max(flown[f"foot_force_{leg}"], axis=0) == 0.0 for leg in range(4))


# ---- the edge of the landing pad -----------------------------------------------------------------


def test_pad_edge__feet_past_it_go_down_to_the_ground(stool):
    # the edge runs 0.1 m east of the axis (lanes 4 to 7): two feet are past it
    east = np.where(LANES < 4, 0.0, -99.9)
    flown = drop(
        stool, settle=5.0, pad_radius=100.0, pad_east=east, pad_up=0.05, start_up=HEIGHT + 0.07,
        **SOFTLY,
    )  # fmt: skip
    assert np.all(flown.outcomes["ending"] == AT_REST)
    assert list(flown.outcomes["feet_on_pad"]) == [4.0] * 4 + [2.0] * 4
    assert rest_tilt(flown)[:4] == pytest.approx(0.0, abs=1e-3)
    # 50 mm over the distance of the feet; it slides a little on the two edges of its feet
    assert rest_tilt(flown)[4:] == pytest.approx(np.arcsin(0.05 / (2.0 * EDGE)), rel=0.02)


def test_pad_edge__a_vehicle_half_over_a_high_one_falls(stool):
    edge = np.array([0.3, 0.25, 0.225, 0.215, 0.2, 0.1, 0.05, 0.01])  # m east of the axis
    flown = drop(
        stool, settle=3.0, pad_radius=100.0, pad_east=edge - 100.0, pad_up=0.4,
        start_up=HEIGHT + 0.42, **SOFTLY,
    )  # fmt: skip
    holds = edge > EDGE  # all feet are on it
    assert np.all(flown.outcomes["ending"][holds] == AT_REST)
    assert np.all(flown.outcomes["ending"][~holds] == TIPPED)


# ---- spikes --------------------------------------------------------------------------------------


def test_spikes__hold_to_the_side_on_ground_into_which_they_go(stool):
    slope = np.deg2rad(12.0)
    pull = MASS * STANDARD_GRAVITY * (np.sin(slope) - 0.1 * np.cos(slope)) / 4.0  # on each foot
    # a foot goes in 0.7 mm in the soft lanes, 7 um in the hard ones
    flown = drop(
        stool, settle=5.0, slope_east=-np.tan(slope), start_tilt=slope,
        start_tilt_direction=np.pi / 2.0, start_up=set_down(slope), friction_static=0.1,
        friction_kinetic=0.1, foot_hold=pull * np.array([0.0, 0.8, 1.5, 3.0] * 2),
        foot_bite=0.5e-3, ground_stiffness=np.where(LANES < 4, 5e3, 5e5),
        bristle_stiffness=5e3, **SOFTLY,
    )  # fmt: skip
    rests = flown.outcomes["ending"] == AT_REST
    assert list(rests) == [False, False, True, True, False, False, False, False]


def test_spikes__cost_force_to_pull_out(stool):
    flown = drop(
        stool, settle=1.0, start_up=HEIGHT + 0.1, ground_stiffness=5e3, ground_damping=0.0,
        foot_bite=1e-3, foot_pull_out=np.linspace(0.0, 14.0, 8),
    )  # fmt: skip
    leaves = np.max(flown["velocity_up"], axis=0)
    assert leaves[0] == pytest.approx(np.sqrt(2.0 * STANDARD_GRAVITY * 0.1), rel=0.01)
    assert np.all(np.diff(leaves) < 0.0)
    # four pulls over the way on which the spikes are part in (half) or all in
    work = 4.0 * 2.0 * 0.5e-3
    lost = 0.5 * MASS * (leaves[0] ** 2 - leaves[1] ** 2)
    assert lost > work


# ---- moisture, slope, dips -----------------------------------------------------------------------


def test_moisture__makes_the_ground_slick_and_soft():
    start = {"start_velocity_east": 0.8, "start_up": HEIGHT + 2e-4, "ground_dashpot": 100.0}
    keys = ("surface.stiffness=3 kN/m", "legs.foot_stiffness=1e9 N/m")
    flown = []
    for wet in (0.0, 1.0):
        stool = stool_on("rigid", "telescoping", *keys, f"surface.moisture={wet}")
        changes = dict.fromkeys(("ground_stiffness", "bristle_stiffness"))
        for name in changes:
            changes[name] = _prepared(stool, name)
        flown.append(drop(stool, settle=3.0, **start, **changes))
    dry, wet = flown
    assert np.all(dry.outcomes["ending"] == AT_REST)
    assert np.all(wet.outcomes["ending"] == AT_REST)
    # distance goes with one over the friction: wet_friction 0.55; depth with one over stiffness
    longer = wet.outcomes["slide_distance"] / dry.outcomes["slide_distance"]
    assert longer == pytest.approx(1.0 / 0.55, rel=0.05)
    depth = [HEIGHT - float(np.min(some["up"][-1])) for some in flown]
    assert depth[1] / depth[0] == pytest.approx(1.0 / 0.4, rel=0.02)


def _prepared(stool, name):
    from tests.flight.stool import input_of

    return input_of(stool, name)


def test_slope__is_the_tilt_at_rest_and_carries_the_mean_height(stool):
    slope = np.deg2rad(np.linspace(0.0, 10.0, 8))
    flown = drop(
        stool, settle=5.0, slope_east=-np.tan(slope), start_tilt=slope, friction_static=0.6,
        start_tilt_direction=np.pi / 2.0, start_up=set_down(slope), **SOFTLY,
    )  # fmt: skip
    assert np.all(flown.outcomes["ending"] == AT_REST)
    assert rest_tilt(flown) == pytest.approx(slope, abs=2e-3)


def test_roughness__leaves_the_vehicle_leaning(stool):
    rough = np.where(LANES < 2, 0.0, 8e-3)
    flown = drop(stool, settle=6.0, roughness=rough, friction_static=0.7,
                 start_tilt=0.02, start_up=set_down(0.02) + 0.01, ground_stiffness=1.5e4,
                 **SOFTLY)  # fmt: skip
    assert np.all(flown.outcomes["ending"] == AT_REST)
    tilt = rest_tilt(flown)
    assert np.all(tilt[:2] < 1e-3)
    assert np.all(tilt[2:] > 2e-3)
    assert np.ptp(tilt[2:]) > 2e-3
    # dips of a half-normal depth of 8 mm: no lean beyond four of them over a side
    assert np.all(tilt[2:] < 4.0 * 8e-3 / (2.0 * EDGE))


# ---- legs that fail, airframe that strikes -------------------------------------------------------


def test_frame__is_struck_where_legs_give_way_too_far():
    # the tail ring is 0.15 m above the feet
    flown = drop(
        stool_on("spring", "telescoping", *UPRIGHT), settle=4.0, strut_rate=20.0,
        strut_damping=10.0, strut_preload=0.0, strut_stroke=np.where(LANES < 4, 0.05, 0.3),
        ground_dashpot=60.0,
    )  # fmt: skip
    assert list(flown.outcomes["frame_struck"]) == [0.0] * 4 + [1.0] * 4
    assert list(flown.outcomes["rests_on_frame"]) == [0.0] * 4 + [1.0] * 4


def test_leg__that_stays_folded_lets_the_vehicle_fall(stool):
    chance = np.where(LANES < 2, 0.0, 0.3)
    flown = drop(stool, settle=5.0, leg_stuck=chance, **SOFTLY)
    missing = silent_feet(flown)
    assert np.all(missing[:2] == 0)
    assert np.any(missing[2:] > 0)
    upright = (flown.outcomes["ending"] == AT_REST) & (rest_tilt(flown) < 0.02)
    assert list(upright) == list(missing == 0)


def test_latch__that_fails_leaves_a_strut_that_holds_nothing():
    chance = np.where(LANES < 2, 0.0, 0.15)
    flown = drop(
        stool_on("spring", "telescoping", *UPRIGHT), settle=4.0, leg_latch_failure=chance,
        strut_rate=3e3, strut_damping=60.0, strut_stroke=0.03, strut_preload=0.0,
        ground_dashpot=60.0,
    )  # fmt: skip
    at_stop = flown.outcomes["peak_stroke"] > 0.03
    assert not np.any(at_stop[:2])
    assert np.any(at_stop[2:])
    assert not np.all(at_stop[2:])
    lean = rest_tilt(flown)
    assert np.all(flown.outcomes["ending"] == AT_REST)
    assert np.all(lean[~at_stop] < 1e-3)
    # one strut at its stop, or two beside each other: 30 mm over a side or a diagonal
    assert np.any(lean[at_stop] > 0.5 * 0.03 / (2.0 * FOOT_RADIUS))


# ---- a contact that will not settle --------------------------------------------------------------


def test_unsettled__counts_as_a_failure(stool):
    flown = drop(stool, settle=0.5, start_up=HEIGHT + 0.2, ground_damping=0.0)
    assert np.all(flown.outcomes["ending"] == OUT_OF_TIME)
    from sim.analysis.flights import ON_FEET
    from sim.ensemble.fly_runs import finished

    judged = finished(flown.outcomes, stool, {})
    from sim.ensemble.registry import OUTCOME_MEANINGS

    assert {OUTCOME_MEANINGS[int(value)] for value in judged["outcome"]} == {"unsettled"}
    assert np.all(judged["standing"] == 0.0)
    assert "unsettled" not in ON_FEET


def test_legs__that_are_told_to_open_after_the_touch_stay_as_they_are():
    # cg and inertia do not jump under a vehicle that stands or lies on the ground
    def flown(after):
        told = [f"flight_computer.legs_after_ignition={after} s", "legs.mass_shift=50 mm"]
        return fly_trace(load_scenario(HERON, sets=told), 1, None, {}, width=8)

    never, still = flown(1000.0)
    early = float(never["contact_time"][0] - never["ignition_command_time"][0])
    late, trace = flown(early + 0.1)
    assert never["frame_struck"][0] == 1.0
    assert still["time"][-1] > never["contact_time"][0] + 0.5  # longer than the legs would take
    assert np.array_equal(trace["up"], still["up"])
    assert late["rest_tilt"] == never["rest_tilt"]
