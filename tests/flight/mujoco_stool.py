"""The stool dropped in MuJoCo, a rigid body engine that shares nothing with this project.

The same body on four telescoping legs with spring-damper struts. What is matched, and how:

- Mass and inertia: each leg is a mass point of its moving mass at its foot, on a slide joint along
  the line from hinge to foot; the body carries the rest, so that the sum with open legs is the
  stool's. (Here a leg is massless towards the body but for its own sliding: with 10 g legs the
  difference is far below the tolerance.)
- Strut: stiffness and damping of the joint. End stops: soft limits of the joint.
- Ground: soft contact. MuJoCo's contact is a spring and dashpot on the acceleration,
  a = (1 - d) a0 - d (b v + k x), d the impedance and a0 the acceleration without contact. With a
  small constant d (solimp 0.002) and the direct format of solref (-K A, -B A), A the inverse mass
  that the engine assumes at the contact (the sum of `body_invweight0`), the force is K x + B v,
  never below zero, whatever the mass: our linear spring and dashpot that ends at zero force.
- Friction: elliptic cone, one coefficient (static = kinetic here too), impratio so high and
  solreffriction so fast that a foot in friction neither creeps nor gives way. Ours holds it by an
  elastic bristle, here three times as stiff as the ground (with 0.7 times, as in a scenario,
  the first push of a strut on sticking feet is a tenth higher).
- Newton solver to 1e-10, implicit integrator, 100 us a step.
- Start: the state at our first touch, the plane under the lowest foot.
"""

from __future__ import annotations

from dataclasses import dataclass

import mujoco
import numpy as np

GRAVITY = 9.80665
STEP = 1e-4
IMPEDANCE, FRICTION_IMPEDANCE_RATIO = 2e-3, 1e5
BALL = 1e-3  # m, radius of the foot in the model; its centre is set back by as much


@dataclass(frozen=True)
class Stool:
    """Numbers of the stool, SI."""

    mass: float = 1.5
    axial: float = 0.02
    transverse: float = 0.12
    height: float = 0.40  # of the centre of gravity above the feet
    radius: float = 0.30  # of the feet
    hinge_below: float = 0.0  # of the hinges below the centre of gravity
    hinge_radius: float = 0.10
    leg_mass: float = 0.01
    strut: float = 3e3  # N/m
    damping: float = 60.0  # N s/m
    stroke: float = 0.04
    stop: float = 1e5
    stop_damping: float = 40.0
    ground: float = 1e5
    dashpot: float = 40.0


@dataclass(frozen=True)
class Landed:
    """How a drop ended: at rest or tipped, where, and the largest strut force on the way."""

    tipped: bool
    rests: bool
    east: float
    strut_force: float


def model_of(stool: Stool, friction: float, slope: float) -> mujoco.MjModel:
    """The stool over ground that falls to the east by the slope [rad]."""
    feet = np.deg2rad(45.0 + 90.0 * np.arange(4))
    along = np.array([stool.radius - stool.hinge_radius, -(stool.height - stool.hinge_below)])
    along /= np.hypot(*along)
    axial = stool.axial - 4.0 * stool.leg_mass * stool.radius**2
    lifted = stool.height * 4.0 * stool.leg_mass / (stool.mass - 4.0 * stool.leg_mass)
    core = stool.mass - 4.0 * stool.leg_mass
    across = (
        stool.transverse - core * lifted**2
        - 4.0 * stool.leg_mass * (stool.height**2 + stool.radius**2 / 2.0)
    )  # fmt: skip
    legs = ""
    for i, azimuth in enumerate(feet):
        c, s = np.cos(azimuth), np.sin(azimuth)
        out, down = stool.radius, -stool.height
        legs += f"""
        <body name="leg{i}" pos="{out * c} {out * s} {down}">
          <inertial pos="0 0 0" mass="{stool.leg_mass}" diaginertia="1e-9 1e-9 1e-9"/>
          <joint name="strut{i}" type="slide" axis="{-along[0] * c} {-along[0] * s} {-along[1]}"
            stiffness="{stool.strut}" damping="{stool.damping}" limited="true"
            range="0 {stool.stroke}"/>
          <geom name="foot{i}" type="sphere" size="{BALL}" contype="1" conaffinity="0"/>
        </body>"""
    return mujoco.MjModel.from_xml_string(f"""
    <mujoco>
      <option timestep="{STEP}" integrator="implicit" cone="elliptic" solver="Newton"
        impratio="{FRICTION_IMPEDANCE_RATIO}" tolerance="1e-10" iterations="50"
        gravity="0 0 {-GRAVITY}"/>
      <worldbody>
        <geom name="ground" type="plane" size="0 0 1"
          quat="{np.cos(slope / 2.0)} 0 {np.sin(slope / 2.0)} 0" contype="0" conaffinity="1"/>
        <body name="stool">
          <freejoint/>
          <inertial pos="0 0 {lifted}" mass="{core}" diaginertia="{across} {across} {axial}"/>
          {legs}
        </body>
      </worldbody>
      <contact>
        {
        "".join(
            f'<pair geom1="ground" geom2="foot{i}" condim="3" '
            f'friction="{friction} {friction} 0 0 0" margin="0"/>'
            for i in range(4)
        )
    }
      </contact>
    </mujoco>""")


def matched(stool: Stool, friction: float, slope: float) -> mujoco.MjModel:
    """The model with its soft contacts and limits set to our stiffness and damping."""
    model = model_of(stool, friction, slope)
    impedance = np.array([IMPEDANCE, IMPEDANCE, 1e-3, 0.5, 2.0])
    yielding = 1.0 - IMPEDANCE
    for i in range(4):
        leg = model.body(f"leg{i}").id
        inverse = model.body_invweight0[leg, 0] * yielding
        model.pair_solref[i] = -stool.ground * inverse, -stool.dashpot * inverse
        model.pair_solimp[i] = impedance
        # towards the engine's time step: a sliding foot is stopped within some steps
        model.pair_solreffriction[i] = -1e-9, -0.3 * IMPEDANCE / STEP
        joint = model.joint(f"strut{i}").id
        inverse = model.dof_invweight0[model.jnt_dofadr[joint]] * yielding
        model.jnt_solref[joint] = -stool.stop * inverse, -stool.stop_damping * inverse
        model.jnt_solimp[joint] = impedance
    return model


def drop(stool: Stool, *, sink, east, tilt, friction, slope, longest=3.0) -> Landed:
    """Drop the stool; it leans and moves east, where the ground falls to by the slope [rad].

    The origin is the point between the feet at the first touch.
    """
    model = matched(stool, friction, slope)
    data = mujoco.MjData(model)
    normal = np.array([np.sin(slope), 0.0, np.cos(slope)])
    data.qpos[3:7] = np.cos(tilt / 2.0), 0.0, np.sin(tilt / 2.0), 0.0
    data.qvel[0], data.qvel[2] = east, -sink
    mujoco.mj_kinematics(model, data)
    feet = np.array([data.geom(f"foot{i}").xpos for i in range(4)])
    data.qpos[:3] += normal * (BALL - np.min(feet @ normal))
    peak, still, start = 0.0, 0.0, None
    rests = tipped = False
    struts = [model.joint(f"strut{i}") for i in range(4)]
    place = np.array([model.jnt_qposadr[joint.id] for joint in struts])
    rate = np.array([model.jnt_dofadr[joint.id] for joint in struts])
    for _ in range(round(longest / STEP)):
        mujoco.mj_step1(model, data)
        upright = data.body("stool").xmat.reshape(3, 3)
        between = data.qpos[:3] - stool.height * upright[:, 2]
        start = between.copy() if start is None else start
        q, v = data.qpos[place], data.qvel[rate]
        over = np.maximum(q - stool.stroke, 0.0)
        force = stool.strut * q + stool.damping * v + stool.stop * over
        force += np.where(over > 0.0, stool.stop_damping * v, 0.0)
        peak = max(peak, float(np.max(np.abs(force))))
        slow = np.linalg.norm(data.qvel[:3]) < 0.02 and np.linalg.norm(data.qvel[3:6]) < 0.05
        still = still + STEP if slow and data.ncon > 2 else 0.0
        rests, tipped = still > 0.1, upright[2, 2] < 0.5
        if rests or tipped:
            break
        mujoco.mj_step2(model, data)
    return Landed(bool(tipped), bool(rests), float(between[0] - start[0]), peak)
