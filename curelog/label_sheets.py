"""Sheets of labels in millimetres: where each label lies, and which tag goes on which sheet."""

from collections.abc import Sequence
from dataclasses import dataclass

import segno
from django.utils.safestring import SafeString, mark_safe

# ISO 216 and ANSI/ASME Y14.1, sizes from memory.
PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


# Modules that a QR code keeps free around itself (ISO/IEC 18004, from memory).
QUIET_MODULES = 4
# A letter is about so much of its size wide; a long name is written smaller.
LETTER_WIDTH = 0.7


@dataclass(frozen=True)
class Tag:
    address: str
    title: str
    words: str

    @property
    def code(self) -> SafeString:
        """As SVG that fills its frame. Error correction M: a tag in a curing room gets dirty."""
        code = segno.make(self.address, error="m", micro=False)
        return mark_safe(code.svg_inline(border=QUIET_MODULES, light="#fff", omitsize=True))


@dataclass(frozen=True)
class Label:
    """A tag in its place on the sheet: the code at the left, title and words beside it. All in mm."""

    tag: Tag
    left: float
    top: float
    width: float
    height: float

    @property
    def code_side(self) -> float:
        return min(self.height, self.width / 2)

    @property
    def title_size(self) -> float:
        return self._fitting(self.tag.title, self.height / 4)

    @property
    def words_size(self) -> float:
        return self._fitting(self.tag.words, self.height / 7)

    def _fitting(self, text: str, most: float) -> float:
        return min(most, 0.95 * (self.width - self.code_side) / (LETTER_WIDTH * max(1, len(text))))


@dataclass(frozen=True)
class Sheet:
    """Labels lie side by side between the edges. `edge_x_mm`, `edge_y_mm`: what the sheet leaves free at its sides."""

    paper: str = "a4"
    columns: int = 3
    rows: int = 8
    edge_x_mm: float = 0.0
    edge_y_mm: float = 0.0

    @property
    def width_mm(self) -> float:
        return PAPERS_MM[self.paper][0]

    @property
    def height_mm(self) -> float:
        return PAPERS_MM[self.paper][1]

    def pages(self, tags: Sequence[Tag], used: int = 0) -> list[list[Label]]:
        """`used`: labels that are gone already from the first sheet."""
        size = self.columns * self.rows
        pages: dict[int, list[Label]] = {}
        for place, tag in enumerate(tags, start=used % size):
            pages.setdefault(place // size, []).append(self.label(tag, place % size))
        return list(pages.values())

    def label(self, tag: Tag, place: int) -> Label:
        """At a place of the sheet, counted along the rows from 0."""
        width = (self.width_mm - 2 * self.edge_x_mm) / self.columns
        height = (self.height_mm - 2 * self.edge_y_mm) / self.rows
        row, column = divmod(place, self.columns)
        return Label(tag, self.edge_x_mm + column * width, self.edge_y_mm + row * height, width, height)
