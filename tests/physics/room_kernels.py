"""Small kernels around single rooms of the world, so that a test need not fly."""

from __future__ import annotations

import numpy as np

from sim.flight_records import CARRY, INPUTS, carry_record, input_record
from sim.lanes import kernel, lane_types, load, store
from sim.physics import aerodynamics, air, frames, mass, motor, wind

WIDTH = 8


@kernel
def run_air(lanes, heights, inputs, out):
    p = input_record(lanes, inputs)
    for k in range(len(heights)):
        z = load(lanes, heights, k)
        store(out, 2 * k, air.density_at(z, p))
        store(out, 2 * k + 1, air.gravity_at(z, p))


@kernel
def run_mean_wind(lanes, heights, inputs, profile_east, profile_north, out):
    p = input_record(lanes, inputs)
    for k in range(len(heights)):
        z = load(lanes, heights, k)
        east, north, slope_east, slope_north = wind.mean_wind(z, p, profile_east, profile_north)
        store(out, 4 * k, east)
        store(out, 4 * k + 1, north)
        store(out, 4 * k + 2, slope_east)
        store(out, 4 * k + 3, slope_north)


@kernel
def run_turbulence(lanes, seed, flights, count, interval, motion, inputs, carry, out):
    """A series at one height; motion: height and airspeed."""
    p, w = input_record(lanes, inputs), carry_record(lanes, carry)
    flight = load(lanes, flights, 0)
    wind.start_turbulence(seed, flight, w)
    wind.refresh_turbulence(load(lanes, motion, 0), load(lanes, motion, 1), interval, p, w)
    for k in range(count):
        along, across, up = wind.turbulence_step(seed, flight, k, w)
        store(out, 3 * k, along)
        store(out, 3 * k + 1, across)
        store(out, 3 * k + 2, up)


@kernel
def run_wind_ticks(lanes, flights, interval, heights, climbs, inputs, carry, profile, out):
    """Wind without turbulence, tick by tick, in the middle of each; heights as each begins."""
    p, w = input_record(lanes, inputs), carry_record(lanes, carry)
    flight = load(lanes, flights, 0)
    for k in range(len(heights)):
        z, climb = load(lanes, heights, k), load(lanes, climbs, k)
        time = k * interval + 0.0 * z
        wind.wind_tick(
            np.uint64(0), flight, k, k, time, interval, z, climb, climb * climb, p, w, profile,
            profile,
        )  # fmt: skip
        above = z + 0.5 * interval * climb - w.wind_z
        store(out, 2 * k, w.wind_east + w.wind_slope_east * above)
        store(out, 2 * k + 1, w.wind_north + w.wind_slope_north * above)


@kernel
def run_gust(lanes, count, interval, speeds, inputs, carry, out):
    p, w = input_record(lanes, inputs), carry_record(lanes, carry)
    speed = load(lanes, speeds, 0)
    for k in range(count):
        store(out, k, wind.gust_at(k * interval, interval, speed, p, w))


@kernel
def run_loads(lanes, motion, inputs, carry, air_table, out):
    """Forces and moments; motion: u, v, w, rate y, rate z, cg, half density, burning."""
    p, w = input_record(lanes, inputs), carry_record(lanes, carry)
    aerodynamics.choose_shape(p, w)
    for k in range(len(motion) // 8):
        row = 8 * k
        found = aerodynamics.air_loads(
            load(lanes, motion, row), load(lanes, motion, row + 1), load(lanes, motion, row + 2),
            load(lanes, motion, row + 3), load(lanes, motion, row + 4),
            load(lanes, motion, row + 5), load(lanes, motion, row + 6),
            load(lanes, motion, row + 7), air_table, p, w,
        )  # fmt: skip
        for i in range(5):
            store(out, 5 * k + i, found[i])


@kernel
def run_motors(lanes, times, inputs, carry, ascent_curve, landing_curve, out):
    """Walk both motors through rising times; out: thrusts, impulses, ends of the pieces."""
    p, w = input_record(lanes, inputs), carry_record(lanes, carry)
    for k in range(len(times)):
        now = load(lanes, times, k)
        for _ in range(len(ascent_curve) + len(landing_curve)):
            due = (w.ascent_piece_end <= now) | (w.landing_piece_end <= now)
            motor.walk_curves(due, now, p, w, ascent_curve, landing_curve)
        store(out, 6 * k, motor.thrust_now(
            now, w.ascent_piece_start, w.ascent_thrust, w.ascent_slope
        ))  # fmt: skip
        store(out, 6 * k + 1, motor.impulse_now(
            now, w.ascent_piece_start, w.ascent_thrust, w.ascent_slope, w.ascent_impulse
        ))  # fmt: skip
        store(out, 6 * k + 2, w.ascent_piece_end)
        store(out, 6 * k + 3, motor.thrust_now(
            now, w.landing_piece_start, w.landing_thrust, w.landing_slope
        ))  # fmt: skip
        store(out, 6 * k + 4, motor.impulse_now(
            now, w.landing_piece_start, w.landing_thrust, w.landing_slope, w.landing_impulse
        ))  # fmt: skip
        store(out, 6 * k + 5, w.landing_piece_end)


@kernel
def run_mass(lanes, left, inputs, carry, out):
    """Mass properties with these propellant masses left (two rows)."""
    p, w = input_record(lanes, inputs), carry_record(lanes, carry)
    mass.configure(p, w)
    m = mass.mass_properties(load(lanes, left, 0), load(lanes, left, 1), p, w)
    for i in range(10):
        store(out, i, m[i])


@kernel
def run_upright(lanes, angles, out):
    """Rotation matrix of a standing vehicle: tilt, its direction, heading."""
    q = frames.upright(load(lanes, angles, 0), load(lanes, angles, 1), load(lanes, angles, 2))
    r = frames.rotation_of(q.q0, q.q1, q.q2, q.q3)
    for i in range(9):
        store(out, i, r[i])


def inputs_of(**numbers):
    """Array of the kernel's inputs with these set, the rest zero."""
    return _filled(INPUTS, numbers)


def carry_of(**numbers):
    """Array of the kernel's carry with these set, the rest zero."""
    return _filled(CARRY, numbers)


def _filled(names, numbers):
    table = np.zeros((len(names), WIDTH))
    for name, value in numbers.items():
        table[names.index(name)] = value
    return table


def lanes():
    return lane_types(WIDTH)


def in_lanes(values):
    """A list of numbers in rows of the width, the last one repeated, and how many there are."""
    values = np.asarray(values, dtype=np.float64)
    return np.pad(values, (0, -len(values) % WIDTH), mode="edge").reshape(-1, WIDTH), len(values)
