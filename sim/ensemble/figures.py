"""A derived figure, and a sheet of them by group with what to be wary of."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Figure:
    """One derived figure.

    Attributes
    ----------
    name : str
        Key in `--json`.
    label : str
        On screen.
    value : float
        SI; infinity or nan where there is none.
    unit : str
        SI.
    shown : str
        Unit on screen.
    note : str
        What it means or how it was got.
    """

    name: str
    label: str
    value: float
    unit: str
    shown: str
    note: str = ""


@dataclass
class Derived:
    """Derived figures by group, and what to be wary of."""

    groups: dict[str, list[Figure]] = field(default_factory=dict)
    cautions: list[str] = field(default_factory=list)

    def add(self, group: str, *figures: Figure) -> None:
        """Put figures at the end of a group."""
        self.groups.setdefault(group, []).extend(figures)
