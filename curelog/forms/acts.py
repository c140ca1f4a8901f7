"""The acts of a loaf by the name they have in addresses and in the outbox."""

from curelog.forms.base import ActForm
from curelog.forms.cure import CheckForm, FinishForm, HandlingForm, NoteForm
from curelog.forms.cut import CutForm
from curelog.forms.mould import FirmnessForm, GelForm, UnmouldForm
from curelog.forms.photo import PhotoForm
from curelog.forms.weigh import WeighForm

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
        NoteForm,
        FinishForm,
    )
}
