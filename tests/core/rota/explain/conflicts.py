"""Conflicts of small problems."""

from trips.core.rota.explain.conflicts import Conflict, Help


def people(number: int) -> tuple[str, ...]:
    """So many names."""
    return tuple(f"P{index + 1}" for index in range(number))


def helps(conflict: Conflict) -> dict[str, Help]:
    """The offers by kind."""
    return {offer.change: offer for offer in conflict.helps}
