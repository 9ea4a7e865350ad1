"""What the page of the look shows: every part in every state, of an invented car."""

from typing import Any

from django import forms
from django.utils.safestring import SafeString

from clubsetup.plots.bands import Band
from clubsetup.plots.spread import Lane, Member, lanes, spread
from clubsetup.plots.strip import WIDE, Reading, State, target_strip
from clubsetup.site.step_list import StepShown

HEIGHT = Band.around(2.25, 0.0625)
RIGHT = Band.around(2.5, 0.0625)
CROSS = Band.around(56.0, 0.5)
LEAST = Band.at_least(310, room=4)
SIXTEENTH = 0.0625


def strip(
    state: State, value: float | None, band: Band = HEIGHT, reach: float = 1 / 64, **more: Any
) -> SafeString:
    """A strip as the templates take it."""
    before = more.pop("before", None)
    reading = Reading(band, state, value, reach if value is not None else 0.0, before)
    return SafeString(target_strip(reading, **more))


def _box(label: str, text: str, look: str, sign: str, words: str, **more: Any) -> dict[str, Any]:
    return {
        "label": label,
        "text": text,
        "look": look,
        "sign": sign,
        "words": words,
        "target": "2 1/4" if label[0] == "L" else "2 1/2",
        "what": "Ride height",
        **more,
    }


def _button(words: str) -> dict[str, str]:
    return {"name": "again", "value": "ride-height", "words": words}


def boxes() -> list[dict[str, Any]]:
    """A reading box in its seven states, and off beyond its scale."""
    return [
        _box("LF", "2 1/4", "good", "tick", "on target",
             strip=strip(State.ON_TARGET, 2.25, before=2.28125)),
        _box("RF", "2 3/8", "bad", "low", "1/8 low", strip=strip(State.OFF, 2.375, RIGHT)),
        _box("RF", "2 11/16", "bad", "high", "3/16 high", strip=strip(State.OFF, 2.6875, RIGHT)),
        _box("RR", "2 13/16", "bad", "high", "5/16 high", strip=strip(State.OFF, 2.8125, RIGHT)),
        _box("RR", "2 9/16", "close", "waves", "too close to tell",
             strip=strip(State.TOO_CLOSE, 2.5625, RIGHT, 1 / 32),
             button=_button("Read it again")),
        _box("LR", "", "none", "ring", "not taken",
             strip=strip(State.NOT_TAKEN, None, before=2.25)),
        _box("LR", "2 5/16", "again", "again", "retake: tyre changed",
             strip=strip(State.RETAKE, 2.3125), button=_button("Same again")),
        _box("LR", "214", "refused", "refused", "Not saved: a height is between 1/2 and 8 in",
             button=_button("Put back 2 5/16")),
    ]  # fmt: skip


def wheels() -> list[dict[str, Any]]:
    """Four boxes where the wheels stand."""
    all_ = boxes()
    return [all_[0], all_[1], all_[7], all_[4]]


NAMES = (
    *("Tyres", "Springs and dampers", "Rear axle", "Front axle", "Kingpin", "Steering", "Lead"),
    *("Ride heights", "Scales", "Ballast", "Gearing", "Last check"),
)
SAID: dict[int, dict[str, Any]] = {
    2: {"off": 1},
    6: {"retake": "toe"},
    7: {"off": 1},
    8: {"said": "3 of 4"},
}


def steps() -> list[StepShown]:
    """Twelve steps, seven of them taken."""
    return [
        StepShown(
            n,
            name,
            "#steps",
            **{"said": "done" if n < 8 else "", "is_done": n < 8, **SAID.get(n, {})},
        )
        for n, name in enumerate(NAMES, 1)
    ]


def findings() -> list[dict[str, Any]]:
    """What a rule finds, in its four outcomes."""

    def at(state: State, value: float) -> SafeString:
        return strip(state, value, LEAST, 0.5, size=WIDE, name="")

    return [
        {"look": "meets", "mark_name": "tick", "word": "meets", "point": "315.0",
         "says": "of 310 lb, 5.0 over", "strip": at(State.ON_TARGET, 315.0)},
        {"look": "refused", "mark_name": "refused", "word": "fails", "point": "307.6",
         "says": "of 310 lb, 2.4 under. Chance that it meets: below 1 in 1000",
         "strip": at(State.OFF, 307.6)},
        {"look": "close", "mark_name": "waves", "word": "too close to call", "point": "309.9",
         "says": "of 310 lb, 0.1 under, good to ±0.5. Weigh again",
         "strip": at(State.TOO_CLOSE, 309.9)},
        {"look": "none", "mark_name": "ring", "word": "not checked: 1 of 2 looked at",
         "says": "Ballast: every piece fixed and marked"},
    ]  # fmt: skip


def exceptions() -> list[dict[str, Any]]:
    """What stands over a sheet."""
    gas, pressure = Band.around(50, 5), Band.around(12, 0.5)
    return [
        {"name": "Damper gas LR", "figure": "42", "unit": "psi", "look": "bad", "mark": "low",
         "words": "8 psi low", "strip": strip(State.OFF, 42, gas, 1)},
        {"name": "Ride height LR", "figure": "2 1/8", "unit": "in", "look": "bad", "mark": "low",
         "words": "1/8 low", "strip": strip(State.OFF, 2.125)},
        {"name": "Cold pressure RR", "figure": "12.5", "unit": "psi", "look": "close",
         "mark": "waves", "words": "too close to tell",
         "strip": strip(State.TOO_CLOSE, 12.5, pressure, 0.25)},
        {"name": "Seat thread RF", "figure": "2 1/4", "unit": "in", "look": "again",
         "mark": "again", "words": "retake: seat turned"},
    ]  # fmt: skip


def sums() -> list[dict[str, Any]]:
    """On target, off, to be retaken, and a limit."""
    left = Band.around(59, 0.7)
    return [
        {"name": "Cross", "target": "56.0 ±0.5", "figure": "56.2", "unit": "%", "look": "good",
         "strip": strip(State.ON_TARGET, 56.2, CROSS, 0.1, before=56.0)},
        {"name": "Left side", "target": "59.0 ±0.7", "figure": "57.9", "unit": "%", "look": "bad",
         "mark": "low", "words": "1.1 low", "strip": strip(State.OFF, 57.9, left, 0.1)},
        {"name": "Rear", "target": "55.5 ±0.7", "figure": "55.8", "unit": "%", "look": "again",
         "mark": "again", "words": "retake: LR, RR",
         "strip": strip(State.RETAKE, 55.8, Band.around(55.5, 0.7))},
        {"name": "Total", "target": "271.9 or more", "figure": "277.1", "unit": "lb",
         "look": "good", "strip": strip(State.ON_TARGET, 277.1, Band.at_least(271.9, room=3), 0.3)},
    ]  # fmt: skip


def _cell(
    spot: str, set_: str = "", target: str = "", found: str = "", **more: Any
) -> dict[str, Any]:
    given = {"spot": spot, "set": set_, "target": target, "found": found, "span": 1, **more}
    return {
        **dict.fromkeys(("tag", "box", "reach", "typed", "look", "carried", "is_words")),
        **given,
    }


def _rows() -> list[dict[str, Any]]:
    """Lines of a sheet: four wheels, an axle, the car, checks, with decimals and fractions."""
    off = {"look": "bad", "mark": "low", "words": "1/8 low"}
    near = {"look": "close", "mark": "waves", "words": "too close to tell"}
    again = {"look": "again", "mark": "again", "words": "retake: seat turned"}
    return [
        {"step": {"order": 1, "name": "Tyres"}, "name": "Cold pressure", "unit": "psi",
         "tolerance": "0.5", "is_four": True,
         "cells": [_cell("LF", "9", "9"), _cell("RF", "11", "11"), _cell("LR", "8.0", "8"),
                   _cell("RR", "12.5", "12", **near)]},
        {"name": "Roll-out", "unit": "in", "tolerance": "1/8", "is_four": True,
         "cells": [_cell("LF", "33 1/2", "33 1/2"), _cell("RF", "33 15/16", "34"),
                   _cell("LR", "33 3/4", "33 3/4"), _cell("RR", "35 5/16", "35 1/4")]},
        {"name": "Stagger", "unit": "in", "tolerance": "1/8",
         "cells": [_cell("front", "11/16", "1/2") | {"span": 2},
                   _cell("rear", "1 9/16", "1 1/2") | {"span": 2}]},
        {"step": {"order": 8, "name": "Ride heights"}, "name": "To the rail",
         "unit": "in", "tolerance": "1/16", "is_four": True,
         "cells": [_cell("LF", "2 1/4", "2 1/4"), _cell("RF", "2 1/2", "2 1/2", "2 3/8"),
                   _cell("LR", "2 1/8", "2 1/4", "2 5/16", **off),
                   _cell("RR", "2 11/16", "2 3/4")]},
        {"name": "Seat thread", "unit": "in", "tolerance": "1/4", "is_four": True,
         "cells": [_cell("LF", "2 1/8", "2 1/8"), _cell("RF", "2 1/4", "2", "2", **again),
                   _cell("LR", "1 11/16", "1 7/8", "1 7/8"), _cell("RR", "1 3/4", "1 3/4")]},
        {"step": {"order": 9, "name": "Scales"}, "name": "Cross", "unit": "%",
         "tolerance": "0.5", "cells": [_cell("car", "56.2", "56.0", "55.4") | {"span": 4}]},
        {"name": "Camber", "unit": "°", "tolerance": "0.3",
         "cells": [_cell("LF", "1.4", "1.5"), _cell("RF", "−3.1", "−3.0", "−3.4"),
                   _cell("LR"), _cell("RR")]},
        {"name": "Checked", "checks": [
            {"look": "good", "mark": "tick", "name": "pads level", "words": "checked", "box": ""},
            {"look": "none", "mark": "ring", "name": "driver seated", "words": "not checked",
             "box": ""}]},
    ]  # fmt: skip


def groups() -> list[dict[str, Any]]:
    """The lines by their steps."""
    found: list[dict[str, Any]] = []
    for row in _rows():
        if "step" in row:
            found.append({"step": {"id": "", "url": "", **row["step"]}, "rows": []})
        usual = {"id": "", "unit": "", "tolerance": "", "is_four": False, "checks": ()}
        found[-1]["rows"].append({**usual, **row})
    return found


class NumberForm(forms.Form):
    """A field with a mistake, one with help, one that is ticked."""

    number = forms.CharField(label="Car number", help_text="7x and 7X are the same number.")
    margin = forms.CharField(label="Margin above it", help_text="As you say it: 1.5 lb, 700 g.")
    surface = forms.ChoiceField(label="Surface", choices=[("paved", "paved"), ("dirt", "dirt")])
    fixed = forms.BooleanField(label="Every piece is fixed and marked", required=False)


def form() -> NumberForm:
    """The form as it comes back refused."""
    made = NumberForm({"number": "B31", "margin": "1.5 lb", "surface": "paved"})
    made.add_error(
        "number", "A number has one to three digits; one letter may follow them. Not saved."
    )
    return made


def feel() -> list[dict[str, Any]]:
    """Pictures to choose from: a path round a corner, and the car's nose on it."""

    def picture(turn: int) -> SafeString:
        nose = f"M46 44 {40 + turn} 22 {52 + turn} 22z"
        return SafeString(
            '<svg class="feel" viewBox="0 0 92 60" aria-hidden="true">'
            '<path class="edge" d="M4 8H46Q84 8 84 56M4 40H28Q40 40 40 56"/>'
            f'<path class="nose" d="{nose}"/></svg>'
        )

    return [
        {"value": "pushes", "label": "pushes", "picture": picture(14)},
        {"value": "turns", "label": "turns", "picture": picture(0)},
        {"value": "loose", "label": "loose", "picture": picture(-14)},
    ]


SENTENCES = {
    "brings": "Brings RF to 2 1/2 and cross to about 56.1 ±0.6. Weigh again after.",
    "exceptions_title": "2 of 59 off, 1 too close to tell, 1 to retake",
    "exceptions_rest": "84 of 84 taken. The other 55 with a target are on it.",
    "piece": "12.0 lb left rail, seat",
    "asked": "Entry: what did it do?",
    "nothing": "31 has no sheet on dirt. The last dirt sheet was 13 Thistle’s, 15 Nov.",
    "waits": "Saved on this phone, 3 figures. They go up when there is a connection.",
    "theirs": "Nan changed LR to 2 1/4 at 14:12.",
    "printing": "Printing 12 setup sheets, 7 done",
}


def samples() -> dict[str, Any]:
    """Everything, by the names that the page's template uses."""
    twelve = steps()
    compared = [Lane(2.25, "square"), Lane(2.27, "ring"), Lane(2.34, "triangle", "bad")]
    cars = [Member(2.2 + n * 0.008, str(n)) for n in range(11)] + [Member(2.4, "7x", True)]
    return {
        "boxes": boxes(),
        "wheels": wheels(),
        "steps": twelve,
        "here": twelve[7],
        "findings": findings(),
        "exceptions": exceptions(),
        "sums": sums(),
        "groups": groups(),
        "wheel_names": ("LF", "RF", "LR", "RR"),
        "form": form(),
        "feel": feel(),
        "fixed": [
            {"value": "yes", "label": "fixed, marked", "mark": "tick"},
            {"value": "no", "label": "not", "mark": "refused"},
        ],
        **SENTENCES,
        "listed": [
            {"number": "31", "url": "#rows", "name": "Biscuit", "small": "Pip, Starter",
             "fact": "as set, 29 Nov"},
            {"number": "7x", "url": "#rows", "name": "Bramble", "small": "Juno, Junior",
             "fact": "2 5/16 in"},
            {"name": "Weigh-in and tech, both classes", "fact": "16:30"},
        ],
        "turns": [{"where": "RF", "amount": "+1 1/4"}, {"where": "LR", "amount": "−1/2"}],
        "figures": ["+1 1/4", "11/16", "33 15/16", "2 1/4", "56.2", "−3.1", "310"],
        "turned": [
            strip(State.ON_TARGET, 2.25, turned=True),
            strip(State.OFF, 2.6, turned=True),
            strip(State.TOO_CLOSE, 2.3125, reach=1 / 32, turned=True),
            strip(State.RETAKE, 2.2, turned=True),
        ],
        "limit": strip(
            State.ON_TARGET, 315.0, LEAST, 0.5, size=WIDE, words=("310 least", "315.0")
        ),
        "lanes": SafeString(lanes(HEIGHT, compared, name="RF height of three sheets")),
        "spread": SafeString(spread(HEIGHT, cars, name="RF height of twelve cars, 7x high")),
        "states": [
            ("good", "tick", "on target"), ("bad", "low", "1/8 low"), ("bad", "high", "3/16 high"),
            ("close", "waves", "too close to tell"), ("none", "ring", "not taken"),
            ("again", "again", "retake: tyre changed"), ("refused", "refused", "not saved"),
            ("meets", "tick", "meets"), ("none", "closed", "closed"),
        ],
        "colours": [
            *("paper", "ground", "ink", "ink-2", "hair", "rule", "dye", "dye-soft"),
            *("band", "band-edge", "off", "near", "again", "ok", "focus"),
        ],
    }  # fmt: skip
