"""The acts of a loaf by the name they have in addresses and in the outbox."""

from curelog.forms.base import ActForm
from curelog.forms.cure import CheckForm, FinishForm, HandlingForm, NoteForm
from curelog.forms.cut import CutForm
from curelog.forms.mould import FirmnessForm, GelForm, UnmouldForm
from curelog.forms.photo import PhotoForm
from curelog.forms.place import MoveForm
from curelog.forms.sale import LeavingForm, ReleaseForm
from curelog.forms.weigh import WeighForm
from curelog.models import Fact

ACT_FORMS: dict[str, type[ActForm]] = {
    form.act: form
    for form in (
        FirmnessForm,
        GelForm,
        UnmouldForm,
        CutForm,
        WeighForm,
        HandlingForm,
        CheckForm,
        PhotoForm,
        MoveForm,
        NoteForm,
        ReleaseForm,
        LeavingForm,
        FinishForm,
    )
}

# A photo is withdrawn and taken again, an answer is answered again: neither has a form to correct it.
ACT_OF_KIND = {
    "firmnesscheck": "firmness",
    "gelseen": "gel",
    "unmoulding": "unmould",
    "cut": "cut",
    "weighing": "weigh",
    "handling": "handling",
    "check": "check",
    "move": "move",
    "note": "note",
    "release": "release",
    "leaving": "leave",
    "finish": "finish",
}


def act_of(fact: Fact) -> str:
    """The act whose form corrects a fact; empty when none does."""
    return ACT_OF_KIND.get(fact.kind_name, "")
