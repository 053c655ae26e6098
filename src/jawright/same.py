"""Keys of a memory that go by what a value is, not by what it equals.

A shop or a job is a large value that is passed on unchanged through a whole search: to compare it takes
longer than what would be remembered.
"""

from __future__ import annotations

from typing import Generic, TypeVar

T = TypeVar("T")


class Same(Generic[T]):
    """A key that equals another only when both hold the very same object; it keeps that object alive."""

    __slots__ = ("it",)

    def __init__(self, it: T) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.it is other.it
