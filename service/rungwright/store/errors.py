"""What can go wrong when something is kept. Messages are for people: what, where, what to do."""

from __future__ import annotations


class StoreError(Exception):
    """The base of all."""


class StoreUnavailable(StoreError):
    """The database cannot be used now. Nothing of the request was written."""


class WrongVersion(StoreError):
    """The database was made by a newer program, or is not one of Rungwright's."""


class NotThere(StoreError):
    """There is no such entry in the caller's workspace."""

    def __init__(self, what: str, id: str):
        super().__init__(f"There is no {what} {id[:60]!r} here.")
        self.what, self.id = what, id


class Stale(StoreError):
    """The entry was changed since it was read."""

    def __init__(self, what: str, id: str):
        super().__init__(f"This {what} was changed since you read it; the newer version is in `current`.")
        self.id = id


class NotAllowed(StoreError):
    """The caller's role may not do this."""
