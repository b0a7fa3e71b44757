"""Margins of the attitude loop: a linear model, swept over frequency in plain numpy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complex = NDArray[np.complex128]

FREQUENCIES = np.geomspace(1e-2, 1e4, 60_001)  # rad/s


@dataclass(frozen=True)
class Loop:
    """An attitude loop about one axis: a gimbal that pushes a rigid body, and its PID.

    Attributes
    ----------
    stiffness : float [1/s^2]
        Angular acceleration asked per angle off, the square of the loop's bandwidth.
    rate_gain : float [1/s]
        Angular acceleration asked per angular rate.
    integral : float [1/s]
        Of the angle off, over the proportional part.
    servo_frequency : float [rad/s]
        Natural frequency of the second-order servo; infinity for none.
    servo_damping : float [1]
    delay : float [s]
        Pure delay, half a control tick of sample and hold included.
    """

    stiffness: float
    rate_gain: float
    integral: float = 0.0
    servo_frequency: float = np.inf
    servo_damping: float = 0.7
    delay: float = 0.0


@dataclass(frozen=True)
class Margins:
    """Margins of a loop.

    Attributes
    ----------
    crossover : float [rad/s]
        The highest frequency at which the loop gain is one.
    phase_margin : float [rad]
        Negative: unstable.
    gain_margin : float [1]
        By which the loop gain may rise; infinite if no rise makes it unstable.
    gain_reduction : float [1]
        Down to which share the loop gain may fall; 0 if no fall makes it unstable.
    delay_margin : float [s]
        Further delay that it bears.
    """

    crossover: float
    phase_margin: float
    gain_margin: float
    gain_reduction: float
    delay_margin: float


def response(loop: Loop, frequencies: Floats) -> Complex:
    """Open-loop response at these angular frequencies [rad/s].

    Notes
    -----
    The gimbal turns the thrust line, the body answers as K/s^2; the gains are divided by the
    K of the moment, so that it cancels:
    L = (wn^2 (1 + ki/s) + 2 zeta wn s) / s^2 x servo x exp(-s delay).
    Source: Astrom and Hagglund, Advanced PID Control, ISA, 2006; R10.1, R10.3, R10.7.
    """
    s = 1j * np.asarray(frequencies, dtype=np.float64)
    control = loop.stiffness * (1.0 + loop.integral / s) + loop.rate_gain * s
    servo = np.ones_like(s)
    if np.isfinite(loop.servo_frequency):
        w = loop.servo_frequency
        servo = w**2 / (s**2 + 2.0 * loop.servo_damping * w * s + w**2)
    return np.asarray(control / s**2 * servo * np.exp(-s * loop.delay))


def find_margins(loop: Loop) -> Margins:
    """Margins of a loop, by its gain and phase over six decades of frequency.

    Parameters
    ----------
    loop : Loop

    Returns
    -------
    Margins
    """
    log_w = np.log(FREQUENCIES)
    found = response(loop, FREQUENCIES)
    log_gain = np.log(np.abs(found))
    phase = np.unwrap(np.angle(found))
    # a loop with an integral begins three quarters of a turn late, without one half a turn
    start = -1.5 * np.pi if loop.integral > 0.0 else -np.pi
    phase += 2.0 * np.pi * np.round((start - phase[0]) / (2.0 * np.pi))
    crossings = _crossings(log_w, log_gain)
    if not len(crossings):
        return Margins(np.nan, np.nan, np.nan, np.nan, np.nan)
    crossover = float(crossings[-1])
    margin = float(np.interp(crossover, log_w, phase)) + np.pi
    at = _crossings(log_w, phase + np.pi)
    gains = np.interp(at, log_w, log_gain)
    above, below = gains[at > crossover], gains[at < crossover]
    speed = float(np.exp(crossover))
    return Margins(
        crossover=speed,
        phase_margin=margin,
        gain_margin=float(np.exp(-above.max())) if len(above) else np.inf,
        gain_reduction=float(np.exp(-below.min())) if len(below) else 0.0,
        delay_margin=margin / speed,
    )


def _crossings(x: Floats, y: Floats) -> Floats:
    """Where y passes through zero, by straight lines between samples."""
    i = np.flatnonzero(np.signbit(y[:-1]) != np.signbit(y[1:]))
    return np.asarray(x[i] - y[i] * (x[i + 1] - x[i]) / (y[i + 1] - y[i]))
