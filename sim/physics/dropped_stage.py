"""The dropped ascent stage: a tumbling body with drag, followed to the ground."""

from __future__ import annotations

from sim.lanes import any_lane, apart, maximum, part, room, sqrt, where
from sim.physics.air import density_at, gravity_at
from sim.physics.wind import REFRESH, mean_wind

INPUTS = ("stage_mass", "stage_x", "stage_drag_area", "separation_impulse",
          "separation_rate_y", "separation_rate_z", "separation_delay", "stage_clear")  # fmt: skip

CARRY = (
    "stage_falling",  # flag
    "stage_east", "stage_north", "stage_up",  # m
    "stage_velocity_east", "stage_velocity_north", "stage_velocity_up",  # m/s
    "stage_time", "stage_speed",  # s, m/s, at the ground
    "stage_closest", "stage_away",  # m; flag, has been a metre away
    "stage_wind_east", "stage_wind_north",  # m/s, mean wind where it is
)  # fmt: skip


@part
def stage_acceleration(ve, vn, vu, z, wind_east, wind_north, density, p):
    """Acceleration [m/s2] of the tumbling stage: gravity and drag against the mean wind."""
    ae, an = ve - wind_east, vn - wind_north
    drag = 0.5 * density * p.stage_drag_area / p.stage_mass * sqrt(ae * ae + an * an + vu * vu)
    return -drag * ae, -drag * an, -drag * vu - gravity_at(z, p)


@apart
def stage_step(count, h, tables, p, w):
    """Move the falling stages on by a tick (Heun's second-order rule); stop them at the ground.

    Parameters
    ----------
    count : int
        Number of the tick.
    h : float [s]
        Its length.
    tables : Tables
        With the measured wind profile.
    p, w : records
    """
    falling = w.stage_falling > 0.5
    # a stage that came free within this step moves from that moment on only
    end = (count + 1) * h
    since = end - w.separated_at
    blown = falling & (since < 1.5 * h)  # it came free within this tick, or on its first moment
    if count % REFRESH == 0:
        blown = falling
    if any_lane(blown):
        east, north, _, _ = mean_wind(w.stage_up, p, tables.wind_east, tables.wind_north)
        w.stage_wind_east = where(blown, east, w.stage_wind_east)
        w.stage_wind_north = where(blown, north, w.stage_wind_north)
    east, north = w.stage_wind_east, w.stage_wind_north
    density = density_at(w.stage_up, p)
    h = where(since < h, since, h)
    ve, vn, vu = w.stage_velocity_east, w.stage_velocity_north, w.stage_velocity_up
    ae, an, au = stage_acceleration(ve, vn, vu, w.stage_up, east, north, density, p)
    ve2, vn2, vu2 = ve + h * ae, vn + h * an, vu + h * au
    be, bn, bu = stage_acceleration(ve2, vn2, vu2, w.stage_up + h * vu, east, north, density, p)
    de, dn, du = 0.5 * h * (ve + ve2), 0.5 * h * (vn + vn2), 0.5 * h * (vu + vu2)
    up = w.stage_up + du
    landed = falling & (up < 0.0)
    # the part of the step after which the height is zero
    share = where(landed, w.stage_up / maximum(w.stage_up - up, 1e-9), 1.0)
    moving = where(falling, share, 0.0)
    w.stage_east = w.stage_east + moving * de
    w.stage_north = w.stage_north + moving * dn
    w.stage_up = w.stage_up + moving * du
    w.stage_velocity_east = w.stage_velocity_east + moving * 0.5 * h * (ae + be)
    w.stage_velocity_north = w.stage_velocity_north + moving * 0.5 * h * (an + bn)
    w.stage_velocity_up = w.stage_velocity_up + moving * 0.5 * h * (au + bu)
    ve, vn, vu = w.stage_velocity_east, w.stage_velocity_north, w.stage_velocity_up
    w.stage_time = where(landed, end - h + share * h, w.stage_time)
    w.stage_speed = where(landed, sqrt(ve * ve + vn * vn + vu * vu), w.stage_speed)
    w.stage_falling = where(landed, 0.0, w.stage_falling)


@room
def stage_distance(state, p, w):
    """Keep the least distance between the falling stage and the vehicle after they have parted."""
    de, dn, du = w.stage_east - state.east, w.stage_north - state.north, w.stage_up - state.up
    distance = sqrt(de * de + dn * dn + du * du)
    falling = w.stage_falling > 0.5
    w.stage_away = where(falling & (distance > p.stage_clear), 1.0, w.stage_away)
    away = falling & (w.stage_away > 0.5)
    nearer = away & ((distance < w.stage_closest) | (w.stage_closest < 0.0))
    w.stage_closest = where(nearer, distance, w.stage_closest)
