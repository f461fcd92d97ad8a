"""What ± a size has when the file does not write one: a project in, a rule for its lengths out."""

from __future__ import annotations

from collections.abc import Callable

from massing.project.project import Project
from massing.survey.methods import default_half_width
from massing.units import Length

__all__ = ["default_half_width_of"]


def default_half_width_of(project: Project) -> Callable[[Length], float]:
    """Half-width, mm, of a length without a written ±.

    A length that says how it was measured has that method's ±. Sizes of the room have the
    project's own (``survey: by``). Where things are to go is a decision, not a measurement, and
    is taken as exact.
    """

    def default(length: Length) -> float:
        if length.method is not None:
            return default_half_width(length.method, length.mm)
        if project.survey.by is not None and length.path.startswith("room."):
            return default_half_width(project.survey.by, length.mm)
        return 0.0

    return default
