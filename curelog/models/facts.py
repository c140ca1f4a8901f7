"""What was seen and done to a loaf. Facts are added, never changed: a correction points at what it corrects."""

from django.db import models

from curelog import units
from curelog.models.fact import Fact
from curelog.models.loaves import Loaf
from curelog.models.places import Move
from curelog.models.sale import Leaving, Release


class Gel(models.TextChoices):
    NONE = "none", "None"
    PARTIAL = "partial", "Partial, a darker core"
    FULL = "full", "Full"


class GelSeen(Fact):
    extent = models.CharField(max_length=10, choices=Gel.choices)

    @property
    def words(self) -> str:
        return f"Gel seen: {self.get_extent_display().lower()}"


class Feel(models.TextChoices):
    STICKY = "sticky", "Sticky"
    DENTS = "dents", "Dents"
    FIRM = "firm", "Firm"
    HARD = "hard", "Hard"


class FirmnessCheck(Fact):
    feel = models.CharField(max_length=10, choices=Feel.choices)

    @property
    def words(self) -> str:
        return f"Finger check: {self.get_feel_display().lower()}"


class Unmoulding(Fact):
    feel = models.CharField(max_length=10, choices=Feel.choices, blank=True)

    @property
    def words(self) -> str:
        return f"Unmoulded, {self.get_feel_display().lower()}" if self.feel else "Unmoulded"


class Cut(Fact):
    class Result(models.TextChoices):
        TOO_SOFT = "too_soft", "Too soft"
        CLEAN = "clean", "Clean"
        TOO_HARD = "too_hard", "Too hard"

    class Sign(models.TextChoices):
        DRAG = "drag", "Drag marks"
        CRUMBLE = "crumble", "Crumbled edge"
        SPLIT = "split", "Split"
        WIRE = "wire", "Broken wire"

    class Tool(models.TextChoices):
        WIRE = "wire", "Wire"
        KNIFE = "knife", "Knife"
        NONE = "none", "No cut: single cavities"

    result = models.CharField(max_length=10, choices=Result.choices)
    signs = models.JSONField(default=list, blank=True)
    bar_count = models.PositiveSmallIntegerField()
    bar_length_mm = models.FloatField()
    bar_width_mm = models.FloatField()
    bar_thickness_mm = models.FloatField()
    tool = models.CharField(max_length=10, choices=Tool.choices, default=Tool.WIRE)
    all_bars_g = models.FloatField(null=True, blank=True)
    trimmings_g = models.FloatField(null=True, blank=True)

    @property
    def words(self) -> str:
        signs = ", ".join(self.Sign(sign).label.lower() for sign in self.signs)
        cut = f"Cut into {self.bar_count} bars, {self.get_result_display().lower()}"
        return f"{cut}: {signs}" if signs else cut


class Bar(models.Model):
    """A test bar, numbered by its place in the loaf. Its weights are weighings."""

    loaf = models.ForeignKey(Loaf, on_delete=models.CASCADE, related_name="bars")
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["loaf", "number"], name="one_bar_per_number")]

    def __str__(self) -> str:
        return f"bar {self.number}"


class Weighing(Fact):
    """What the scale showed for one bar, or for several together."""

    bars = models.ManyToManyField(Bar, related_name="weighings")
    weight_g = models.FloatField()
    step_g = models.FloatField(default=1.0)
    scale_name = models.CharField(max_length=60, blank=True)
    questioned = models.CharField(max_length=300, blank=True, help_text="What was asked before it was kept.")

    @property
    def words(self) -> str:
        return self.words_in("g")

    def words_in(self, unit: str) -> str:
        numbers = " + ".join(str(bar.number) for bar in self.bars.all())
        return f"Bar {numbers}: {units.mass_words(self.weight_g, unit, 2)}"


class Handling(Fact):
    """Soap taken off by hand, so that the loss is not read as drying."""

    class Kind(models.TextChoices):
        PLANED = "planed", "Planed or bevelled"
        PIECE = "piece", "A piece taken for a test"

    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.PLANED)
    bars = models.ManyToManyField(Bar, related_name="handlings")
    loss_g = models.FloatField(null=True, blank=True)

    @property
    def words(self) -> str:
        return self.words_in("g")

    def words_in(self, unit: str) -> str:
        numbers = ", ".join(str(bar.number) for bar in self.bars.all())
        lost = "" if self.loss_g is None else f", {units.mass_words(self.loss_g, unit, 2)} off each"
        return f"{self.get_kind_display()}: bar {numbers}{lost}"


class Check(Fact):
    class Kind(models.TextChoices):
        LOOK = "look", "Look: ash, sweat, warp"
        SPOTS = "spots", "Orange spots"
        SMELL = "smell", "Smell"
        LATHER = "lather", "Lather and feel"
        TITRATION = "titration", "Free alkali by titration"
        INDICATOR = "indicator", "Indicator in alcohol"
        PH = "ph", "pH"
        ZAP = "zap", "Zap test"
        NOTE = "note", "Something else"

    class Outcome(models.TextChoices):
        PASS = "pass", "Pass"
        WATCH = "watch", "Watch"
        FAIL = "fail", "Fail"

    kind = models.CharField(max_length=12, choices=Kind.choices)
    outcome = models.CharField(max_length=6, choices=Outcome.choices)
    value = models.CharField(max_length=40, blank=True)
    volumes = models.JSONField(
        default=dict,
        blank=True,
        help_text="Volumes of a titration in ml, its acid in mol/l, the sample in g.",
    )

    @property
    def words(self) -> str:
        value = f", {self.value}" if self.value else ""
        return f"{self.get_kind_display()}: {self.get_outcome_display().lower()}{value}"


class Answer(Fact):
    """What was decided about a failed check; it lets the batch go on, or not."""

    answers = models.ForeignKey(Check, on_delete=models.CASCADE, related_name="answers")
    lets_go = models.BooleanField(default=True)

    @property
    def words(self) -> str:
        return f"Answered ({self.answers.get_kind_display().lower()}): {self.note}"


class Photo(Fact):
    class Subject(models.TextChoices):
        FACE = "face", "Cut face"
        TOP = "top", "Top"
        SPOTS = "spots", "Spots"
        WHOLE = "whole", "Whole loaf"

    subject = models.CharField(max_length=6, choices=Subject.choices, default=Subject.FACE)
    bar = models.ForeignKey(Bar, null=True, blank=True, on_delete=models.SET_NULL, related_name="photos")
    sha256_received = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    @property
    def words(self) -> str:
        return f"Photo: {self.get_subject_display().lower()}{f', {self.bar}' if self.bar else ''}"


class Note(Fact):
    @property
    def words(self) -> str:
        return self.note


class Finish(Fact):
    """Nothing of the loaf is left to look after."""

    class Reason(models.TextChoices):
        GONE = "gone", "Sold, given away or used"
        THROWN = "thrown", "Thrown away"

    reason = models.CharField(max_length=10, choices=Reason.choices, default=Reason.GONE)

    @property
    def words(self) -> str:
        return f"Finished: {self.get_reason_display().lower()}"


FACT_KINDS: tuple[type[Fact], ...] = (
    GelSeen,
    FirmnessCheck,
    Unmoulding,
    Cut,
    Weighing,
    Handling,
    Check,
    Answer,
    Photo,
    Note,
    Move,
    Release,
    Leaving,
    Finish,
)
