"""Rows of exports that older versions made, told as this version tells them."""

from typing import Any

from curelog.actions.place import add_place


def as_told_now(kind: str, told: dict[str, Any]) -> dict[str, Any]:
    if kind == "release" and "retained_place" in told:
        # Until 0002 a release told the place of its samples in words. Places are read before.
        words = told["retained_place"]
        told = {name: value for name, value in told.items() if name != "retained_place"}
        told["sample_place"] = str(add_place(words).pk) if words else None
    return told
