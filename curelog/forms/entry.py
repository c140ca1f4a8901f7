"""An entry of a phone's outbox as it arrives: what was typed, in the units and on the clock of then."""

from __future__ import annotations

import copy
import hashlib
import json
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, QueryDict
from django.utils.datastructures import MultiValueDict

from curelog.models import Workshop

UNITS = {
    "mass": ("mass_unit", Workshop.Mass),
    "length": ("length_unit", Workshop.Length),
    "temperature": ("temperature_unit", Workshop.Temperature),
}
# What is said about an entry, not by it: the same entry sent again may differ here.
NOT_TYPED = {"sent_at", "names", "person", "ask"}


class Unreadable(Exception):
    """Not what a phone wrote, most likely because the way cut it short. It is to be sent again."""


@dataclass(frozen=True)
class Entry:
    """`about`: the loaf's key, for a pour the recipe's. `names`: all fields that the phone's form had, filled in or
    not. `ask`: the person still stands before the form and can be asked. `sent_at`: by the phone's clock."""

    key: UUID
    act: str
    about: str
    corrects: UUID | None
    person: int
    fields: tuple[tuple[str, str], ...]
    names: frozenset[str]
    units: Mapping[str, str]
    zone: str
    sent_at: str
    ask: bool
    files: tuple[tuple[str, UploadedFile[Any]], ...]
    digest: str

    @classmethod
    def read(cls, request: HttpRequest) -> Entry:
        try:
            told = json.loads(request.POST["entry"])
            files = _whole_files(told["files"], request.FILES.getlist("file"))
            return cls(
                key=UUID(told["key"]),
                act=str(told["act"]),
                about=str(told["about"]),
                corrects=UUID(told["corrects"]) if told["corrects"] else None,
                person=int(told["person"]),
                fields=tuple((str(name), str(value)) for name, value in told["fields"]),
                names=frozenset(told["names"]),
                units=dict(told["units"]),
                zone=str(told["zone"]),
                sent_at=str(told["sent_at"]),
                ask=told["ask"] is True,
                files=files,
                digest=_digest(told, files),
            )
        except (KeyError, TypeError, ValueError, RecursionError) as error:
            raise Unreadable(str(error)) from error

    @property
    def data(self) -> QueryDict:
        data = QueryDict(mutable=True)
        for name, value in self.fields:
            data.appendlist(name, value)
        data["key"] = str(self.key)
        if not self.ask:
            # Whoever typed it was asked on the phone, and is not there to be asked again.
            data["kept_anyway"] = "on"
        return data

    @property
    def file_data(self) -> MultiValueDict[str, UploadedFile[Any]]:
        data: MultiValueDict[str, UploadedFile[Any]] = MultiValueDict()
        for field, file in self.files:
            data.appendlist(field, file)
        return data

    def workshop_of_then(self, workshop: Workshop) -> Workshop:
        """The workshop with the units that stood beside the fields; a later change must not misread them."""
        then = copy.copy(workshop)
        for kind, (attribute, choices) in UNITS.items():
            if self.units.get(kind) in choices.values:
                setattr(then, attribute, self.units[kind])
        return then

    def zone_of_then(self, workshop: Workshop) -> zoneinfo.ZoneInfo:
        known = self.zone in zoneinfo.available_timezones()
        return zoneinfo.ZoneInfo(self.zone) if known else workshop.zone


def _whole_files(
    told: list[dict[str, Any]], came: list[UploadedFile[Any]]
) -> tuple[tuple[str, UploadedFile[Any]], ...]:
    """A stalled upload can end in the middle of a file without anybody noticing but its size."""
    if [file["size"] for file in told] != [file.size for file in came]:
        raise Unreadable("A file is missing or not whole.")
    return tuple((str(file["field"]), part) for file, part in zip(told, came, strict=True))


def _digest(told: dict[str, Any], files: tuple[tuple[str, UploadedFile[Any]], ...]) -> str:
    typed = {name: value for name, value in told.items() if name not in NOT_TYPED}
    digest = hashlib.sha256(json.dumps(typed, sort_keys=True).encode())
    for _, file in files:
        for chunk in file.chunks():
            digest.update(chunk)
        file.seek(0)
    return digest.hexdigest()
