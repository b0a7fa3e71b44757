"""The ground at the landing place: slope, stiffness, friction, by kind or number by number."""

from __future__ import annotations

from typing import ClassVar, Literal

from sim.scenario.declare import CHOSEN, Part, Quantity, choice, quantity

BY_KIND = "by surface.kind and legs.foot"
KINDS = ("short_grass", "dry_dirt", "built_pad")

# stiffness of a 40 mm foot from subgrade moduli of 0.3 m plates, scaled for small plates (Bowles,
# Foundation Analysis and Design, table 9-1; Terzaghi, Geotechnique 5 (1955); R8.21, R8.22), built
# pad: boards; damping and roughness assumed
_OWN: dict[str, dict[str, str]] = {
    "short_grass": {
        "stiffness": "15 kN/m", "damping": "1.5 s/m", "dashpot": "20 N s/m", "roughness": "5 mm",
        "stiffness_patches": "0.3", "friction_patches": "0.15",
    },
    "dry_dirt": {
        "stiffness": "40 kN/m", "damping": "1.0 s/m", "dashpot": "25 N s/m", "roughness": "3 mm",
        "stiffness_patches": "0.3", "friction_patches": "0.1",
    },
    "built_pad": {
        "stiffness": "150 kN/m", "damping": "0.4 s/m", "dashpot": "40 N s/m", "roughness": "0.5 mm",
        "stiffness_patches": "0.05", "friction_patches": "0.05",
    },
}  # fmt: skip

# static and kinetic friction: middle of the design ranges of R8.20 (general practice, from memory)
_FRICTION: dict[tuple[str, str], tuple[str, str]] = {
    ("flat", "short_grass"): ("0.40 +/- 0.05", "0.34 +/- 0.04"),
    ("flat", "dry_dirt"): ("0.40 +/- 0.05", "0.34 +/- 0.04"),
    ("flat", "built_pad"): ("0.30 +/- 0.04", "0.25 +/- 0.03"),
    ("rubber", "short_grass"): ("0.48 +/- 0.05", "0.40 +/- 0.04"),
    ("rubber", "dry_dirt"): ("0.60 +/- 0.06", "0.50 +/- 0.05"),
    ("rubber", "built_pad"): ("0.75 +/- 0.06", "0.62 +/- 0.05"),
    ("spiked", "short_grass"): ("0.45 +/- 0.05", "0.40 +/- 0.04"),
    ("spiked", "dry_dirt"): ("0.45 +/- 0.05", "0.40 +/- 0.04"),
    ("spiked", "built_pad"): ("0.30 +/- 0.04", "0.25 +/- 0.03"),
}  # fmt: skip


def defaults_of(kind: str, foot: str) -> dict[str, str]:
    """What a kind of surface is like under a kind of foot, by key, as a scenario writes it."""
    static, kinetic = _FRICTION[foot, kind]
    return {**_OWN[kind], "friction_static": static, "friction_kinetic": kinetic}


class Surface(Part):
    """Ground under the feet: a plane through the centre of the landing pad."""

    optional: ClassVar[bool] = False

    kind: Literal["short_grass", "dry_dirt", "built_pad"] = choice(
        "short_grass", doc="gives stiffness, damping, friction, roughness where not given"
    )
    law: Literal["spring", "hertz"] = choice(
        "spring", doc="force with the depth, or with its power 3/2 (stiffness is then that at 1 mm)"
    )
    slope: Quantity = quantity(
        "angle", "0 deg", sign="non_negative", doc="from level", source="level ground"
    )
    slope_direction: Quantity = quantity(
        "angle", "0 deg", doc="where it falls to, east of north", source=CHOSEN
    )
    stiffness: Quantity = quantity(
        "stiffness", "15 kN/m", sign="positive", doc="of the ground under one foot", source=BY_KIND
    )
    damping: Quantity = quantity(
        "time per length", "1.5 s/m", sign="non_negative",
        doc="d of the force k x (1 + d v) (Hunt and Crossley)", source=BY_KIND,
    )  # fmt: skip
    dashpot: Quantity = quantity(
        "damping", "20 N s/m", sign="non_negative", doc="linear damping beside it", source=BY_KIND
    )
    friction_static: Quantity = quantity(
        "number", "0.40", sign="non_negative", doc="of a foot at rest", source=BY_KIND
    )
    friction_kinetic: Quantity = quantity(
        "number", "0.34", sign="non_negative", doc="of a sliding foot", source=BY_KIND
    )
    friction_speed: Quantity = quantity(
        "speed", "10 mm/s", sign="positive", doc="over which static friction falls to kinetic",
        source="assumed",
    )  # fmt: skip
    shear: Quantity = quantity(
        "number", "0.7", sign="positive", doc="stiffness along the surface over that across it",
        source="elastic half-space, 2 (1 - nu) / (2 - nu) at nu 0.45 (Mindlin, from memory)",
    )  # fmt: skip
    roughness: Quantity = quantity(
        "length", "5 mm", absent="0 m", sign="non_negative",
        doc="spread of the depth of dips under feet", source=BY_KIND,
    )  # fmt: skip
    stiffness_patches: Quantity = quantity(
        "number", "0.3", absent="0", sign="non_negative",
        doc="spread of the stiffness from foot to foot", source=BY_KIND,
    )  # fmt: skip
    friction_patches: Quantity = quantity(
        "number", "0.15", absent="0", sign="non_negative",
        doc="spread of the friction from foot to foot", source=BY_KIND,
    )  # fmt: skip
    moisture: Quantity = quantity(
        "number", "0", sign="share", doc="0 dry, 1 soaked", source="a dry day"
    )
    wet_stiffness: Quantity = quantity(
        "number", "0.4", sign="positive", doc="of the dry stiffness, when soaked", source="assumed"
    )
    wet_friction: Quantity = quantity(
        "number", "0.55", sign="positive", doc="of the dry friction, when soaked",
        source="rubber on grass, wet over dry; R8.20",
    )  # fmt: skip
    airframe_grip: Quantity = quantity(
        "number", "1", sign="non_negative", doc="friction of the airframe over that of the feet",
        source="assumed",
    )  # fmt: skip
