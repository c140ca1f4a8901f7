"""All loaves: by stage, by recipe, by number."""

from uuid import UUID

from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.vary import vary_on_headers

from curelog.marks import mark
from curelog.models import Answer, Check, Cut, Fact, Finish, Loaf, Recipe, Release, Unmoulding
from curelog.models.outlook import outlooks
from curelog.models.record import standing, with_facts
from curelog.views.access import Request

A_PAGE = 25
FILTERS = (
    ("", "All"),
    ("mould", "In the mould"),
    ("unmoulded", "Unmoulded"),
    ("curing", "On the racks"),
    ("held", "Held back"),
    ("released", "Released"),
    ("finished", "Finished"),
)


def _has(kind: type[Fact]) -> Exists:
    """A standing fact of the kind; the stage as far as the database can tell it without a forecast."""
    return Exists(standing(kind).filter(loaf=OuterRef("pk")))


def in_stage(loaves: QuerySet[Loaf], stage: str) -> QuerySet[Loaf]:
    if stage == "mould":
        return loaves.exclude(_has(Unmoulding)).exclude(_has(Cut)).exclude(_has(Finish))
    if stage == "unmoulded":
        return loaves.filter(_has(Unmoulding)).exclude(_has(Cut)).exclude(_has(Finish))
    if stage == "curing":
        return loaves.filter(_has(Cut)).exclude(_has(Release)).exclude(_has(Finish))
    if stage == "released":
        return loaves.filter(_has(Release)).exclude(_has(Finish))
    if stage == "finished":
        return loaves.filter(_has(Finish))
    if stage == "held":
        answered = standing(Answer).filter(answers=OuterRef("pk"), lets_go=True)
        fails = standing(Check).filter(~Exists(answered), outcome=Check.Outcome.FAIL, loaf=OuterRef("pk"))
        return loaves.filter(Exists(fails))
    return loaves


@vary_on_headers("HX-Request")
def loaves(request: Request) -> HttpResponse:
    wanted = {name: request.GET.get(name, "").strip() for name in ("stage", "recipe", "q")}
    found = in_stage(Loaf.objects.all(), wanted["stage"])
    if wanted["recipe"]:
        found = found.filter(batch__recipe__family=_family(wanted["recipe"]))
    if wanted["q"]:
        found = found.filter(Q(batch__number__icontains=wanted["q"]) | Q(batch__name__icontains=wanted["q"]))
    page = Paginator(with_facts(found), A_PAGE).get_page(request.GET.get("page"))
    seen = outlooks(page.object_list, request.workshop, timezone.now())
    context = {
        "page": page,
        "rows": [(each, mark(each)) for each in seen],
        "wanted": wanted,
        "filters": FILTERS,
        "recipes": Recipe.objects.filter(is_current=True),
    }
    part = request.htmx and not request.htmx.history_restore_request
    return render(request, "loaves/_rows.html" if part else "loaves/index.html", context)


def _family(text: str) -> UUID:
    """The nil UUID, which no recipe has, for an address that somebody made up."""
    try:
        return UUID(text)
    except ValueError:
        return UUID(int=0)
