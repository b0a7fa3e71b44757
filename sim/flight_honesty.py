"""Whether the navigation filter is honest: its true errors against the covariance it believes.

The normalised estimation error squared, e' P^-1 e, of the six errors of place and velocity; of an
honest filter it has the chi-square distribution with six degrees of freedom. Source: Bar-Shalom, Li
and Kirubarajan, Estimation with Applications to Tracking and Navigation, 2001, ch. 5 (from memory).

Nothing here acts on the flight.
"""

from __future__ import annotations

from sim.flight_watch import navigation_error
from sim.lanes import any_lane, apart, load, maximum, not_, room, spread, sqrt, store, where
from sim.physics.motor import INFINITE

SIZE = 6
SCRATCH = SIZE * SIZE + SIZE
TINY = 1e-30  # a pivot below this is no variance


@apart
def normalised_error(lanes, scratch, belief, place, velocity):
    """Return e' P^-1 e of the errors of place and velocity, by a Cholesky factor.

    Parameters
    ----------
    scratch : float64[SCRATCH, width]
    belief : record
    place, velocity : tuples of three lanes [m], [m/s]
        Believed less true.
    """
    for i in range(scratch.shape[0] - SIZE):
        store(scratch, i, spread(lanes, 0.0))
    store(scratch, 0, belief.deviation_east * belief.deviation_east)
    store(scratch, 7, belief.deviation_north * belief.deviation_north)
    store(scratch, 14, belief.deviation_up * belief.deviation_up)
    store(scratch, 21, belief.deviation_velocity_east * belief.deviation_velocity_east)
    store(scratch, 28, belief.deviation_velocity_north * belief.deviation_velocity_north)
    store(scratch, 35, belief.deviation_velocity_up * belief.deviation_velocity_up)
    store(scratch, 6, belief.covariance_1_0)
    store(scratch, 12, belief.covariance_2_0)
    store(scratch, 13, belief.covariance_2_1)
    store(scratch, 18, belief.covariance_3_0)
    store(scratch, 19, belief.covariance_3_1)
    store(scratch, 20, belief.covariance_3_2)
    store(scratch, 24, belief.covariance_4_0)
    store(scratch, 25, belief.covariance_4_1)
    store(scratch, 26, belief.covariance_4_2)
    store(scratch, 27, belief.covariance_4_3)
    store(scratch, 30, belief.covariance_5_0)
    store(scratch, 31, belief.covariance_5_1)
    store(scratch, 32, belief.covariance_5_2)
    store(scratch, 33, belief.covariance_5_3)
    store(scratch, 34, belief.covariance_5_4)
    for i in range(3):
        store(scratch, 36 + i, place[0] if i == 0 else place[1] if i == 1 else place[2])
        store(scratch, 39 + i, velocity[0] if i == 0 else velocity[1] if i == 1 else velocity[2])
    total = spread(lanes, 0.0)
    size = scratch.shape[0] - SIZE * SIZE  # loops whose length is known would be written out
    for j in range(size):
        # P = L L', and y = L^-1 e on the way
        pivot, left = load(lanes, scratch, 7 * j), load(lanes, scratch, 36 + j)
        for k in range(j):
            low = load(lanes, scratch, 6 * j + k)
            pivot = pivot - low * low
            left = left - low * load(lanes, scratch, 36 + k)
        root = sqrt(maximum(pivot, TINY))
        left = left / root
        store(scratch, 36 + j, left)
        total = total + left * left
        for i in range(j + 1, size):
            value = load(lanes, scratch, 6 * i + j)
            for k in range(j):
                value = value - load(lanes, scratch, 6 * i + k) * load(lanes, scratch, 6 * j + k)
            store(scratch, 6 * i + j, value / root)
    return total


@room
def watch_ignition_honesty(lanes, scratch, belief, w, o):
    """Normalised error at the tick that commands the landing motor."""
    unknown = not_(o.normalised_error_at_ignition == o.normalised_error_at_ignition)
    now = (w.landing_commanded_at < INFINITE) & unknown
    if any_lane(now):
        place = navigation_error(belief, w)
        velocity = (
            belief.velocity_east - w.unit_velocity_east,
            belief.velocity_north - w.unit_velocity_north,
            belief.velocity_up - w.unit_velocity_up,
        )
        found = normalised_error(lanes, scratch, belief, place, velocity)
        o.normalised_error_at_ignition = where(now, found, o.normalised_error_at_ignition)


@room
def watch_contact_honesty(lanes, touched, scratch, belief, o):
    """Normalised error at the last tick before the touch, whose errors are written already."""
    place = o.navigation_error_east, o.navigation_error_north, o.navigation_error_up
    velocity = (
        o.navigation_velocity_error_east, o.navigation_velocity_error_north,
        o.navigation_velocity_error_up,
    )  # fmt: skip
    found = normalised_error(lanes, scratch, belief, place, velocity)
    o.normalised_error_at_contact = where(touched, found, o.normalised_error_at_contact)
    o.normalised_innovation_sum = where(touched, belief.innovation_sum, o.normalised_innovation_sum)
    o.innovation_count = where(touched, belief.innovation_count, o.innovation_count)
    o.refused_count = where(touched, belief.refused_count, o.refused_count)
