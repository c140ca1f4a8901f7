"""Which lot went in: one on the shelf, proposed by its code, or whatever the maker writes."""

from collections.abc import Sequence

from django import forms

from curelog.models import Lot
from curelog.models.shelf import Fits, ShelfLot, meant_by

LOT_LENGTH = 60


class LotField(forms.CharField):
    """Cleans to the code as it was typed, so that a phone without a network can send any. `offered` are the open lots
    that fit, shown as a list of proposals."""

    def __init__(self, fits: Fits, shelf: Sequence[ShelfLot]) -> None:
        super().__init__(label="Lot", required=False, max_length=LOT_LENGTH)
        self.fits = fits
        self.offered = [each for each in shelf if fits(each.lot)]
        self._known: dict[str, Lot | None] = {}

    def lot(self, code: str) -> Lot | None:
        """Asked for again and again while a form is worked out, looked up once."""
        if code not in self._known:
            self._known[code] = meant_by(code, self.fits)
        return self._known[code]

    def named_by(self, name: str) -> None:
        """The form's name of the field names its list, too."""
        if self.offered:
            self.widget.attrs["list"] = f"lots_{name}"
