"""What is typed when a step of the round was done; what the step is stands in its title."""

from __future__ import annotations

__all__ = ["told_by"]

_TOLD_BY = {
    "potting-on": "pot {plant} --medium … --container …",
    "new-medium-due": "pot {plant} --medium … --container …",
    "converting-to-a-reservoir": "pot {plant} --medium … --container reservoir",
    "taking-the-plug-out": "observe {plant} --no-plug",
    "filling-the-reservoir": "reservoir {plant} filled",
    "emptying-the-reservoir": "reservoir {plant} empty",
    "parting-a-keiki": "part {plant} --medium … --container …",
    "cutting-a-spike": "spike {plant} cut, or keep, or let-run",
    "choose-its-side": "observe {plant} --spike MM, when it has grown",
    "first-tie": "observe {plant} --spike MM, when it has grown",
    "stake": "aid {plant} stake",
    "moving-out": "move {plant} …",
    "moving-in": "move {plant} …",
    "ending-quarantine": "quarantine {plant} --end",
    "opening-the-wrap": "aid {plant} wrap --off, when it is off",
    "putting-up-shade": "place shade {place} --up",
    "taking-down-shade": "place shade {place} --down",
}


def told_by(step: str, plant: str, place: str | None) -> str:
    """Return what is typed once a step was done, as 'carecal place shade sill --up'; '' where nothing ends it.

    Args:
        step: The step, as in steps.toml.
        plant: Id of the plant.
        place: Id of its place, where it has one.
    """
    words = _TOLD_BY.get(step)
    return f"carecal {words.format(plant=plant, place=place or '…')}" if words else ""
