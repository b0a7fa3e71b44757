"""Stand-in thrust curves for motors of which only the totals are known.

The shapes are invented. They have the impulse and the burn time that were given and nothing else of
the motor, and are to be replaced by a curve from a test stand.
"""

from __future__ import annotations

from itertools import pairwise

Rows = list[tuple[float, float]]

IGNITION_RISE, TAIL_OFF = 0.05, 0.10  # s, and at most so much of the burn:
RISE_SHARE, TAIL_SHARE = 0.05, 0.10
BOOST_SHARE, BOOST_RATIO = 0.36, 2.5  # of the burn time; over the thrust of the rest


def stand_in_curve(impulse: float, burn_time: float, shape: str = "even") -> Rows:
    """Thrust curve of straight pieces with that impulse.

    Parameters
    ----------
    impulse : float [N s]
    burn_time : float [s]
        From first to last thrust.
    shape : {"even", "two-part"}
        Nearly constant, or strong at first and weak for the rest.

    Returns
    -------
    list of (float, float) [s], [N]
        First and last thrust zero.
    """
    rise = min(IGNITION_RISE, RISE_SHARE * burn_time)
    tail = min(TAIL_OFF, TAIL_SHARE * burn_time)
    shoulder = burn_time - 2.5 * tail
    middle = [(3.0 * rise, 1.0)]
    if shape == "two-part":
        boost = BOOST_SHARE * burn_time
        middle = [(rise * 3.0, BOOST_RATIO), (boost, BOOST_RATIO), (boost + tail, 1.0)]
    first = 1.05 * middle[0][1]
    points = [(0.0, 0.0), (rise, first), *middle, (shoulder, 0.95), (burn_time - tail, 0.4),
              (burn_time, 0.0)]  # fmt: skip
    scale = impulse / total_impulse(points)
    return [(time, scale * thrust) for time, thrust in points]


def total_impulse(rows: Rows) -> float:
    """Integral [N s] of a curve of straight pieces."""
    return sum(0.5 * (b[0] - a[0]) * (a[1] + b[1]) for a, b in pairwise(rows))


def curve_text(rows: Rows, which: str, totals: str) -> str:
    """CSV of a stand-in curve, which says what it is.

    Parameters
    ----------
    rows : list of (float, float) [s], [N]
    which : str
        "ascent" or "landing".
    totals : str
        What it was made from, for the reader.
    """
    head = (
        f"# STAND-IN for the thrust curve of the {which} motor: an invented shape with {totals}.\n"
        "# Replace it by the log of a static test of the same kind of motor, or by its certified\n"
        "# curve: two columns, time in seconds and thrust in newtons, any number of rows.\n"
        "time [s],thrust [N]\n"
    )
    return head + "".join(f"{time:.4f},{thrust:.3f}\n" for time, thrust in rows)
