"""Every test here runs on each store."""

from tests.contracts.stores import store

__all__ = ["store"]
