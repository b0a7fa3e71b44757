"""Equations of flight of a whole vehicle, written apart from the program, for DOP853 to integrate.

Everything here starts from the numbers of a scenario and from what the program's documents say of
its model; nothing is shared with its code but the knots of the thrust curves. It differs on
purpose: the state is that of the nose tip (a point of the hull) and a rotation matrix, mass and
inertia are put together from bodies by matrices at each moment, time derivatives of the inertia by
differences, the air and the wind are taken where the vehicle is.

One flight without control: launch pad, ascent burn, stage dropped, landing burn, legs opened.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sim.scenario.thrust import reduce_curve

X_AXIS = np.array([1.0, 0.0, 0.0])
UPRIGHT = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])  # x up, y east, z north
GAS = 287.05287  # J/(kg K)


def cross_matrix(v):
    return np.array([[0.0, -v[2], v[1]], [v[2], 0.0, -v[0]], [-v[1], v[0], 0.0]])


def axis_turn(axis, angle):
    """Rotation matrix of a turn, by Rodrigues' formula."""
    k = cross_matrix(axis)
    return np.eye(3) + np.sin(angle) * k + (1.0 - np.cos(angle)) * k @ k


def cross(a, b):
    return np.array(
        [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
    )


class Burn:
    """A motor's thrust and grain against time."""

    def __init__(self, n, scenario, part, light):
        curve = reduce_curve(scenario.curves[f"{part}.curve"])
        factor = n[f"{part}.impulse_factor"] * (1.0 + n[f"{part}.label_bias"])
        warmer = n[f"{part}.grain_temperature"] - n[f"{part}.reference_temperature"]
        # burning rate and thrust follow exp(sensitivity x warmth), the impulse does not: Sutton
        stretch = n[f"{part}.burn_time_factor"] * np.exp(
            -n[f"{part}.temperature_sensitivity"] * warmer
        )
        self.light = light
        self.times = light + stretch * curve.knots[:, 0]
        self.thrusts = curve.knots[:, 1] * factor / stretch
        steps = np.diff(self.times)
        self.given = np.concatenate(
            ([0.0], np.cumsum(0.5 * steps * (self.thrusts[1:] + self.thrusts[:-1])))
        )
        self.total = self.given[-1]
        self.grain = n[f"{part}.propellant_mass"]
        self.at = np.array([-n[f"{part}.propellant_cg"], 0.0, 0.0])
        self.exit = np.array([-n[f"{part}.nozzle"], 0.0, 0.0])
        radius, length = 0.5 * n[f"{part}.grain_diameter"], n[f"{part}.grain_length"]
        across = radius**2 / 4.0 + length**2 / 12.0
        self.per_mass = np.diag([radius**2 / 2.0, across, across])  # a solid cylinder
        self.exit_gyration = radius**2 / 4.0
        lean, clock = n[f"{part}.misalignment"], n[f"{part}.misalignment_clocking"]
        self.lean = lean * np.array([np.cos(clock), np.sin(clock)])  # of the line towards y and z
        beside, clock = n[f"{part}.offset"], n[f"{part}.offset_clocking"]
        gimbal = part.replace("motor", "gimbal")
        self.pivot = np.array(
            [-n[f"{gimbal}.pivot"], beside * np.cos(clock), beside * np.sin(clock)]
        )
        self.servo = {
            "frequency": n[f"{gimbal}.natural_frequency"], "damping": n[f"{gimbal}.damping"],
            "goal": np.array([n[f"{gimbal}.zero_offset.y"], n[f"{gimbal}.zero_offset.z"]]),
            "mass": n[f"{gimbal}.swinging_mass"], "arm": n[f"{gimbal}.swinging_arm"],
            "pivot": -n[f"{gimbal}.pivot"],
        }  # fmt: skip

    def thrust(self, t):
        return float(np.interp(t, self.times, self.thrusts, left=0.0, right=0.0))

    def left(self, t):
        """Grain left [kg]: what has burned is the share of the impulse given."""
        if t <= self.light:
            return self.grain
        if t >= self.times[-1]:
            return 0.0
        i = int(np.searchsorted(self.times, t, side="right")) - 1
        since = t - self.times[i]
        given = self.given[i] + 0.5 * since * (self.thrusts[i] + self.thrust(t))
        return self.grain * (1.0 - given / self.total)

    def flow(self, t):
        return self.grain * self.thrust(t) / self.total


class Shape:
    """Drag areas and places of a body of revolution with fins, by the sources named."""

    def __init__(self, n, scenario, length):
        diameter, nose = n["vehicle.diameter"], n["vehicle.nose_length"]
        area = np.pi * diameter**2 / 4.0

        def friction(chord):  # Prandtl-Schlichting at 20 m/s (from memory); R6.12
            return 0.455 / np.log10(20.0 * chord / 1.46e-5) ** 2.58

        thin = diameter / length
        # wetted area of a cylinder and an ogive of two thirds of its cylinder; R6.13, Hoerner
        wetted = (np.pi * diameter * (length - nose) + np.pi * diameter * nose * 2.0 / 3.0) / area
        body = friction(length) * (1.0 + 1.5 * thin**1.5 + 7.0 * thin**3) * wetted
        count = int(scenario.choices["fins.count"])
        span, root, tip = n["fins.span"], n["fins.root_chord"], n["fins.tip_chord"]
        sweep, radius = n["fins.sweep"], diameter / 2.0
        one_fin = span * (root + tip) / 2.0
        fin_drag = friction(root) * 2.0 * count * one_fin / area
        base = n["aerodynamics.base_drag"]
        factor = n["aerodynamics.axial_factor"]
        self.nose_first = (body + base + fin_drag) * area * factor
        self.tail_first = (n["aerodynamics.tail_first_drag"] + fin_drag) * area * factor
        self.base = base * area * factor * (1.0 - n["aerodynamics.base_drag_burning"])
        # Barrowman (1967), from memory; R6.1, R6.3
        mid_chord = np.hypot(span, sweep + tip / 2.0 - root / 2.0)
        fins = (1.0 + radius / (span + radius)) * (
            4.0 * count * (span / diameter) ** 2
            / (1.0 + np.sqrt(1.0 + (2.0 * mid_chord / (root + tip)) ** 2))
        ) * area  # fmt: skip
        fins_at = (
            n["fins.station"]
            + sweep / 3.0 * (root + 2.0 * tip) / (root + tip)
            + (root + tip - root * tip / (root + tip)) / 6.0
        )
        normal, shift = n["aerodynamics.normal_factor"], n["aerodynamics.centre_of_pressure_shift"]
        self.slope = normal * (2.0 * area + fins)
        self.slope_at = [
            -((2.0 * area * end + fins * fins_at) / (2.0 * area + fins) + shift)
            for end in (0.466 * nose, length)
        ]
        # cross-flow: side view of an ogive 2/3 of its box with its middle at 5/8, and a cylinder
        ratio = np.interp(
            np.log(length / diameter), np.log([1, 2, 5, 10, 40]), [0.63, 0.68, 0.74, 0.82, 0.98]
        )
        strip = ratio * n["aerodynamics.cross_flow_drag"] / 1.2 * diameter * normal
        parts = [
            (2.0 / 3.0 * nose, 0.625 * nose),
            (length - nose, nose + (length - nose) / 2.0),
        ]
        side = sum(size for size, _ in parts)
        middle = sum(size * at for size, at in parts) / side
        body_side = strip * side
        plates = 1.17 * 0.5 * count * one_fin * normal
        self.side = body_side + plates
        at = (body_side * middle + plates * fins_at) / self.side
        self.side_at = -(at + shift)
        damping = n["aerodynamics.damping_factor"]
        self.second = damping * (
            strip * side**3 / 12.0
            + body_side * (middle - at) ** 2 + plates * (fins_at - at) ** 2
        )  # fmt: skip
        self.third = damping * (strip * side**4 / 32.0 + plates * abs(fins_at - at) ** 3)


class OwnFlight:
    """One uncontrolled flight of a scenario with these numbers, as exact as one likes."""

    def __init__(self, scenario, numbers, *, separation, light, legs):
        self.n = n = {name: number.value for name, number in scenario.numbers.items()} | numbers
        self.ascent = Burn(n, scenario, "ascent_motor", n["ascent_motor.ignition_delay"])
        self.landing = Burn(n, scenario, "landing_motor", light)
        self.separation, self.legs_time = separation, legs
        self.stack_shape = Shape(n, scenario, n["stage.end"])
        self.core_shape = Shape(n, scenario, n["vehicle.length"])
        self.attached, self.legs_open = True, False
        offset, clock = n["vehicle.cg_offset"], n["vehicle.cg_offset_clocking"]
        self.beside = np.array([0.0, offset * np.cos(clock), offset * np.sin(clock)])
        across, uneven = n["vehicle.transverse_inertia"], n["vehicle.transverse_asymmetry"]
        self.core_inertia = np.diag(
            [n["vehicle.axial_inertia"], across * (1.0 + uneven), across * (1.0 - uneven)]
        )
        self.core_inertia[0, 2] = self.core_inertia[2, 0] = -n["vehicle.product_inertia"]
        across = n["stage.transverse_inertia"]
        self.stage_inertia = np.diag([n["stage.axial_inertia"], across, across])

    # ---- what it is made of ---------------------------------------------------------------------

    def bodies(self, ascent_left, landing_left):
        n = self.n
        shift = n["legs.mass_shift"] if self.legs_open else 0.0
        core = self.beside + np.array([-n["vehicle.cg"] - shift, 0.0, 0.0])
        gain = n["legs.inertia_gain"] if self.legs_open else 0.0
        ring = gain * np.diag([1.0, 0.5, 0.5])  # masses that swing out all around the axis
        yield n["vehicle.dry_mass"], core, self.core_inertia + ring
        yield landing_left, self.landing.at, landing_left * self.landing.per_mass
        if self.attached:
            yield n["stage.mass"], np.array([-n["stage.cg"], 0.0, 0.0]), self.stage_inertia
            yield ascent_left, self.ascent.at, ascent_left * self.ascent.per_mass

    def mass_properties(self, ascent_left, landing_left):
        bodies = list(self.bodies(ascent_left, landing_left))
        mass = sum(body[0] for body in bodies)
        centre = sum(m * at for m, at, _ in bodies) / mass
        inertia = np.zeros((3, 3))
        for m, at, own in bodies:
            d = at - centre
            inertia += own + m * ((d @ d) * np.eye(3) - np.outer(d, d))
        return mass, centre, inertia

    # ---- what acts on it ------------------------------------------------------------------------

    def gravity(self, z):
        """WGS 84 (NIMA TR8350.2); R2.5, R2.7, constants from memory."""
        law = 9.7803253359, 0.00193185265241, 0.00669437999014
        s = np.sin(self.n["site.latitude"]) ** 2
        surface = law[0] * (1.0 + law[1] * s) / np.sqrt(1.0 - law[2] * s)
        h, a, f, m = self.n["site.elevation"] + z, 6378137.0, 1 / 298.257223563, 0.00344978650684
        return surface * (1.0 - 2.0 / a * (1.0 + f + m - 2.0 * f * s) * h + 3.0 * h**2 / a**2)

    def density(self, z):
        """US Standard Atmosphere 1976 lapse from the field's readings; R2.1."""
        here, radius = self.n["site.elevation"], 6356766.0
        rise = radius * (here + z) / (radius + here + z) - radius * here / (radius + here)
        temperature = self.n["site.temperature"] - 0.0065 * rise
        pressure = self.n["site.pressure"] * (temperature / self.n["site.temperature"]) ** (
            9.80665 / (GAS * 0.0065)
        )
        return pressure / (GAS * temperature)

    def wind(self, z):
        """Power law; R3.1. Near the ground at the height sqrt(z^2 + 0.5^2), as documented."""
        n = self.n
        height = np.hypot(z, 0.5)
        speed = n["wind.speed"] * (height / n["wind.reference_height"]) ** n["wind.exponent"]
        origin = n["wind.direction"]
        return -speed * np.array([np.sin(origin), np.cos(origin), 0.0])

    def air(self, centre, velocity, omega, density, burning):
        """Force and moment about the centre of gravity, body axes; velocity through the air."""
        shape = self.stack_shape if self.attached else self.core_shape
        half = 0.5 * density
        total, ahead = np.linalg.norm(velocity), velocity[0]
        force, moment = np.zeros(3), np.zeros(3)

        def push(x, side):
            """A side force at a place on the axis."""
            nonlocal force, moment
            force = force + side
            moment = moment + cross(np.array([x - centre[0], 0.0, 0.0]), side)

        def sideways(x):
            v = velocity + cross(omega, np.array([x - centre[0], 0.0, 0.0]))
            return np.array([0.0, v[1], v[2]])

        nose_first = ahead > 0.0
        area = shape.nose_first - burning * shape.base if nose_first else shape.tail_first
        force = force - half * area * abs(ahead) * ahead * X_AXIS
        # q A slope sin a cos a cos(a / 2), a from the leading end
        folded = np.arccos(min(1.0, abs(ahead) / total)) if total > 0.0 else 0.0
        x = shape.slope_at[0 if nose_first else 1]
        push(x, -half * shape.slope * abs(ahead) * np.cos(folded / 2.0) * sideways(x))
        across = sideways(shape.side_at)
        push(shape.side_at, -half * shape.side * np.linalg.norm(across) * across)
        turning = np.array([0.0, omega[1], omega[2]])
        moment = moment - half * turning * (
            shape.third * np.linalg.norm(turning) + 2.0 * shape.second * np.linalg.norm(across)
        )
        if self.legs_open:
            n = self.n
            x = -0.5 * (n["legs.foot_station"] + n["vehicle.length"])
            push(x, -half * n["legs.drag_area"] * total * (sideways(x) + ahead * X_AXIS))
        return force, moment

    def rates(self, t, y):
        place, velocity, r, omega = y[:3], y[3:6], y[6:15].reshape(3, 3), y[15:18]
        servo, swing = y[18:20], y[20:22]
        left = self.ascent.left(t), self.landing.left(t)
        mass, centre, inertia = self.mass_properties(*left)
        flows = (self.ascent.flow(t) if self.attached else 0.0), self.landing.flow(t)
        small = 1e-3
        _, _, more = self.mass_properties(left[0] + small * flows[0], left[1] + small * flows[1])
        _, _, less = self.mass_properties(left[0] - small * flows[0], left[1] - small * flows[1])
        losing = (less - more) / (2.0 * small)  # dJ/dt
        centre_up = place[2] + r[2] @ centre
        thrusts = (self.ascent.thrust(t) if self.attached else 0.0), self.landing.thrust(t)

        # air
        through = r.T @ (velocity - self.wind(centre_up)) + cross(omega, centre)
        force, moment = self.air(
            centre, through, omega, self.density(centre_up), 1.0 if sum(thrusts) > 0.05 else 0.0
        )
        # thrust, of the motors, the one whose gimbal is alive turned by its servo
        gone = np.zeros((3, 3))
        alive = self.ascent if self.attached else self.landing
        for burn, thrust, flow in zip((self.ascent, self.landing), thrusts, flows, strict=True):
            turn = servo if burn is alive else np.zeros(2)
            y_part, z_part = burn.lean[0] + turn[1], burn.lean[1] - turn[0]
            along = np.array([np.sqrt(1.0 - y_part**2 - z_part**2), y_part, z_part])
            force = force + thrust * along
            moment = moment + cross(burn.pivot - centre, thrust * along)
            # the gas leaves with the hull's turn at the nozzle, and its own width about the axis
            arm = burn.exit - centre
            gone += flow * ((arm @ arm) * np.eye(3) - np.outer(arm, arm))
            gone[0, 0] += flow * burn.exit_gyration
        # the servo, and what its swing does to the body
        law = alive.servo
        acceleration = law["frequency"] ** 2 * (law["goal"] - servo) - (
            2.0 * law["damping"] * law["frequency"] * swing
        )
        reach = law["mass"] * law["arm"] * (law["arm"] + centre[0] - law["pivot"])
        moment = moment - reach * np.array([0.0, *acceleration])

        # Euler's equation with jet damping (Thomson, 1961, ch. 8)
        spin_up = np.linalg.solve(
            inertia, moment - cross(omega, inertia @ omega) - (losing + gone) @ omega
        )
        # the material at the centre of gravity is accelerated by force over mass
        hull = force / mass - cross(spin_up, centre) - cross(omega, cross(omega, centre))
        pull = np.array([0.0, 0.0, -self.gravity(centre_up)])
        return np.concatenate(
            (
                velocity, r @ hull + pull, (r @ cross_matrix(omega)).ravel(), spin_up,
                swing, acceleration,
            )
        )  # fmt: skip

    # ---- from event to event --------------------------------------------------------------------

    def on_the_pad(self):
        n = self.n
        about_up = axis_turn([0.0, 0.0, 1.0], -n["launch_pad.heading"])
        toward = n["launch_pad.tilt_direction"]
        lean = axis_turn([-np.cos(toward), np.sin(toward), 0.0], n["launch_pad.tilt"])
        r = lean @ about_up @ UPRIGHT
        aft = r @ [-n["stage.end"], 0.0, 0.0]
        return np.array([0.0, 0.0, n["launch_pad.height"]]) - aft, r

    def lift_off(self):
        """When the thrust along the vertical exceeds the weight, and the state then."""
        place, r = self.on_the_pad()

        def net(t):
            mass, centre, _ = self.mass_properties(self.ascent.left(t), self.landing.left(t))
            weight = mass * self.gravity(place[2] + r[2] @ centre)
            return self.ascent.thrust(t) * r[2, 0] - weight

        grid = np.linspace(self.ascent.light, self.ascent.times[-1], 2001)
        first = next(i for i, t in enumerate(grid) if net(t) > 0.0)
        time = brentq(net, grid[first - 1], grid[first], xtol=1e-14)
        n = self.n
        tip, clock = n["launch_pad.tip_off_rate"], n["launch_pad.tip_off_clocking"]
        omega = tip * np.array([0.0, np.cos(clock), np.sin(clock)])
        _, centre, _ = self.mass_properties(self.ascent.left(time), self.landing.left(time))
        servo, swing = self.servo_step_response(time, self.ascent.servo)
        return time, np.concatenate(
            (place, -r @ cross(omega, centre), r.ravel(), omega, servo, swing)
        )

    @staticmethod
    def servo_step_response(time, law):
        """Closed form of a second-order step, underdamped, while the vehicle still stands."""
        wn, zeta, goal = law["frequency"], law["damping"], law["goal"]
        wd = wn * np.sqrt(1.0 - zeta**2)
        fade = np.exp(-zeta * wn * time)
        place = goal * (1.0 - fade * (np.cos(wd * time) + zeta * wn / wd * np.sin(wd * time)))
        return place, goal * fade * wn**2 / wd * np.sin(wd * time)

    def part(self, t, y):
        """Drop the stage: a push along the axis, and a turn that it leaves."""
        n, r = self.n, y[6:15].reshape(3, 3)
        self.attached = False
        mass, centre, _ = self.mass_properties(0.0, self.landing.left(t))
        rate, clock = n["stage.side_rate"], n["stage.side_rate_clocking"]
        turn = rate * np.array([0.0, np.cos(clock), np.sin(clock)])
        y = y.copy()
        # the centre of gravity gains the push, the hull turns about it
        y[3:6] += r @ (n["stage.impulse"] / mass * X_AXIS - cross(turn, centre))
        y[15:18] += turn
        y[18:22] = 0.0
        return y

    def fly(self, times, rtol=1e-10):
        """States at these times (after lift-off): place of the centre, matrix, rates."""
        t, y = self.lift_off()
        self.lift_off_time = t
        end = times[-1]
        stops = [*self.ascent.times, *self.landing.times, self.separation, self.legs_time, *times]
        stops = sorted({stop for stop in stops if t < stop < end} | {end})
        found = {}
        for stop in stops:
            solution = solve_ivp(
                self.rates, (t, stop), y, method="DOP853", rtol=rtol, atol=0.1 * rtol
            )
            assert solution.success
            t, y = stop, solution.y[:, -1]
            if stop == self.separation:
                y = self.part(t, y)
            if stop == self.legs_time:
                left = self.ascent.left(t), self.landing.left(t)
                before = self.mass_properties(*left)[2][0, 0]
                self.legs_open = True
                # spin about the axis is kept, the legs take their share
                _, centre, inertia = self.mass_properties(*left)
                spin = y[15] * np.array([before / inertia[0, 0] - 1.0, 0.0, 0.0])
                y[15] += spin[0]
                # the centre of gravity, a little off the axis, goes on as it was
                y[3:6] -= y[6:15].reshape(3, 3) @ np.cross(spin, centre)
            if stop in times:
                _, centre, _ = self.mass_properties(self.ascent.left(t), self.landing.left(t))
                r = y[6:15].reshape(3, 3)
                found[t] = (y[:3] + r @ centre, r, y[15:18])
        return [found[time] for time in times]
