"""Taking a fact back needs a reason."""

import uuid
from typing import Any

from django import forms

from curelog.forms.base import WorkshopForm


class WithdrawForm(WorkshopForm):
    key = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(label="Why is it taken back?", max_length=200)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, initial={"key": uuid.uuid4()}, **kwargs)
