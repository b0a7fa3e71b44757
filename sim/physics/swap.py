"""The motor swap: the landing motor, carried ahead of its place, slides aft when the casing is out.

The slide is a step at its end, not a motion: until then the motor is where it was carried. What
slides is inside the vehicle, so that nothing changes the momentum: the common centre of gravity
goes on as it was, with the same velocity, and lies elsewhere in the hull afterwards. Turning, the
angular momentum about it is kept, and the rates change with the inertia. Left out: the few
millimetres by which the hull recoils, as the inertial unit would feel them.
"""

from __future__ import annotations

from sim.lanes import any_lane, part, room, where
from sim.physics.motor import INFINITE
from sim.physics.rigid_body import State

INPUTS = (
    "swap_travel",  # m, how far ahead of its place the landing motor is carried; 0 without a swap
    "swap_case_mass", "swap_case_x",  # kg, m, its case, in its working place
    "slide_time",  # s, from the casing free to the motor in place
)  # fmt: skip

CARRY = (
    "landing_ahead",  # m, how far ahead of its place the landing motor is now
    "slide_at", "swapped_at",  # s, when it will be in place; when it was, for the record
)  # fmt: skip


@room
def carry(p, w):
    """Move the case to where it is carried, in the body without propellant (parallel axes)."""
    ahead = w.landing_ahead > 0.0
    if any_lane(ahead):
        old, total, case = w.dry_x, w.dry_mass, p.swap_case_mass
        new = old + case * w.landing_ahead / total
        there = p.swap_case_x + w.landing_ahead
        # second moments about the nose, then back to the new centre of gravity
        grown = case * (there * there - p.swap_case_x * p.swap_case_x)
        grown = grown - total * (new * new - old * old)
        w.dry_x = where(ahead, new, old)
        w.dry_jyy = where(ahead, w.dry_jyy + grown, w.dry_jyy)
        w.dry_jzz = where(ahead, w.dry_jzz + grown, w.dry_jzz)
        shift = total * (new - old)
        w.dry_jxy = where(ahead, w.dry_jxy + shift * w.dry_y, w.dry_jxy)
        w.dry_jxz = where(ahead, w.dry_jxz + shift * w.dry_z, w.dry_jxz)


@part
def begin(parts, now, p, w):
    """The casing has come free in these lanes: the slide is over a set time later."""
    slides = parts & (w.landing_ahead > 0.0)
    w.slide_at = where(slides, now + p.slide_time, w.slide_at)


@part
def slid(slides, now, state, old, new, w):
    """The same motion with the motor in its place.

    Parameters
    ----------
    slides : mask
    now : lanes [s]
    state : State
    old, new : Loads
        Before and after the slide.
    w : record

    Returns
    -------
    State
        Only the rates differ.
    """
    wx, wy, wz = state.rate_x, state.rate_y, state.rate_z
    hx = old.jxx * wx + old.jxy * wy + old.jxz * wz
    hy = old.jxy * wx + old.jyy * wy + old.jyz * wz
    hz = old.jxz * wx + old.jyz * wy + old.jzz * wz
    w.cg_x = where(slides, new.cg_x, w.cg_x)
    w.cg_y, w.cg_z = where(slides, new.cg_y, w.cg_y), where(slides, new.cg_z, w.cg_z)
    w.swapped_at = where(slides, now, w.swapped_at)
    w.slide_at = where(slides, INFINITE, w.slide_at)
    return State(
        state.east, state.north, state.up,
        state.velocity_east, state.velocity_north, state.velocity_up,
        state.q0, state.q1, state.q2, state.q3,
        where(slides, new.ixx * hx + new.ixy * hy + new.ixz * hz, wx),
        where(slides, new.ixy * hx + new.iyy * hy + new.iyz * hz, wy),
        where(slides, new.ixz * hx + new.iyz * hy + new.izz * hz, wz),
        state.servo_y, state.servo_y_rate, state.servo_z, state.servo_z_rate, state.dip,
        state.wheel_x, state.wheel_y, state.wheel_z,
    )  # fmt: skip
