"""Forces of the air on the vehicle."""

from __future__ import annotations

from typing import ClassVar, Literal

from sim.scenario.declare import CHOSEN, Curve, Part, Quantity, choice, curve_file, quantity


class Aerodynamics(Part):
    """Air forces, from geometry or from a table, with what is uncertain about them."""

    optional: ClassVar[bool] = False

    law: Literal["geometry", "table", "none"] = choice(
        "geometry", doc="from the vehicle's geometry, from a table, or no air at all"
    )
    table: Curve = curve_file(
        ("angle of attack", "deg"), ("axial coefficient", "1"), ("normal coefficient", "1"),
        ("centre of pressure", "m"), doc="CSV, 0 to 180 deg, for law = \"table\"",
    )  # fmt: skip
    axial_factor: Quantity = quantity(
        "number", "1 +/- 10 %", sign="positive", believed="1", doc="on the axial force",
        source="hand methods against wind tunnels, assumed",
    )  # fmt: skip
    normal_factor: Quantity = quantity(
        "number", "1 +/- 10 %", sign="positive", believed="1", doc="on the normal force",
        source="hand methods against wind tunnels, assumed",
    )  # fmt: skip
    centre_of_pressure_shift: Quantity = quantity(
        "length", "0 mm +/- 10 mm", believed="0 m", doc="aft of where it is computed",
        source="about a tenth of a diameter, assumed",
    )  # fmt: skip
    cross_flow_drag: Quantity = quantity(
        "number", "1.2", sign="non_negative", doc="of a long cylinder across the flow",
        source="Roshko, J. Fluid Mechanics 10 (1961), below the drag crisis; R6.10",
    )  # fmt: skip
    tail_first_drag: Quantity = quantity(
        "number", "0.85", sign="non_negative", doc="axial coefficient of the blunt tail, forwards",
        source="Hoerner, Fluid-Dynamic Drag, 0.82 to 0.99 for a blunt cylinder; R6.8",
    )  # fmt: skip
    base_drag: Quantity = quantity(
        "number", "0.06", sign="non_negative", doc="nose first, no motor burning, on the base area",
        source="Hoerner, Fluid-Dynamic Drag, 0.029 / sqrt(fore-body drag), from memory; R6.14",
    )  # fmt: skip
    base_drag_burning: Quantity = quantity(
        "number", "0.5", sign="share", doc="share of the base drag left while a motor burns",
        source="the plume covers about half of the base, assumed",
    )  # fmt: skip
    damping_factor: Quantity = quantity(
        "number", "1", sign="non_negative", believed="1", doc="on the damping of turning rates",
        source=CHOSEN,
    )  # fmt: skip
    ground_effect: Quantity = quantity(
        "number", "0", believed="0", doc="of thrust, in the last three tail diameters",
        source=CHOSEN,
    )  # fmt: skip
