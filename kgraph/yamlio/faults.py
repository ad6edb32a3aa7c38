"""Faults of input: what is wrong, where, by which rule, and what to do.

Every room below raises :class:`InputError` for anything that a user or a file got wrong, so that the command
line can print it and leave with exit code 2. Any other exception is a fault of the program itself (exit code 70).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Place(NamedTuple):
    """Where in a file. Lines and columns count from 1; 0 means "the file as a whole"."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        if not self.line:
            return self.file
        return f"{self.file}:{self.line}:{self.column}"


class Fault(NamedTuple):
    """One thing wrong in one place.

    Attributes:
        place: file, line and column.
        rule: short stable name of the rule that was broken, such as ``unknown-key``.
        message: what is wrong, with the value that was found.
        remedy: what to do about it.
    """

    place: Place
    rule: str
    message: str
    remedy: str = ""

    def __str__(self) -> str:
        tail = f" {self.remedy}" if self.remedy else ""
        return f"{self.place}: {self.message}{tail} [{self.rule}]"


class KgraphError(Exception):
    """Base of all errors that kgraph raises on purpose."""


class InputError(KgraphError, ValueError):
    """Something in the input is wrong; carries every fault found in one run."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    @classmethod
    def single(cls, rule: str, message: str, remedy: str = "", place: Place | None = None) -> InputError:
        """An error with one fault; without a place it is about the call itself."""
        return cls([Fault(place or Place("input"), rule, message, remedy)])


class FaultList:
    """Collects faults while a file is read, so that one run reports them all."""

    def __init__(self, limit: int = 200) -> None:
        self.faults: list[Fault] = []
        self.limit = limit

    def add(self, place: Place, rule: str, message: str, remedy: str = "") -> None:
        if len(self.faults) < self.limit:
            self.faults.append(Fault(place, rule, message, remedy))

    def raise_if_any(self) -> None:
        if self.faults:
            raise InputError(sorted(set(self.faults)))
