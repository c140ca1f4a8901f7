"""How this is worked out: formulas, priors, sources and limits, with the numbers that the code really uses."""

from django.http import HttpResponse
from django.shortcuts import render

from curelog import safety
from curelog.domain import drying_course, drying_room, fats
from curelog.domain.cutting_prior import PRIORS, SAMPLE_SIZE
from curelog.domain.lots import USUAL_SPREAD
from curelog.views.access import Request


def how(request: Request) -> HttpResponse:
    context = {
        "fats": fats.all_fats(),
        "cut_priors": [(name.replace("_", " "), prior) for name, prior in PRIORS.items()],
        "sample_size": SAMPLE_SIZE,
        "course": drying_course,
        "room": drying_room,
        "usual_spread": USUAL_SPREAD,
        "lye_cautions": safety.LYE,
    }
    return render(request, "how/index.html", context)
