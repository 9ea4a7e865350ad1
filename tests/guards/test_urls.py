"""Every address of the site, and what it answers to whom. An address not in the table fails."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.figures import PAIRS, count
from tests.guards.world import World, undone, walk_in_entry
from tests.people import browser_of

# Whose addresses others hold.
ELSEWHERE = {
    "accounts/": "allauth's: sign-in, passwords, passkeys; tests/access holds the ways in",
    "api/v1/": "operation by operation in test_api.py",
}


def named(resolver: URLResolver, route: str = "") -> Iterator[tuple[str, str]]:
    """(name, route) of every pattern below the resolver that is not held elsewhere."""
    for entry in resolver.url_patterns:
        here = route + str(entry.pattern)
        if here in ELSEWHERE:
            continue
        if isinstance(entry, URLPattern):
            yield entry.name or "", here
        else:
            yield from named(entry, here)


FOUND = dict(named(get_resolver()))
PEOPLE = [
    *("chief", "crew", "guest", "coach", "unlinked", "official", "other_official", "steward"),
    *("rival", "stranger", "nobody"),
]


# 401 stands for the way to the sign-in page.
TABLE = """
                             chi  cre  gue  coa  unl  off  of2  ste  riv  str  nob
me                     get   200  200  200  200  200  200  200  200  200  200  401
my-name                get   200  200  200  200  200  200  200  200  200  200  401
my-units               get   200  200  200  200  200  200  200  200  200  200  401
my-colours             get   200  200  200  200  200  200  200  200  200  200  401
my-trail               get    200  200  200  200  200  200  200  200  200  200  401
account-erase          get    200  200  200  200  200  200  200  200  200  200  401
look                   get    200  200  200  200  200  200  200  200  200  200  200
privacy                get    200  200  200  200  200  200  200  200  200  200  200
exports                get   200  200  200  200  200  200  200  200  200  200  401
export-schema          get   200  200  200  200  200  200  200  200  200  200  200
export-make            post  302  302  403  302  403  403  404  403  403  404  401
archive-bring-in       get   200  200  403  403  403  403  404  403  403  404  401
archive                get   200  200  404  404  404  404  404  404  404  404  401
archive-attached       get   200  200  404  404  404  404  404  404  404  404  401
security-txt           get    404  404  404  404  404  404  404  404  404  404  404
password-by-code       get   200  200  200  200  200  200  200  200  200  200  200
sign-ins-end           get   200  200  200  200  200  200  200  200  200  200  401
sign-in-end            ask   302  404  404  404  404  404  404  404  404  404  401
second-factor          get   200  200  200  200  200  200  200  200  200  200  401
person-code            ask   200  403  403  403  404  404  404  200  404  404  401
club-people            get   403  403  403  403  403  403  404  200  403  404  401
club-second-factor     get   403  403  403  403  403  403  404  200  403  404  401
member-end             ask   403  403  403  403  403  403  404  302  403  404  401
token-new              get   200  200  200  200  200  200  200  200  200  200  401
token-end              ask   302  404  404  404  404  404  404  404  404  404  401
prints                 get   200  200  200  200  200  200  200  200  200  200  401
print-ask              post  302  302  302  302  302  302  404  302  302  404  401
print-state            get   200  404  404  404  404  404  404  404  404  404  401
print-file             get   404  404  404  404  404  404  404  404  404  404  401
start                  get   200  200  200  200  200  200  200  200  200  200  401
join                   get   200  200  200  200  200  200  200  200  200  200  200
join-accept            post  409  409  409  302  302  302  302  302  302  302  401
club                   get   200  200  200  200  200  200  404  200  200  404  401
club-invite            get   403  403  403  403  403  403  404  200  403  404  401
club-units             get   403  403  403  403  403  403  404  200  403  404  401
club-time-zone         get   403  403  403  403  403  403  404  200  403  404  401
club-tablets           get   403  403  403  403  403  403  404  200  403  404  401
team-new               get   403  403  403  403  403  403  404  200  403  404  401
track-new              get   403  403  403  403  403  403  404  200  403  404  401
race-class-new         get   403  403  403  403  403  403  404  200  403  404  401
club-trail             get   403  403  403  403  403  403  404  200  403  404  401
club-member-remove     post  403  403  403  403  302  403  404  302  403  404  401
invitation-withdraw    ask   302  404  404  404  404  404  404  302  404  404  401
track-change           get   403  403  403  403  403  403  404  200  403  404  401
team                   get   200  200  200  200  200  200  404  200  200  404  401
team-invite            get   200  403  403  403  403  403  404  403  403  404  401
coach-new              get   200  403  403  403  403  403  404  403  403  404  401
driver-new             get   200  200  403  403  403  403  404  403  403  404  401
team-trail             get   200  200  403  403  403  403  404  403  403  404  401
team-member-role       get   200  403  403  403  404  404  404  403  404  404  401
team-member-remove     post  302  403  302  403  404  404  404  403  404  404  401
coach-change           get   200  403  403  403  404  404  404  403  404  404  401
coach-remove           ask   302  403  403  302  404  404  404  403  404  404  401
driver                 get   200  200  200  200  404  404  404  404  404  404  401
driver-rename          get   200  200  403  403  404  404  404  404  404  404  401
driver-erase           ask   302  403  403  403  404  404  404  404  404  404  401
driver-birth-date      get   200  200  403  403  404  404  404  404  404  404  401
driver-weight-new      get   200  200  403  403  404  404  404  404  404  404  401
driver-weight-remove   post  302  302  404  403  404  404  404  404  404  404  401
bench-start            get   200  200  403  403  404  404  404  404  404  404  401
bench                  get   302  302  302  302  404  404  404  404  404  404  401
bench-done             get   200  200  200  200  404  404  404  404  404  404  401
bench-close            post  302  302  403  403  404  404  404  404  404  404  401
bench-follow           post  302  302  403  403  404  404  404  404  404  404  401
bench-step             get   200  200  200  200  404  404  404  404  404  404  401
bench-change           post  200  200  403  403  404  404  404  404  404  404  401
bench-now              get   200  200  200  200  404  404  404  404  404  404  401
bench-save             post  400  400  403  403  404  404  404  404  404  404  401
bench-undo             post  200  200  403  403  404  404  404  404  404  404  401
cars                   get   200  200  200  200  200  200  200  200  200  200  401
car                    get   200  200  200  200  404  404  404  404  404  404  401
car-edit               get   200  200  403  403  404  404  404  404  404  404  401
car-sheets             get   200  200  200  200  404  404  404  404  404  404  401
sheet-open             get   200  200  403  403  404  404  404  404  404  404  401
car-new                get   200  200  403  403  403  403  404  403  403  404  401
parts                  get   200  200  200  403  403  403  404  403  403  404  401
part-new               get   200  200  403  403  403  403  404  403  403  404  401
ballast                get   200  200  200  200  403  403  404  403  403  404  401
piece-new              get   200  200  403  403  403  403  404  403  403  404  401
part                   get   200  200  200  404  404  404  404  404  404  404  401
part-start             get   200  200  403  404  404  404  404  404  404  404  401
part-limit             get   200  200  403  404  404  404  404  404  404  404  401
part-limit-remove      post  302  302  403  404  404  404  404  404  404  404  401
part-limits            get   200  200  200  403  403  403  404  403  403  404  401
part-limit-new         get   200  200  403  403  403  403  404  403  403  404  401
club-part-limits       get   200  200  200  200  200  200  404  200  200  404  401
club-part-limit-new    get   403  403  403  403  403  403  404  200  403  404  401
drift-by-part          get   200  200  200  403  404  404  404  404  404  404  401
drift-by-track         get   200  200  200  200  404  404  404  404  404  404  401
part-code              get   200  200  403  404  404  404  404  404  404  404  401
piece-move             get   200  200  403  403  404  403  404  404  404  404  401
piece-retire           ask   302  302  403  403  404  403  404  404  404  404  401
sheet                  get   200  200  200  200  404  404  404  404  404  404  401
sheet-readings         ask   302  302  403  403  404  404  404  404  404  404  401
sheet-edit             get   200  200  403  403  404  404  404  404  404  404  401
sheet-close            post  302  302  403  403  404  404  404  404  404  404  401
sheet-correct          get   200  200  403  403  404  404  404  404  404  404  401
sheet-comment          post  302  302  403  302  404  404  404  404  404  404  401
sheet-change           get   200  200  403  403  404  404  404  404  404  404  401
sheet-history          get   200  200  200  200  404  404  404  404  404  404  401
chassis-list           get   200  200  200  200  200  200  404  200  200  404  401
chassis-new            get   403  403  403  403  403  403  404  200  403  404  401
chassis                get   200  200  200  200  200  200  404  200  200  404  401
chassis-edit           get   403  403  403  403  403  403  404  200  403  404  401
mount-new              get   403  403  403  403  403  403  404  200  403  404  401
baseline-draft         get   403  403  403  403  403  403  404  200  403  404  401
baseline               get   200  200  200  200  200  200  404  200  200  404  401
baseline-publish       post  404  404  404  404  404  404  404  302  404  404  401
baseline-copy          post  403  403  403  403  403  403  404  302  403  404  401
baseline-value-remove  post  404  404  404  404  404  404  404  302  404  404  401
sheet-turn             get   200  200  200  200  404  404  404  404  404  404  401
sheet-turn-accept      post  302  302  403  403  404  404  404  404  404  404  401
sheet-what-if          get   200  200  200  200  404  404  404  404  404  404  401
draw                   get   200  200  200  200  200  200  404  200  200  404  401
sheet-what-if-answer   post  409  409  409  409  409  409  409  409  409  409  401
sheet-ballast          get   200  200  200  200  404  404  404  404  404  404  401
sheet-ballast-fitted       post  302  302  403  403  404  404  404  404  404  404  401
sheet-ballast-taken-back   post  302  302  403  403  404  404  404  404  404  404  401
sheet-rods             get   200  200  200  200  404  404  404  404  404  404  401
sheet-rods-turned    post  302  302  403  403  404  404  404  404  404  404  401
sheet-marks-set        post  302  302  403  403  404  404  404  404  404  404  401
sheet-marks            get   200  200  200  200  404  404  404  404  404  404  401
sheet-lead             get   200  200  200  200  404  404  404  404  404  404  401
car-track              get   200  200  200  200  404  404  404  404  404  404  401
car-track-change       get   200  200  403  403  404  404  404  404  404  404  401
car-change-taken-back  post 302  302  403  403  404  404  404  404  404  404  401
car-put-back           post  302  302  403  403  404  404  404  404  404  404  401
car-track-readings     get   200  200  403  403  404  404  404  404  404  404  401
car-track-weather      get   200  200  403  403  404  404  404  404  404  404  401
car-weather-correct    get   200  200  403  403  404  404  404  404  404  404  401
what-to-try            get   200  200  200  200  404  404  404  404  404  404  401
back-to-track          get   200  200  200  200  404  404  404  404  404  404  401
way-back               get   200  200  200  200  404  404  404  404  404  404  401
car-history            get   200  200  200  200  404  404  404  404  404  404  401
car-season             get   200  200  200  200  404  404  404  404  404  404  401
driver-seasons         get   200  200  200  200  404  404  404  404  404  404  401
car-imports            get   302  302  302  302  404  404  404  404  404  404  401
imports                get   200  200  403  403  403  403  404  403  403  404  401
import                 get   200  200  404  404  404  404  404  404  404  404  401
import-state           get   204  204  404  404  404  404  404  404  404  404  401
import-confirm         post  302  302  404  404  404  404  404  404  404  404  401
import-drop            post  302  302  404  404  404  404  404  404  404  404  401
import-withdraw        get   200  200  404  404  404  404  404  404  404  404  401
advice-list            get   200  200  200  200  200  200  200  200  200  200  401
advice                 get   200  200  200  200  404  404  404  404  404  404  401
advice-tick-off        post  302  302  403  302  404  404  404  404  404  404  401
handovers              get   200  200  200  200  200  200  200  200  200  200  401
handover-take          get   200  200  200  200  200  200  200  200  200  200  401
handover               get   200  404  404  404  404  404  404  404  404  404  401
handover-withdraw      post  302  404  404  404  404  404  404  404  404  404  401
handover-take-back     post  302  404  404  404  404  404  404  404  404  404  401
car-handover           get   200  403  403  403  404  404  404  404  404  404  401
car-handed             get   200  200  200  200  404  404  404  404  404  404  401
handed-sheet           get   200  200  200  200  404  404  404  404  404  404  401
handed-run             get   200  200  200  200  404  404  404  404  404  404  401
car-advice             get   200  200  200  200  404  404  404  404  404  404  401
car-advise             get   403  403  403  200  404  404  404  404  404  404  401
driver-progress        get   200  200  403  200  404  404  404  404  404  404  401
school-days            get   200  200  200  200  200  200  200  200  200  200  401
school-day-new         get   404  404  404  200  200  404  404  404  404  404  401
school-day             get   200  200  200  200  404  404  404  404  404  404  401
school-day-change      get   403  403  403  200  404  404  404  404  404  404  401
school-day-show        post  403  403  403  302  404  404  404  404  404  404  401
school-day-hide        post  403  403  403  302  404  404  404  404  404  404  401
school-day-remove      get   403  403  403  200  404  404  404  404  404  404  401
outing                 get   403  403  403  200  404  404  404  404  404  404  401
outing-move            post  403  403  403  302  404  404  404  404  404  404  401
outing-remove          post  403  403  403  302  404  404  404  404  404  404  401
boards                 get   404  404  404  200  404  404  404  404  404  404  401
board                  get   404  404  404  200  404  404  404  404  404  404  401
did-it-help            get   200  200  200  200  404  404  404  404  404  404  401
compare                get    200  200  200  200  200  200  200  200  200  200  401
compare-choose         get    200  200  200  200  200  200  200  200  200  200  401
compare-file           get    400  400  400  400  400  400  400  400  400  400  401
compare-print          post   302  302  302  302  400  400  400  400  400  400  401
car-compare            get    200  200  200  200  404  404  404  404  404  404  401
car-runs               get   200  200  200  200  404  404  404  404  404  404  401
run                    get   200  200  200  200  404  404  404  404  404  404  401
run-laps               get   200  200  403  403  404  404  404  404  404  404  401
run-laps-counted       post  302  302  403  403  404  404  404  404  404  404  401
club-suggestions       get   200  200  200  200  200  200  404  200  200  404  401
club-suggestions-draft get   403  403  403  403  403  403  404  200  403  404  401
coach-suggestions-draft get   403  403  403  200  200  403  404  403  403  404  401
team-suggestions       get   200  200  200  200  404  404  404  404  404  404  401
team-suggestions-draft get   200  200  403  403  403  403  404  403  403  404  401
suggestion-table       get   200  200  200  200  200  200  404  200  200  404  401
suggestion-add         get   404  404  404  404  404  404  404  200  404  404  401
suggestions-publish    get   404  404  404  404  404  404  404  200  404  404  401
suggestions-retire     ask   403  403  403  403  403  403  404  302  403  404  401
suggestions-throw-away ask   404  404  404  404  404  404  404  302  404  404  401
suggestion-move        post  404  404  404  404  404  404  404  302  404  404  401
suggestion-edit        get   404  404  404  404  404  404  404  200  404  404  401
suggestion-remove      post  404  404  404  404  404  404  404  302  404  404  401
run-after              get   200  200  403  403  404  404  404  404  404  404  401
run-parts              get   200  200  403  403  404  404  404  404  404  404  401
run-hand-over          get   200  200  403  403  404  404  404  404  404  404  401
handed-over            get   302  302  302  302  302  302  302  302  302  302  401
handed-over-back       get   302  302  302  302  302  302  302  302  302  302  401
run-strike             get   200  200  403  403  404  404  404  404  404  404  401
drift                  get   200  200  200  200  404  404  404  404  404  404  401
gearing                get   200  200  200  200  404  404  404  404  404  404  401
springs                get   200  200  200  200  404  404  404  404  404  404  401
sheet-weigh            post  302  302  403  403  404  404  404  404  404  404  401
sheet-same-again       post  302  302  403  403  404  404  404  404  404  404  401
calibration            get   200  200  200  200  404  404  404  404  404  404  401
calibration-reset      get   200  200  403  403  404  404  404  404  404  404  401
events                 get   200  200  200  200  200  200  200  200  200  200  401
event                  get   200  200  200  200  200  200  404  200  200  404  401
event-class-new        post  403  403  403  403  403  403  404  302  403  404  401
desk                   get   403  403  403  403  403  200  404  200  403  404  401
draws                  get   200  200  200  200  200  200  404  200  200  404  401
event-prints           get   403  403  403  403  403  200  404  200  403  404  401
entry-prints           get   200  200  200  200  404  200  404  200  404  404  401
pre-check              get   200  200  200  200  404  404  404  404  404  404  401
car-labels             get   200  200  200  200  404  404  404  404  404  404  401
records                get   403  403  403  403  403  200  404  200  403  404  401
records-words          get    403  403  403  403  403  403  404  200  403  404  401
records-file           get   403  403  403  403  403  200  404  200  403  404  401
walk-in          get   403  403  403  403  403  200  404  200  403  404  401
enter                  get   200  200  403  403  403  403  404  403  403  404  401
event-move             ask   403  403  403  403  403  403  404  302  403  404  401
event-class-remove     post  403  403  403  403  403  403  404  302  403  404  401
entry-confirm          get   200  200  403  403  404  403  404  403  404  404  401
entry                  get   200  200  200  200  404  200  404  200  404  404  401
weigh                  post  403  403  403  403  404  200  404  403  404  404  401
ballast-check          get   403  403  403  403  404  200  404  403  404  404  401
ballast-photo-new      get   403  403  403  403  404  200  404  403  404  404  401
ballast-photo          get   200  200  200  200  404  200  404  200  404  404  401
ballast-photo-file     get   200  200  200  200  404  200  404  200  404  404  401
ballast-photo-small    get   200  200  200  200  404  200  404  200  404  404  401
measure                get   403  403  403  403  404  200  404  403  404  404  401
not-on-car             get   403  403  403  403  404  200  404  403  404  404  401
no-ballast             post  403  403  403  403  404  302  404  403  404  404  401
entry-number           get   200  200  403  403  404  200  404  200  404  404  401
entry-withdraw         post  302  302  403  403  404  302  404  302  404  404  401
entry-restore          post  302  302  403  403  404  302  404  302  404  404  401
weigh-in-void          get   403  403  403  403  404  200  404  403  404  404  401
tech-reading-void      get   403  403  403  403  404  200  404  403  404  404  401
ballast-check-void     get   403  403  403  403  404  200  404  403  404  404  401
results                get   200  200  200  200  403  200  404  200  403  404  401
event-new              get   403  403  403  403  403  403  404  200  403  404  401
rules                  get   200  200  200  200  200  200  404  200  200  404  401
scales                 get   200  200  200  200  200  200  404  200  200  404  401
scale-set              get   200  200  200  200  200  200  404  200  200  404  401
scale-check-new        get   403  403  403  403  403  200  404  403  403  404  401
scale-corrections      post  403  403  403  403  403  403  404  302  403  404  401
scale-check            get   200  200  200  200  200  200  404  200  200  404  401
class-rules            get   200  200  200  200  200  200  404  200  200  404  401
rule-set-new           get   403  403  403  403  403  403  404  200  403  404  401
rule-set               get   200  200  200  200  200  200  404  200  200  404  401
rule-set-change        get   403  403  403  403  403  403  404  200  403  404  401
rule-set-publish       post  403  403  403  403  403  403  404  302  403  404  401
rule-set-retire        ask   403  403  403  403  403  403  404  302  403  404  401
rule-new               get   403  403  403  403  403  403  404  200  403  404  401
rule-change            get   403  403  403  403  403  403  404  200  403  404  401
rule-remove            post  403  403  403  403  403  403  404  302  403  404  401
sheet-parts            get   200  200  200  403  404  404  404  404  404  404  401
own-targets            get   200  200  200  200  404  404  404  404  404  404  401
car-move-to-baseline   post  302  302  403  403  404  404  404  404  404  404  401
own-target-drop        post  302  302  403  403  404  404  404  404  404  404  401
baseline-review        get   403  403  403  403  403  403  404  200  403  404  401
old-part-code          get    302  302  302  302  302  302  302  302  302  302  302
old-sheet-ballast      get    302  302  302  302  302  302  302  302  302  302  302
old-sheet-rods         get    302  302  302  302  302  302  302  302  302  302  302
old-calibration        get    302  302  302  302  302  302  302  302  302  302  302
old-own-targets        get    302  302  302  302  302  302  302  302  302  302  302
old-walk-in            get    302  302  302  302  302  302  302  302  302  302  302
"""
# Addresses of before lead everybody on to those of now, which say who sees them.
OLD = {
    *("old-part-code", "old-sheet-ballast", "old-sheet-rods", "old-calibration", "old-walk-in"),
    "old-own-targets",
}
# Addresses about oneself, which anybody who is signed in has; their lists hold one's own.
OWN = {
    *("start", "me", "my-name", "my-units", "my-colours", "token-new", "prints", "cars", "events"),
    *("join", "join-accept", "password-by-code", "sign-ins-end", "second-factor"),
    *(
        "my-trail",
        "account-erase",
        "privacy",
        "look",
        "handed-over",
        "handed-over-back",
        "advice-list",
        "school-days",
        "handovers",
        "handover-take",
    ),
    # Which sheets they are about is asked, not addressed: of none of one's own there is nothing.
    *("compare", "compare-choose", "compare-file", "compare-print"),
    *("exports", "export-schema"),
    # Answers from what the page carries, sealed; without the seal it answers nobody.
    "sheet-what-if-answer",
    *OLD,
}

# Before anybody signs in; security.txt is not there where nobody named a contact.
FOR_NOBODY = {"export-schema", "join", "look", "password-by-code", "privacy", "security-txt", *OLD}


def test_no_two_addresses_have_one_name() -> None:
    """The later one would be led to in place of the other."""
    names = [name for name, _ in named(get_resolver()) if name]
    assert {name for name in names if names.count(name) > 1} == set()


def rows() -> dict[str, tuple[str, dict[str, int]]]:
    """The table: method and answers by name."""
    found = {}
    for line in TABLE.splitlines()[2:]:
        name, method, *codes = line.split()
        found[name] = method, dict(zip(PEOPLE, map(int, codes), strict=True))
    return found


ANSWERS = rows()

# What an address is asked with: by its first word, or by its name.
BY_WORD: dict[str, Callable[[World], tuple[Any, ...]]] = {
    "prints": lambda w: (w.job.pk,),
    "exports": lambda w: (w.people.team.pk,),
    "join": lambda w: (w.secret,),
    "clubs": lambda w: (w.people.club.pk,),
    "teams": lambda w: (w.people.team.pk,),
    "tech-readings": lambda w: (w.tech_reading.pk,),
    "tracks": lambda w: (w.track.pk,),
    "own-targets": lambda w: (w.own_target.pk,),
    "draws": lambda w: (w.draw.pk,),
    "drivers": lambda w: (w.driver.pk,),
    "driver-weights": lambda w: (w.weight.pk,),
    "cars": lambda w: (w.car.pk,),
    "runs": lambda w: (w.run.pk,),
    "track-changes": lambda w: (w.track_change.pk,),
    "suggestion-tables": lambda w: (w.club_table.pk,),
    "suggestions": lambda w: (w.club_draft_row.pk,),
    "parts": lambda w: (w.part.pk,),
    "part-limits": lambda w: (w.part_limit.pk,),
    "ballast-pieces": lambda w: (w.meeting.piece.pk,),
    "sheets": lambda w: (w.sheet.pk,),
    "advice": lambda w: (w.advice.pk,),
    "school-days": lambda w: (w.school_day.pk,),
    "outings": lambda w: (w.outing.pk,),
    "handovers": lambda w: (w.handover.pk,),
    "imports": lambda w: (w.import_draft.pk,),
    "boards": lambda w: (w.chassis.pk,),
    "chassis": lambda w: (w.chassis.pk,),
    "baselines": lambda w: (w.baseline.pk,),
    "events": lambda w: (w.meeting.event.pk,),
    "event-classes": lambda w: (w.next_class.pk,),
    "entries": lambda w: (w.meeting.entry.pk,),
    "weigh-ins": lambda w: (w.weigh_in.pk,),
    "ballast-checks": lambda w: (w.check.pk,),
    "ballast-photos": lambda w: (w.photo.pk,),
    "scale-sets": lambda w: (w.meeting.scales.pk,),
    "scale-checks": lambda w: (w.scale_check.pk,),
    "classes": lambda w: (w.race_class.pk,),
    "rule-sets": lambda w: (w.rule_draft.pk,),
    "rules": lambda w: (w.rule.pk,),
    "invitations": lambda w: (w.invitation.pk,),
}
BY_NAME: dict[str, Callable[[World], tuple[Any, ...]]] = {
    "car-weather-correct": lambda w: (w.car.pk, w.weather.pk),
    "token-end": lambda w: (w.token.pk,),
    "sign-in-end": lambda w: (w.sign_in().pk,),
    "member-end": lambda w: (w.people.club.pk, w.people.guest.pk),
    "person-code": lambda w: (w.people.guest.pk,),
    "club-member-remove": lambda w: (w.member("unlinked_coach").pk,),
    "team-member-role": lambda w: (w.member("guest").pk,),
    "team-member-remove": lambda w: (w.member("guest").pk,),
    "coach-change": lambda w: (w.link().pk,),
    "coach-remove": lambda w: (w.link().pk,),
    "suggestion-add": lambda w: (w.club_draft.pk,),
    "suggestions-publish": lambda w: (w.club_draft.pk,),
    "suggestions-throw-away": lambda w: (w.club_draft.pk,),
    "baseline-review": lambda w: (w.baseline.pk,),
    "baseline-publish": lambda w: (w.draft.pk,),
    "baseline-value-remove": lambda w: (w.draft.pk,),
    "sheet-correct": lambda w: (w.closed.pk,),
    "way-back": lambda w: (w.was_set.pk,),
    "car-season": lambda w: (w.car.pk, w.run.ran_at.year),
    **{
        f"bench-{name}": lambda w: (w.bench.pk, "ride-heights")
        for name in ("step", "change", "now", "save", "undo")
    },
    "event-class-new": lambda w: (w.next_event.pk,),
    "entry-confirm": lambda w: (walk_in_entry(w).pk,),
    "event-move": lambda w: (w.meeting.event.pk, "end"),
    "enter": lambda w: (w.next_event.pk, w.people.team.pk),
    "rule-set-retire": lambda w: (w.rule_set.pk,),
    "archive": lambda w: (w.imported.pk,),
    "archive-attached": lambda w: (w.imported.pk,),
    "records-file": lambda w: (w.meeting.event.pk, "csv"),
    "rule-new": lambda w: (w.rule_draft.pk, "minimum_weight"),
}
# What is sent to an address that only takes POST: enough for the decision to be about who asks.
SENT: dict[str, Callable[[World], dict[str, Any]]] = {
    "car-move-to-baseline": lambda w: {"baseline": w.baseline.pk},
    "print-ask": lambda w: {"document": "test-team-card", "subject_id": w.people.team.pk},
    "compare-print": lambda w: {"sheets": f"{w.sheet.pk},{w.target.pk}"},
    "run-laps-counted": lambda w: {"mark": [""] * len(w.laps.times)},
    "sheet-comment": lambda w: {"text": "Well read."},
    "sheet-readings": lambda w: {"caster.left": "5"},
    "sheet-same-again": lambda w: {"again": f"weight.LF {w.twice.pk}"},
    "baseline-value-remove": lambda w: {"box": "wheelbase.left"},
    "scale-corrections": lambda w: {"applied": "yes"},
    "event-class-new": lambda w: {"race_class": w.spare_class.pk},
    "weigh": lambda w: {
        "scale_set": w.meeting.scales.pk,
        "stage": "entry",
        "driver_in": "on",
        "total": "320",
    },
}

# What the bench's script sends.
SCRIPTS: dict[str, dict[str, Any]] = {
    "bench-save": {"readings": [{"box": "ride-height.LF", "text": "2 3/8"}]},
    "bench-undo": {"box": "ride-height.LF"},
}


def path_of(name: str, world: World) -> str:
    """The address with the world's rows in it."""
    given = BY_NAME.get(name) or BY_WORD.get(FOUND[name].split("/")[0])
    return reverse(name, args=given(world) if given and "<" in FOUND[name] else ())


def ask(client: Client, name: str, world: World, method: str) -> int:
    """What the address answers; whatever it does is undone."""
    count(PAIRS)
    with undone():
        path = path_of(name, world)
        if method == "get":
            return told(client.get(path))
        if name in SCRIPTS:
            sent = SCRIPTS[name]
            return told(client.post(path_of(name, world), sent, "application/json"))
        return told(client.post(path_of(name, world), SENT.get(name, lambda w: {})(world)))


def told(answer: Any) -> int:
    """The status; 401 for the way to the sign-in page."""
    there = answer.headers.get("Location", "")
    return 401 if there.startswith(reverse("account_login")) else answer.status_code


@pytest.fixture(scope="module")
def clients(world: World) -> dict[str, Client]:
    """Everybody's browser."""
    found = {}
    for name, person in world.who().items():
        found[name] = browser_of(person) if person is not None else Client()
    return found


def test_the_table_names_every_address() -> None:
    assert "" not in FOUND, "an address without a name"
    assert set(ANSWERS) == set(FOUND)


def test_nothing_is_left_to_others_that_is_not_there() -> None:
    assert set(ELSEWHERE) <= {str(entry.pattern) for entry in get_resolver().url_patterns}


@pytest.mark.parametrize("name", ANSWERS)
def test_a_stranger_finds_nothing_and_nobody_is_sent_to_sign_in(name: str) -> None:
    """The rule of the house, held against the table itself."""
    _, answers = ANSWERS[name]
    assert answers["stranger"] == 404 or name in OWN
    assert answers["nobody"] == 401 or name in FOR_NOBODY


@pytest.mark.parametrize("name", ANSWERS)
def test_it_answers(name: str, world: World, clients: dict[str, Client]) -> None:
    method, expected = ANSWERS[name]
    assert {who: ask(clients[who], name, world, method) for who in PEOPLE} == expected
    if method == "post":
        assert ask(clients["chief"], name, world, "get") == 405
    if method == "ask":  # who may do it is asked first
        page = {who: 200 if code == 302 else code for who, code in expected.items()}
        assert {who: ask(clients[who], name, world, "get") for who in PEOPLE} == page
