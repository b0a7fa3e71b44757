"""What numba is told of lanes: types, code for each function, and how a kernel is compiled.

Importing this loads numba and makes all of it known. Nothing imports it until a kernel has to be
compiled: a kernel that is stored is loaded without (see sim.lanes.kernels).
"""

from sim.lanes.compiled import (  # noqa: F401  (each registers what it holds)
    arrays,
    exact,
    inner,
    masks,
    mathematics,
    operators,
    random,
    records,
    states,
    types,
)
