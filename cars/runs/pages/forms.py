"""The forms of the track: a run, a change, the weather."""

from collections.abc import Mapping, Sequence
from datetime import datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone

from cars.figures.lap_entry import LapsRefusedError, read_laps
from cars.models import Car, Feel, Laps, RunDetails, Weather
from cars.models.catalogue import Spot
from cars.runs.actions.runs import FeelSaid, RunFacts
from cars.runs.queries.entries_of_cars import EntryOffered
from cars.runs.queries.runs import RunNoted
from cars.sheets.actions.conflicts import OVER_ANYTHING, Unseen
from cars.sheets.pages.forms import amount_of
from clubsetup.access.ids import id_or_none
from clubsetup.clock.writing import BROWSER_TIME
from clubsetup.offline.forms import SentOnce
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import Driver, Surface, Track

NOT_SAID = [("", "Not said")]
NOTHING_SEEN = "none"  # how a page names what was not noted yet
DAMAGE_SPOTS = [(spot.value, spot.label) for spot in Spot if spot is not Spot.CAR]
SAW = "saw_"


class ClockInput(forms.TimeInput):
    """The browser's own clock."""

    input_type = "time"

    def __init__(self) -> None:
        super().__init__(format=BROWSER_TIME)


def _asked(label: str, choices: Any, **more: Any) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label, choices=[*NOT_SAID, *choices.choices], required=False, **more
    )


class RunForm(QuantityForm):
    """A run: five taps, and all else filled in beforehand or left out."""

    outcome: Any
    run: RunNoted | None = None
    entry = _asked("Entry", Feel.Balance)
    middle = _asked("Middle", Feel.Balance)
    exit = _asked("Exit", Feel.Balance)
    hands = _asked("Hands in the middle", Feel.Hands)
    steering = _asked("Steering", Feel.Steering)
    saw_entry = _asked("Entry", Feel.Balance)
    saw_middle = _asked("Middle", Feel.Balance)
    saw_exit = _asked("Exit", Feel.Balance)
    kind = forms.ChoiceField(label="Run", choices=RunDetails.Kind.choices, initial="practice")
    finish = forms.IntegerField(
        label="Finish",
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    entry_of_car = forms.ChoiceField(
        label="Entered in", required=False, help_text="The team's own affair: no official sees it."
    )
    at = forms.TimeField(label="Went out at", required=False, widget=ClockInput())
    driver = forms.ModelChoiceField(Driver.objects.none(), required=False, empty_label="Not said")
    track = forms.ModelChoiceField(Track.objects.none(), required=False, empty_label="None")
    surface = forms.ChoiceField(
        choices=[("", "As the track"), *Surface.choices], required=False, label="Surface"
    )
    surface_state = forms.ChoiceField(
        choices=[*NOT_SAID, *RunDetails.SurfaceState.choices], required=False, label="It was"
    )
    fuel = QuantityInput(
        kind=Kind.VOLUME, limits=bounds.FUEL, required=False, label="Fuel on board"
    )
    damage = forms.CharField(
        label="What happened", required=False, max_length=200, help_text="As in: hit the wall."
    )
    damage_spots = forms.MultipleChoiceField(
        label="Where on the car",
        choices=DAMAGE_SPOTS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    note = forms.CharField(
        label="What you saw", required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(
        self,
        *args: Any,
        car: Car,
        units: Units,
        run: RunNoted | None = None,
        weather: Weather | None = None,
        entries: Sequence[EntryOffered] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, units=units, **kwargs)
        self.run = run
        self.weather = run.details.weather if run else weather
        for field in self.fields.values():
            # What was touched is told by what the page had, and not by what stands meanwhile.
            field.show_hidden_initial = run is not None
        self.entries = {str(each.entry): each for each in entries}
        if entries:
            names = [(pk, each.with_track) for pk, each in self.entries.items()]
            self.fields["entry_of_car"].choices = [("", "None"), *names]  # type: ignore[attr-defined]
        else:
            del self.fields["entry_of_car"]
        self._choose("driver", Driver.objects.filter(team_id=car.team_id))
        self._choose("track", Track.objects.filter(club_id=car.chassis.club_id))

    def _choose(self, name: str, rows: Any) -> None:
        self.fields[name].queryset = rows  # type: ignore[attr-defined]  # a ModelChoiceField

    def clean(self) -> dict[str, Any]:
        """An entry of the track on which it ran."""
        given: dict[str, Any] = super().clean() or self.cleaned_data
        chosen, track = self.entries.get(given.get("entry_of_car", "")), given.get("track")
        if chosen and chosen.track and track and chosen.track != track:
            there = f"That event is at {chosen.track}. Choose that track, or no entry."
            self.add_error("entry_of_car", there)
        return given

    @property
    def tied_to(self) -> UUID | None:
        """The entry that was chosen."""
        return id_or_none(self.cleaned_data.get("entry_of_car"))

    @property
    def facts(self) -> RunFacts:
        """Of a valid form."""
        given = self.cleaned_data
        names = ("kind", "driver", "track", "surface", "surface_state", "finish", "fuel")
        more = ("damage", "damage_spots", "note")
        return RunFacts(weather=self.weather, **{name: given[name] for name in (*names, *more)})

    @property
    def said(self) -> FeelSaid:
        """What the driver said."""
        return FeelSaid(**{name: self.cleaned_data[name] for name in FeelSaid._fields})

    @property
    def saw(self) -> FeelSaid:
        """What the handler saw: where it pushed, turned or was loose."""
        places = ("entry", "middle", "exit")
        return FeelSaid(**{name: self.cleaned_data[SAW + name] for name in places})

    @property
    def ran_at(self) -> datetime | None:
        """The time typed, on the day of the run or today; None leaves it as it is."""
        at = self.cleaned_data["at"]
        if at is None:
            return None
        when = timezone.localtime(self.run.run.ran_at if self.run else None)
        if (when.hour, when.minute) == (at.hour, at.minute):
            return when
        return when.replace(hour=at.hour, minute=at.minute, second=0, microsecond=0)


class NewRunForm(SentOnce, RunForm):
    """A run that is sent once, however often its form is, and may wait on the phone till then."""

    def action_values(self) -> dict[str, Any]:
        """What the action takes of a valid form; the rest says when and which car."""
        return {
            "facts": self.facts,
            "said": self.said,
            "seen": self.saw,
            "typed_time": self.ran_at,
            "run_id": self.sent_id(),
            "entry": self.tied_to,
        }


def _minute_of(when: datetime) -> time:
    """As the browser's clock sends it back, so that one that nobody touched is not another."""
    return timezone.localtime(when).time().replace(second=0, microsecond=0)


def initial_of(run: RunNoted) -> dict[str, Any]:
    """What a run's form shows of it."""
    details = run.details
    feel, saw = (run.feels.get(by) for by in (Feel.SaidBy.DRIVER, Feel.SaidBy.HANDLER))
    facts = ("kind", "finish", "surface", "surface_state", "damage", "damage_spots", "note")
    return {
        **{name: getattr(details, name) for name in facts},
        "driver": details.driver_id,
        "track": details.track_id,
        "fuel": details.fuel_typed,
        "at": _minute_of(run.run.ran_at),
        **{name: getattr(feel, name) if feel else "" for name in FeelSaid._fields},
        **{SAW + name: getattr(saw, name) if saw else "" for name in ("entry", "middle", "exit")},
    }


def initial_after(
    before: RunDetails | None, car: Car, entries: Sequence[EntryOffered] = ()
) -> dict[str, Any]:
    """What the next run is likely to be like: as the one before, for the one entry of its track."""
    given: dict[str, Any] = {}
    if before is not None:
        given |= {
            "driver": before.driver_id,
            "track": before.track_id,
            "surface": before.surface,
            "surface_state": before.surface_state,
            "kind": before.kind,
            "fuel": before.fuel_typed,
        }
    here = [each for each in entries if each.track and given.get("track") in {None, each.track.pk}]
    if len(here) == 1 and here[0].track:
        given |= {"entry_of_car": str(here[0].entry), "track": here[0].track.pk}
    return given


class TrackChangeForm(forms.Form):
    """How much something is changed by: one of the buttons, or what is typed."""

    outcome: Any
    amount = forms.CharField(label="Another amount", max_length=12)

    def clean_amount(self) -> Decimal:
        """A whole number, a decimal or a fraction, with its sign."""
        return amount_of(self.cleaned_data["amount"])


class LapsForm(forms.Form):
    """Laps typed or pasted; nothing typed takes them away."""

    outcome: Any
    laps = forms.CharField(
        label="Laps",
        required=False,
        strip=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 8, "inputmode": "decimal", "autocomplete": "off"}),
        help_text="In seconds, as in 7.41 7.52 7,48, or 0:07.41; in a line or one below the other.",
    )
    timed_by = forms.ChoiceField(
        label="Timed by", choices=Laps.TimedBy.choices, initial=Laps.TimedBy.TRANSPONDER
    )
    file = forms.FileField(
        label="Or a file", required=False, help_text="A text file with the lap times of this run."
    )

    def clean(self) -> dict[str, Any]:
        """The times of the box or of the file."""
        given = self.cleaned_data
        text, file = given.get("laps", ""), given.get("file")
        if file is not None:
            if text.strip() and text.strip() != self.initial.get("laps", "").strip():
                raise forms.ValidationError("Type the laps or choose a file, not both.")
            try:
                text = _text_of(file)
            except forms.ValidationError as refused:
                self.add_error("file", refused)
                return given
        try:
            given["times"] = read_laps(text)
        except LapsRefusedError as refused:
            self.add_error("file" if file is not None else "laps", str(refused))
        given["text"] = text.strip()
        return given


LARGEST_FILE = 100_000  # bytes: 500 laps take some 5,000


def _text_of(file: "UploadedFile[Any]") -> str:
    if (file.size or 0) > LARGEST_FILE:
        raise forms.ValidationError("This file is too large for the laps of one run.")
    content: bytes = file.read()
    try:
        return content.decode("utf-16" if content[:2] in _MARKS else "utf-8-sig")
    except UnicodeDecodeError as refused:
        wrong = "This is not a text file. Save the laps as text, or paste them."
        raise forms.ValidationError(wrong) from refused


_MARKS = (b"\xff\xfe", b"\xfe\xff")


class StrikeForm(forms.Form):
    """Why a run counts for nothing."""

    outcome: Any
    reason = forms.CharField(label="Why", max_length=200, help_text="As in: noted twice.")


def seen_of(data: Mapping[str, Any], name: str) -> UUID | Unseen | None:
    """What a page had of a run: an id, or none; where it does not say, it writes over anything."""
    given = data.get(f"seen_{name}")
    if given is None:
        return OVER_ANYTHING
    return None if given == NOTHING_SEEN else id_or_none(given)
