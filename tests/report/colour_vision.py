"""What colours look like to people without green or red cones, and how far two are apart.

Matrices: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A physiologically-based model for
simulation of color vision deficiency, IEEE Trans. Visualization and Computer Graphics 15 (2009)
1291, severity 1.0, on linear sRGB; read off the package colorspacious 1.1.2. sRGB: IEC 61966-2-1;
CIE 1976 L*a*b* with the white D65 and the distance of 1976.
"""

from itertools import combinations

import numpy as np
from matplotlib.colors import to_hex, to_rgb

DEFICIENCIES = {
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
         [-0.011820, 0.042940, 0.968881]]
    ),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
         [-0.003882, -0.048116, 1.051998]]
    ),
    "none": np.eye(3),
}  # fmt: skip
_TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)  # fmt: skip


def lab(colour, deficiency="none"):
    """L*, a*, b* of a colour as such people see it."""
    coded = np.array(to_rgb(colour))
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    seen = np.clip(DEFICIENCIES[deficiency] @ linear, 0.0, 1.0)
    x, y, z = _TO_XYZ @ seen / _TO_XYZ.sum(axis=1)
    f = [c ** (1 / 3) if c > (6 / 29) ** 3 else c / (3 * (6 / 29) ** 2) + 4 / 29 for c in (x, y, z)]
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


def apart(one, other, deficiency="none"):
    """CIE 1976 colour difference."""
    return float(np.linalg.norm(lab(one, deficiency) - lab(other, deficiency)))


def alike_in_grey(looks, least=12.0):
    """Pairs of other colour that only the colour tells apart: no dashes, no marker, no lightness.

    Parameters
    ----------
    looks : sequence of (colour, anything that is seen in grey too)
    """
    return [
        (one, other) for one, other in combinations(looks, 2)
        if to_hex(one[0]) != to_hex(other[0]) and one[1:] == other[1:]
        and abs(lab(one[0])[0] - lab(other[0])[0]) < least
    ]  # fmt: skip


def looks_of(axes):
    """Of everything drawn in a panel as a line, as points or as an outline."""
    from matplotlib.collections import PathCollection
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    found = set()
    for artist in axes.get_children():
        if isinstance(artist, Line2D) and len(artist.get_xdata()):
            dashes = str(artist._unscaled_dash_pattern)  # what --, -. and : are turned into
            line = dashes if artist.get_linestyle() != "None" else ""
            line += " thick" if artist.get_linewidth() > 2.5 else ""  # twice a line's: seen in grey
            found.add((to_hex(artist.get_color()), line, str(artist.get_marker())))
        elif isinstance(artist, PathCollection) and len(artist.get_offsets()):
            shape = artist.get_paths()[0].vertices.round(3).tobytes()
            found.add((to_hex(artist.get_facecolor()[0]), "points", shape))
        elif isinstance(artist, Patch) and not artist.get_fill():
            dashes = str(artist._unscaled_dash_pattern)
            found.add((to_hex(artist.get_edgecolor()), dashes, "None"))
    return sorted(found, key=str)
