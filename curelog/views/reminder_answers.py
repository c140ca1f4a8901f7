"""The buttons of a notification: "done" and "in an hour". Its signed word is enough: the phone may be signed out."""

import json

from django.contrib.auth.decorators import login_not_required
from django.core import signing
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from curelog.actions import reminding
from curelog.reminders.composing import ANSWER_SALT

# A notification that lay there for longer is answered in the app.
ANSWERED_WITHIN_S = 14 * 24 * 3600
MOST_BYTES = 4000
SAY = {"done": reminding.say_done, "hour": reminding.say_in_an_hour}


# No cookie is asked for, so there is none that another site could misuse.
@csrf_exempt
@login_not_required
@require_POST
def answer(request: HttpRequest) -> HttpResponse:
    try:
        told = json.loads(request.body[:MOST_BYTES])
        deliveries = signing.loads(told["answer"], salt=ANSWER_SALT, max_age=ANSWERED_WITHIN_S)
        say = SAY[told["says"]]
    except (ValueError, KeyError, TypeError, RecursionError, signing.BadSignature):
        return JsonResponse({"error": "This notification cannot be answered any more."}, status=422)
    return JsonResponse({"reminders": say(deliveries)})
