"""Quaternions of lanes: what the flight computer needs to turn vectors and itself.

A quaternion is a tuple (scalar, x, y, z) of unit length that takes body axes to local ones; a
vector is a tuple of three. Everything works on float64 and on lanes alike.
"""

from sim.lanes import diff2, fma, part, polynomial, sum3

# cos(x) and sin(x) / x as polynomials in x**2, highest power first; below 1e-15 up to x = 0.5
COSINE = (-1.0 / 3628800.0, 1.0 / 40320.0, -1.0 / 720.0, 1.0 / 24.0, -0.5, 1.0)
SINE = (-1.0 / 39916800.0, 1.0 / 362880.0, -1.0 / 5040.0, 1.0 / 120.0, -1.0 / 6.0, 1.0)


@part
def multiply(a, b):
    """Product of two quaternions: the turn b, then the turn a, seen in the axes a leads to."""
    return (
        fma(a[0], b[0], -sum3(a[1], b[1], a[2], b[2], a[3], b[3])),
        fma(a[0], b[1], fma(a[1], b[0], diff2(a[2], b[3], a[3], b[2]))),
        fma(a[0], b[2], fma(a[2], b[0], diff2(a[3], b[1], a[1], b[3]))),
        fma(a[0], b[3], fma(a[3], b[0], diff2(a[1], b[2], a[2], b[1]))),
    )


@part
def conjugate(q):
    """Return the opposite turn."""
    return q[0], -q[1], -q[2], -q[3]


@part
def cross(a, b):
    """Vector product."""
    return (
        diff2(a[1], b[2], a[2], b[1]), diff2(a[2], b[0], a[0], b[2]), diff2(a[0], b[1], a[1], b[0]),
    )  # fmt: skip


@part
def rotate(q, v):
    """Turn the vector v of body axes into local ones: v + 2 w (u x v) + 2 u x (u x v)."""
    x, y, z = cross((q[1], q[2], q[3]), v)
    x, y, z = x + x, y + y, z + z
    across = cross((q[1], q[2], q[3]), (x, y, z))
    return (
        fma(q[0], x, v[0] + across[0]), fma(q[0], y, v[1] + across[1]),
        fma(q[0], z, v[2] + across[2]),
    )  # fmt: skip


@part
def half_way(angle):
    """Quaternion of half of a rotation vector; good to rounding for turns up to two radians."""
    quarter = 0.25 * angle[0], 0.25 * angle[1], 0.25 * angle[2]
    squared = sum3(quarter[0], quarter[0], quarter[1], quarter[1], quarter[2], quarter[2])
    sine = polynomial(squared, SINE)
    cosine = polynomial(squared, COSINE)
    return cosine, sine * quarter[0], sine * quarter[1], sine * quarter[2]
