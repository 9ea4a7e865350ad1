"""Every operation of the API, and what it answers to whom. One that is not in the table fails."""

import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.utils import timezone
from drf_spectacular.generators import SchemaGenerator

from clubsetup.access.account import end_token, make_token
from clubsetup.access.api.problems import MEDIA_TYPE
from clubsetup.access.ids import new_id
from clubsetup.access.models import ApiToken
from clubsetup.access.viewer import viewing_as
from tests.cars.exchange.unpacked import empty_archive
from tests.events.photographs import jpeg
from tests.figures import PAIRS, count
from tests.guards.world import World, undone, walk_in_entry
from tests.owner import bend
from tests.people import browser_of, close_account

BASE = "/api/v1/"
SCHEMA = SchemaGenerator().get_schema(request=None, public=True)
OPERATIONS = {
    f"{method} {path.removeprefix(BASE)}"
    for path, methods in SCHEMA["paths"].items()
    for method in methods
}
PEOPLE = [
    *("chief", "crew", "guest", "coach", "unlinked", "official", "other_official", "steward"),
    *("rival", "stranger", "nobody"),
]
TABLE = """
                                        chi  cre  gue  coa  unl  off  of2  ste  riv  str  nob
get archives                            200  200  200  200  200  200  200  200  200  200  401
post archives                           201  201  403  403  403  403  400  403  403  400  401
get archives/{id}                       200  200  404  404  404  404  404  404  404  404  401
get ballast-checks                      200  200  200  200  200  200  200  200  200  200  401
post ballast-checks                     403  403  403  403  400  201  400  400  400  400  401
get ballast-checks/{id}                 200  200  200  200  404  200  404  200  404  404  401
get ballast-mounts                      200  200  200  200  200  200  200  200  200  200  401
post ballast-mounts                     403  403  403  403  403  403  400  201  403  400  401
get ballast-mounts/{id}                 200  200  200  200  200  200  404  200  200  404  401
get ballast-photos                      200  200  200  200  200  200  200  200  200  200  401
post ballast-photos                     403  403  403  403  400  201  400  403  400  400  401
get ballast-photos/{id}                 200  200  200  200  404  200  404  200  404  404  401
get ballast-photos/{id}/file            200  200  200  200  404  200  404  200  404  404  401
get ballast-pieces                      200  200  200  200  200  200  200  200  200  200  401
post ballast-pieces                     201  201  403  403  403  403  400  403  403  400  401
get ballast-pieces/{id}                 200  200  200  200  404  200  404  404  404  404  401
post ballast-pieces/{id}/move           200  200  403  403  404  403  404  404  404  404  401
post ballast-pieces/{id}/retire         200  200  403  403  404  403  404  404  404  404  401
get baselines                           200  200  200  200  200  200  200  200  200  200  401
post baselines                          403  403  403  403  403  403  400  201  403  400  401
get baselines/{id}                      200  200  200  200  200  200  404  200  200  404  401
post baselines/{id}/copy                403  403  403  403  403  403  404  201  403  404  401
get baselines/{id}/newer                200  200  200  200  200  200  404  200  200  404  401
post baselines/{id}/publish             404  404  404  404  404  404  404  200  404  404  401
get handovers                           200  200  200  200  200  200  200  200  200  200  401
post handovers                          201  403  403  403  400  400  400  400  400  400  401
get handovers/{id}                      200  404  404  404  404  404  404  404  404  404  401
post handovers/{id}/withdraw            200  404  404  404  404  404  404  404  404  404  401
post handovers/{id}/take-back           409  404  404  404  404  404  404  404  404  404  401
post handovers/offered                  200  400  400  400  400  400  400  400  200  400  401
post handovers/preview                  200  403  403  403  400  400  400  400  400  400  401
post handovers/take                     400  403  403  403  403  403  400  403  403  400  401
get school-days                         200  200  200  200  200  200  200  200  200  200  401
post school-days                        403  403  403  201  201  403  400  403  403  400  401
get school-days/{id}                    200  200  200  200  404  404  404  404  404  404  401
put school-days/{id}                    403  403  403  200  404  404  404  404  404  404  401
delete school-days/{id}                 403  403  403  204  404  404  404  404  404  404  401
post school-days/{id}/outings           403  403  403  201  404  404  404  404  404  404  401
post school-days/{id}/show              403  403  403  409  404  404  404  404  404  404  401
post school-days/{id}/hide              403  403  403  200  404  404  404  404  404  404  401
put outings/{id}                        403  403  403  200  404  404  404  404  404  404  401
delete outings/{id}                     403  403  403  204  404  404  404  404  404  404  401
post outings/{id}/move                  403  403  403  409  404  404  404  404  404  404  401
get advice                              200  200  200  200  200  200  200  200  200  200  401
post advice                             403  403  403  201  400  400  400  400  400  400  401
get advice/{id}                         200  200  200  200  404  404  404  404  404  404  401
post advice/{id}/replies                201  201  403  201  404  404  404  404  404  404  401
post advice/{id}/tick-off               200  200  403  200  404  404  404  404  404  404  401
get boards/{id}                         404  404  404  200  404  404  404  404  404  404  401
get baselines/{id}/review               403  403  403  403  403  403  404  200  403  404  401
delete baselines/{id}/values            404  404  404  404  404  404  404  204  404  404  401
get baselines/{id}/values               200  200  200  200  200  200  404  200  200  404  401
put baselines/{id}/values               404  404  404  404  404  404  404  200  404  404  401
get calibration-resets                  200  200  200  200  200  200  200  200  200  200  401
post calibration-resets                 201  201  403  403  400  400  400  400  400  400  401
get calibration-resets/{id}             200  200  200  200  404  404  404  404  404  404  401
get cars                                200  200  200  200  200  200  200  200  200  200  401
post cars                               201  201  403  403  403  403  400  403  403  400  401
get cars/{id}                           200  200  200  200  404  404  404  404  404  404  401
put cars/{id}                           200  200  403  403  404  404  404  404  404  404  401
get cars/{id}/bench-choices             200  200  200  200  404  404  404  404  404  404  401
post cars/{id}/benches                  201  201  403  403  404  404  404  404  404  404  401
get cars/{id}/calibration               200  200  200  200  404  404  404  404  404  404  401
get cars/{id}/drift                     200  200  200  200  404  404  404  404  404  404  401
get cars/{id}/gearing                   200  200  200  200  404  404  404  404  404  404  401
get cars/{id}/now                       200  200  200  200  404  404  404  404  404  404  401
get cars/{id}/springs                   200  200  200  200  404  404  404  404  404  404  401
post cars/{id}/move-to-baseline         200  200  403  403  404  404  404  404  404  404  401
get cars/{id}/pre-check                 200  200  200  200  404  404  404  404  404  404  401
post cars/{id}/put-back                 200  200  403  403  404  404  404  404  404  404  401
post cars/{id}/track-changes            201  201  403  403  404  404  404  404  404  404  401
post cars/{id}/track-readings           201  201  403  403  404  404  404  404  404  404  401
get cars/{id}/back-to-track             200  200  200  200  404  404  404  404  404  404  401
get cars/{id}/history                   200  200  200  200  404  404  404  404  404  404  401
get cars/{id}/what-to-try               200  200  200  200  404  404  404  404  404  404  401
get cars/{id}/own-targets               200  200  200  200  404  404  404  404  404  404  401
get changes                             200  200  200  200  200  200  200  200  200  200  401
post changes                            201  201  403  403  400  400  400  400  400  400  401
get changes/{id}                        200  200  200  200  404  404  404  404  404  404  401
get chassis                             200  200  200  200  200  200  200  200  200  200  401
post chassis                            403  403  403  403  403  403  400  201  403  400  401
get chassis/{id}                        200  200  200  200  200  200  404  200  200  404  401
patch chassis/{id}                      403  403  403  403  403  403  404  200  403  404  401
get club-members                        200  200  200  200  200  200  200  200  200  200  401
delete club-members/{id}                403  403  403  403  204  403  404  204  403  404  401
get club-members/{id}                   200  200  200  200  200  200  404  200  200  404  401
get clubs                               200  200  200  200  200  200  200  200  200  200  401
get clubs/{id}                          200  200  200  200  200  200  404  200  200  404  401
patch clubs/{id}                        403  403  403  403  403  403  404  200  403  404  401
get coach-links                         200  200  200  200  200  200  200  200  200  200  401
post coach-links                        201  403  403  403  403  403  400  403  403  400  401
delete coach-links/{id}                 204  403  403  204  404  404  404  403  404  404  401
get coach-links/{id}                    200  200  200  200  404  404  404  200  404  404  401
patch coach-links/{id}                  200  403  403  403  404  404  404  403  404  404  401
get comments                            200  200  200  200  200  200  200  200  200  200  401
post comments                           201  201  403  201  400  400  400  400  400  400  401
get comments/{id}                       200  200  200  200  404  404  404  404  404  404  401
post compare/prints                     201  201  201  201  400  400  400  400  400  400  401
get compare                             400  400  400  400  400  400  400  400  400  400  401
get draws                               200  200  200  200  200  200  200  200  200  200  401
post draws                              403  403  403  403  403  201  400  403  403  400  401
get draws/{id}                          200  200  200  200  200  200  404  200  200  404  401
get draws/{id}/repeat                   200  200  200  200  200  200  404  200  200  404  401
get driver-weights                      200  200  200  200  200  200  200  200  200  200  401
post driver-weights                     201  201  403  403  400  400  400  400  400  400  401
delete driver-weights/{id}              204  204  404  403  404  404  404  404  404  404  401
get driver-weights/{id}                 200  200  404  200  404  404  404  404  404  404  401
get did-it-help                         400  400  400  400  400  400  400  400  400  400  401
get drivers                             200  200  200  200  200  200  200  200  200  200  401
post drivers                            201  201  403  403  403  403  400  403  403  400  401
delete drivers/{id}                     204  403  403  403  404  404  404  404  404  404  401
get drivers/{id}                        200  200  200  200  404  404  404  404  404  404  401
patch drivers/{id}                      200  200  403  403  404  404  404  404  404  404  401
get drivers/{id}/birth-date             200  200  404  404  404  404  404  404  404  404  401
get drivers/{id}/progress               200  200  403  200  404  404  404  404  404  404  401
get drivers/{id}/seasons                200  200  200  200  404  404  404  404  404  404  401
put drivers/{id}/birth-date             200  200  403  403  404  404  404  404  404  404  401
get entries                             200  200  200  200  200  200  200  200  200  200  401
post entries                            201  201  403  403  400  400  400  400  400  400  401
post entries/walk-in                    403  403  403  403  403  201  400  201  403  400  401
get entries/{id}                        200  200  200  200  404  200  404  200  404  404  401
patch entries/{id}                      200  200  403  403  404  200  404  200  404  404  401
post entries/{id}/confirm               200  200  403  403  404  403  404  403  404  404  401
post entries/{id}/restore               200  200  403  403  404  200  404  200  404  404  401
post entries/{id}/withdraw              200  200  403  403  404  200  404  200  404  404  401
get event-classes                       200  200  200  200  200  200  200  200  200  200  401
post event-classes                      403  403  403  403  403  403  400  201  403  400  401
delete event-classes/{id}               403  403  403  403  403  403  404  204  403  404  401
get event-classes/{id}                  200  200  200  200  200  200  404  200  200  404  401
get events                              200  200  200  200  200  200  200  200  200  200  401
post events                             403  403  403  403  403  403  400  201  403  400  401
get events/{id}                         200  200  200  200  200  200  404  200  200  404  401
get events/{id}/cars-by-number          403  403  403  403  403  200  404  200  403  404  401
get events/{id}/desk                    403  403  403  403  403  200  404  200  403  404  401
post events/{id}/end                    403  403  403  403  403  403  404  200  403  404  401
post events/{id}/publish-findings       403  403  403  403  403  403  404  200  403  404  401
get events/{id}/published-findings      200  200  200  200  200  200  404  200  200  404  401
post events/{id}/records/erased-words   403  403  403  403  403  403  404  400  403  404  401
get events/{id}/records                 403  403  403  403  403  200  404  200  403  404  401
get events/{id}/records/file            403  403  403  403  403  200  404  200  403  404  401
post events/{id}/reopen                 403  403  403  403  403  403  404  409  403  404  401
post events/{id}/start                  403  403  403  403  403  403  404  200  403  404  401
get events/{id}/start-list              200  200  200  200  200  200  404  200  200  404  401
post events/{id}/withhold-findings      403  403  403  403  403  403  404  200  403  404  401
get exports                             200  200  200  200  200  200  200  200  200  200  401
post exports                            201  201  403  201  403  403  400  403  403  400  401
get exports/schema                      200  200  200  200  200  200  200  200  200  200  401
get exports/{id}                        200  404  404  404  404  404  404  404  404  404  401
get exports/{id}/file                   404  404  404  404  404  404  404  404  404  404  401
get findings                            200  200  200  200  200  200  200  200  200  200  401
get findings/{id}                       200  200  200  200  404  200  404  200  404  404  401
get imports                             200  200  200  200  200  200  200  200  200  200  401
post imports                            201  201  403  403  403  403  400  403  403  400  401
get imports/{id}                        200  200  404  404  404  404  404  404  404  404  401
put imports/{id}/columns                200  200  404  404  404  404  404  404  404  404  401
post imports/{id}/confirm               200  200  404  404  404  404  404  404  404  404  401
post imports/{id}/drop                  200  200  404  404  404  404  404  404  404  404  401
get imports/{id}/preview                200  200  404  404  404  404  404  404  404  404  401
post imports/{id}/withdraw              409  409  404  404  404  404  404  404  404  404  401
get invitations                         200  200  200  200  200  200  200  200  200  200  401
post invitations                        201  403  403  403  403  403  400  403  403  400  401
post invitations/accept                 409  409  409  200  200  200  200  200  200  200  401
get invitations/{id}                    200  404  404  404  404  404  404  200  404  404  401
post invitations/{id}/withdraw          200  404  404  404  404  404  404  200  404  404  401
get me                                  200  200  200  200  200  200  200  200  200  200  401
patch me                                200  200  200  200  200  200  200  200  200  200  401
get me/sign-ins                         200  200  200  200  200  200  200  200  200  200  401
delete me/sign-ins/{id}                 204  404  404  404  404  404  404  404  404  404  401
get me/tokens                           200  200  200  200  200  200  200  200  200  200  401
post me/tokens                          201  201  201  201  201  201  201  201  201  201  401
delete me/tokens/{id}                   204  404  404  404  404  404  404  404  404  404  401
get me/tokens/{id}                      200  404  404  404  404  404  404  404  404  404  401
get measures                            200  200  200  200  200  200  200  200  200  200  401
get measures/{slug}                     200  200  200  200  200  200  200  200  200  200  401
get part-limits                         200  200  200  200  200  200  200  200  200  200  401
post part-limits                        201  201  403  403  403  403  400  403  403  400  401
get part-limits/{id}                    200  200  200  404  404  404  404  404  404  404  401
delete part-limits/{id}                 204  204  403  404  404  404  404  404  404  404  401
get parts/{id}/life                     200  200  200  404  404  404  404  404  404  404  401
put parts/{id}/start                    200  200  403  404  404  404  404  404  404  404  401
get cars/{id}/drift/by-part             200  200  200  403  404  404  404  404  404  404  401
get cars/{id}/drift/by-track            200  200  200  200  404  404  404  404  404  404  401
get drivers/{id}/ballast-forecast       200  200  403  200  404  404  404  404  404  404  401
get parts                               200  200  200  200  200  200  200  200  200  200  401
post parts                              201  201  403  403  403  403  400  403  403  400  401
get parts/{id}                          200  200  200  404  404  404  404  404  404  404  401
put parts/{id}/code                     200  200  403  404  404  404  404  404  404  404  401
get plans                               200  200  200  200  200  200  200  200  200  200  401
post plans                              201  201  403  403  400  400  400  400  400  400  401
get plans/{id}                          200  200  200  200  404  404  404  404  404  404  401
get own-targets                         200  200  200  200  200  200  200  200  200  200  401
post own-targets                        201  201  403  403  400  400  400  400  400  400  401
get own-targets/{id}                    200  200  200  200  404  404  404  404  404  404  401
post own-targets/{id}/withdraw          200  200  403  403  404  404  404  404  404  404  401
get prints                              200  200  200  200  200  200  200  200  200  200  401
post prints                             201  201  201  201  201  201  404  201  201  404  401
get prints/{id}                         200  404  404  404  404  404  404  404  404  404  401
get prints/{id}/file                    404  404  404  404  404  404  404  404  404  404  401
get race-classes                        200  200  200  200  200  200  200  200  200  200  401
post race-classes                       403  403  403  403  403  403  400  201  403  400  401
get race-classes/{id}                   200  200  200  200  200  200  404  200  200  404  401
get readings                            200  200  200  200  200  200  200  200  200  200  401
get readings/{id}                       200  200  200  200  404  404  404  404  404  404  401
get rule-kinds                          200  200  200  200  200  200  200  200  200  200  401
get rule-sets                           200  200  200  200  200  200  200  200  200  200  401
post rule-sets                          403  403  403  403  403  403  400  201  403  400  401
get rule-sets/{id}                      200  200  200  200  200  200  404  200  200  404  401
put rule-sets/{id}                      403  403  403  403  403  403  404  200  403  404  401
get rule-sets/{id}/changes              200  200  200  200  200  200  404  200  200  404  401
post rule-sets/{id}/publish             403  403  403  403  403  403  404  200  403  404  401
post rule-sets/{id}/retire              403  403  403  403  403  403  404  200  403  404  401
get rules                               200  200  200  200  200  200  200  200  200  200  401
post rules                              403  403  403  403  403  403  400  201  403  400  401
delete rules/{id}                       403  403  403  403  403  403  404  204  403  404  401
get rules/{id}                          200  200  200  200  200  200  404  200  200  404  401
put rules/{id}                          403  403  403  403  403  403  404  200  403  404  401
get runs                                200  200  200  200  200  200  200  200  200  200  401
post runs                               201  201  403  403  400  400  400  400  400  400  401
get runs/{id}                           200  200  200  200  404  404  404  404  404  404  401
put runs/{id}/details                   200  200  403  403  404  404  404  404  404  404  401
put runs/{id}/entry                     200  200  403  403  404  404  404  404  404  404  401
put runs/{id}/feel                      200  200  403  403  404  404  404  404  404  404  401
get runs/{id}/laps                      200  200  200  200  404  404  404  404  404  404  401
put runs/{id}/laps                      200  200  403  403  404  404  404  404  404  404  401
get runs/{id}/parts                     200  200  200  403  404  404  404  404  404  404  401
put runs/{id}/parts                     200  200  403  403  404  404  404  404  404  404  401
get runs/{id}/readings                  200  200  200  200  404  404  404  404  404  404  401
put runs/{id}/readings                  200  200  403  403  404  404  404  404  404  404  401
post runs/{id}/strike                   200  200  403  403  404  404  404  404  404  404  401
get scale-checks                        200  200  200  200  200  200  200  200  200  200  401
post scale-checks                       403  403  403  403  403  201  400  403  403  400  401
get scale-checks/{id}                   200  200  200  200  200  200  404  200  200  404  401
get scale-sets                          200  200  200  200  200  200  200  200  200  200  401
post scale-sets                         403  403  403  403  403  403  400  201  403  400  401
get scale-sets/{id}                     200  200  200  200  200  200  404  200  200  404  401
post scale-sets/{id}/corrections        403  403  403  403  403  403  404  200  403  404  401
get sheets                              200  200  200  200  200  200  200  200  200  200  401
post sheets                             201  201  403  403  400  400  400  400  400  400  401
get sheets/{id}/at-track                200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}                         200  200  200  200  404  404  404  404  404  404  401
put sheets/{id}                         200  200  403  403  404  404  404  404  404  404  401
post sheets/{id}/ballast                201  201  403  403  404  404  404  404  404  404  401
post sheets/{id}/ballast/taken-back     409  409  403  403  404  404  404  404  404  404  401
get sheets/{id}/way-back                200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/ballast-plans           200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/bench                   200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/bench/{step}            200  200  200  200  404  404  404  404  404  404  401
post sheets/{id}/block-marks            201  201  403  403  404  404  404  404  404  404  401
get sheets/{id}/block-marks             200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/boxes                   200  200  200  200  404  404  404  404  404  404  401
post sheets/{id}/boxes                  200  200  403  403  404  404  404  404  404  404  401
put sheets/{id}/boxes/{box}             200  200  403  403  404  404  404  404  404  404  401
post sheets/{id}/boxes/{box}/same-again  201  201  403  403  404  404  404  404  404  404  401
post sheets/{id}/boxes/{box}/undo       201  201  403  403  404  404  404  404  404  404  401
post sheets/{id}/close                  200  200  403  403  404  404  404  404  404  404  401
post sheets/{id}/correct                201  201  403  403  404  404  404  404  404  404  401
post sheets/{id}/follow                 201  201  403  403  404  404  404  404  404  404  401
get sheets/{id}/lead                    200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/parts                   200  200  200  403  404  404  404  404  404  404  401
put sheets/{id}/parts                   200  200  403  403  404  404  404  404  404  404  401
post sheets/{id}/readings               200  200  403  403  404  404  404  404  404  404  401
post sheets/{id}/rods                   409  409  403  403  404  404  404  404  404  404  401
get sheets/{id}/rods                    200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/trail                   200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/turn-plans              200  200  200  200  404  404  404  404  404  404  401
get sheets/{id}/what-if                 200  200  200  200  404  404  404  404  404  404  401
get steps                               200  200  200  200  200  200  200  200  200  200  401
get steps/{slug}                        200  200  200  200  200  200  200  200  200  200  401
get suggestion-tables                   200  200  200  200  200  200  200  200  200  200  401
post suggestion-tables                  403  403  403  403  403  403  400  201  403  400  401
delete suggestion-tables/{id}           404  404  404  404  404  404  404  204  404  404  401
get suggestion-tables/{id}              200  200  200  200  200  200  404  200  200  404  401
post suggestion-tables/{id}/publish     404  404  404  404  404  404  404  200  404  404  401
post suggestion-tables/{id}/retire      403  403  403  403  403  403  404  200  403  404  401
get suggestion-tables/{id}/suggestions  200  200  200  200  200  200  404  200  200  404  401
post suggestion-tables/{id}/suggestions 404  404  404  404  404  404  404  201  404  404  401
delete suggestions/{id}                 404  404  404  404  404  404  404  204  404  404  401
post suggestions/{id}/move              404  404  404  404  404  404  404  200  404  404  401
get suggestions/{id}                    404  404  404  404  404  404  404  200  404  404  401
put suggestions/{id}                    404  404  404  404  404  404  404  200  404  404  401
get team-members                        200  200  200  200  200  200  200  200  200  200  401
delete team-members/{id}                204  403  204  403  404  404  404  403  404  404  401
get team-members/{id}                   200  200  200  200  404  404  404  200  404  404  401
patch team-members/{id}                 200  403  403  403  404  404  404  403  404  404  401
get teams                               200  200  200  200  200  200  200  200  200  200  401
post teams                              403  403  403  403  403  403  400  201  403  400  401
get teams/{id}                          200  200  200  200  200  200  404  200  200  404  401
get teams/{id}/results                  200  200  200  200  403  200  404  200  403  404  401
get tech-readings                       200  200  200  200  200  200  200  200  200  200  401
post tech-readings                      403  403  403  403  400  201  400  403  400  400  401
get tech-readings/{id}                  200  200  200  200  404  200  404  200  404  404  401
get track-changes                       200  200  200  200  200  200  200  200  200  200  401
get track-changes/{id}                  200  200  200  200  404  404  404  404  404  404  401
post track-changes/{id}/take-back       200  200  403  403  404  404  404  404  404  404  401
get track-readings                      200  200  200  200  200  200  200  200  200  200  401
get track-readings/{id}                 200  200  200  200  404  404  404  404  404  404  401
get tracks                              200  200  200  200  200  200  200  200  200  200  401
post tracks                             403  403  403  403  403  403  400  201  403  400  401
get tracks/{id}                         200  200  200  200  200  200  404  200  200  404  401
put tracks/{id}                         403  403  403  403  403  403  404  200  403  404  401
get voids                               200  200  200  200  200  200  200  200  200  200  401
post voids                              403  403  403  403  400  201  400  403  400  400  401
get voids/{id}                          200  200  200  200  404  200  404  200  404  404  401
get weather                             200  200  200  200  200  200  200  200  200  200  401
post weather                            201  201  403  403  403  403  400  403  403  400  401
get weather/{id}                        200  200  200  200  404  404  404  404  404  404  401
put weather/{id}/correct                200  200  403  403  404  404  404  404  404  404  401
get weigh-ins                           200  200  200  200  200  200  200  200  200  200  401
post weigh-ins                          403  403  403  403  400  201  400  403  400  400  401
get weigh-ins/{id}                      200  200  200  200  404  200  404  200  404  404  401
"""
# Lists that hold something for somebody who is of no club.
FOR_ANYBODY = {"get steps", "get measures", "get rule-kinds"}


def rows() -> dict[str, dict[str, int]]:
    """The table: answers by operation."""
    found = {}
    for line in TABLE.splitlines()[2:]:
        method, path, *codes = line.split()
        found[f"{method} {path}"] = dict(zip(PEOPLE, map(int, codes), strict=True))
    return found


ANSWERS = rows()

ID: dict[str, Callable[[World], Any]] = {
    "ballast-checks": lambda w: w.check.pk,
    "ballast-mounts": lambda w: w.mount.pk,
    "archives": lambda w: w.imported.pk,
    "ballast-photos": lambda w: w.photo.pk,
    "ballast-pieces": lambda w: w.meeting.piece.pk,
    "baselines": lambda w: w.draft.pk,
    "calibration-resets": lambda w: w.reset.pk,
    "cars": lambda w: w.car.pk,
    "changes": lambda w: w.change.pk,
    "chassis": lambda w: w.chassis.pk,
    "club-members": lambda w: w.member("unlinked_coach").pk,
    "advice": lambda w: w.advice.pk,
    "school-days": lambda w: w.school_day.pk,
    "outings": lambda w: w.outing.pk,
    "handovers": lambda w: w.handover.pk,
    "imports": lambda w: w.import_draft.pk,
    "boards": lambda w: w.chassis.pk,
    "clubs": lambda w: w.people.club.pk,
    "coach-links": lambda w: w.link().pk,
    "comments": lambda w: w.comment.pk,
    "draws": lambda w: w.draw.pk,
    "driver-weights": lambda w: w.weight.pk,
    "drivers": lambda w: w.driver.pk,
    "entries": lambda w: w.meeting.entry.pk,
    "event-classes": lambda w: w.next_class.pk,
    "events": lambda w: w.meeting.event.pk,
    "exports": lambda w: w.export.pk,
    "findings": lambda w: w.finding.pk,
    "invitations": lambda w: w.invitation.pk,
    "measures": lambda w: "wheelbase",
    "me": lambda w: w.token.pk,
    "part-limits": lambda w: w.part_limit.pk,
    "parts": lambda w: w.part.pk,
    "plans": lambda w: w.plan.pk,
    "own-targets": lambda w: w.own_target.pk,
    "prints": lambda w: w.job.pk,
    "race-classes": lambda w: w.race_class.pk,
    "readings": lambda w: w.reading.pk,
    "rule-sets": lambda w: w.rule_draft.pk,
    "rules": lambda w: w.rule.pk,
    "runs": lambda w: w.run.pk,
    "scale-checks": lambda w: w.scale_check.pk,
    "scale-sets": lambda w: w.meeting.scales.pk,
    "sheets": lambda w: w.sheet.pk,
    "steps": lambda w: "tyres",
    "suggestion-tables": lambda w: w.club_table.pk,
    "suggestions": lambda w: w.club_draft_row.pk,
    "team-members": lambda w: w.member("guest").pk,
    "teams": lambda w: w.people.team.pk,
    "tech-readings": lambda w: w.tech_reading.pk,
    "track-changes": lambda w: w.track_change.pk,
    "track-readings": lambda w: w.track_reading.pk,
    "tracks": lambda w: w.track.pk,
    "voids": lambda w: w.void.pk,
    "weather": lambda w: w.weather.pk,
    "weigh-ins": lambda w: w.weigh_in.pk,
}
# Where another row than the usual one lets the decision be about who asks.
ID_OF: dict[str, Callable[[World], Any]] = {
    "get baselines/{id}": lambda w: w.baseline.pk,
    "get baselines/{id}/values": lambda w: w.baseline.pk,
    "get baselines/{id}/newer": lambda w: w.baseline.pk,
    "get baselines/{id}/review": lambda w: w.baseline.pk,
    "post baselines/{id}/copy": lambda w: w.baseline.pk,
    "get sheets/{id}/way-back": lambda w: w.was_set.pk,
    "post cars/{id}/benches": lambda w: w.plain_car.pk,
    "post cars/{id}/move-to-baseline": lambda w: w.plain_car.pk,
    "delete me/sign-ins/{id}": lambda w: w.sign_in().pk,
    "post entries/{id}/confirm": lambda w: walk_in_entry(w).pk,
    "post entries/{id}/restore": lambda w: w.withdrawn.pk,
    "post events/{id}/start": lambda w: w.next_event.pk,
    "post rule-sets/{id}/retire": lambda w: w.rule_set.pk,
    "delete suggestion-tables/{id}": lambda w: w.club_draft.pk,
    "post suggestion-tables/{id}/publish": lambda w: w.club_draft.pk,
    "post suggestion-tables/{id}/suggestions": lambda w: w.club_draft.pk,
    "get sheets/{id}/turn-plans": lambda w: w.bench.pk,
    "get sheets/{id}/what-if": lambda w: w.bench.pk,
    "post sheets/{id}/correct": lambda w: w.closed.pk,
    "post sheets/{id}/follow": lambda w: w.closed.pk,
}
# The second name in an address.
INNER = {"step": "ride-heights", "box": "caster.right"}
QUERY: dict[str, str] = {
    "get cars/{id}/gearing": "?driving=11&driven=66",
    "get events/{id}/cars-by-number": "?number=27",
    "get sheets/{id}/ballast-plans": "?minimum=320&margin=1&fuel_now=0",
    "get sheets/{id}/lead": "?radius=48%20ft",
    "get sheets/{id}/rods": "?threads=24&upper=3&lower=3",
    "get events/{id}/records/file": "?kind=csv",
    "get sheets/{id}/what-if": "?turns=1,0,0,0",
    "delete baselines/{id}/values": "?measure=wheelbase&spot=left",
}
LOOSE = {
    **{"balance": "loose", "place": "exit", "adjuster": "spring-seat", "spot": "LR"},
    **{"amount": "0.5", "unit": "turn", "why": "It drives.", "minutes": 3, "source": "club"},
}
BODY: dict[str, Callable[[World], Any]] = {
    "post events/{id}/start": lambda w: {"another_day": True},
    "post exports": lambda w: {"team": w.people.team.pk},
    "post ballast-checks": lambda w: {
        **{"entry": w.meeting.entry.pk, "label_legible": True, "label": "27", "fixed": True},
        "piece": w.meeting.piece.pk,
    },
    "post ballast-mounts": lambda w: {
        **{"chassis": w.chassis.pk, "name": "New", "x": "20", "y": "9", "capacity": "20"}
    },
    "post archives": lambda w: {
        "team": w.people.team.pk,
        "file": empty_archive("2026-03-15T12:00:00Z"),
    },
    "post ballast-photos": lambda w: {"ballast_check": w.check.pk, "photo": jpeg()},
    "post ballast-pieces": lambda w: {
        **{"team": w.people.team.pk, "label": "7", "marked_mass": "4 lb"}
    },
    "post ballast-pieces/{id}/move": lambda w: {"car": None},
    "post baselines": lambda w: {"chassis": w.chassis.pk, "surface": "dirt"},
    "put baselines/{id}/values": lambda w: [
        {
            **{"measure": "wheelbase", "spot": "right", "target": "46 3/4", "tolerance": "1/8"},
            "source": "club",
        }
    ],
    "post compare/prints": lambda w: {"sheets": [w.sheet.pk, w.target.pk]},
    "post handovers": lambda w: {"car": w.free_car.pk, "history": "none"},
    "post handovers/preview": lambda w: {"car": w.plain_car.pk, "history": "set"},
    "post handovers/offered": lambda w: {"code": w.handover_code},
    "post handovers/take": lambda w: {
        **{"code": w.handover_code, "team": w.people.team.pk, "number": "90"},
        "chassis": w.chassis.pk,
    },
    "post imports": lambda w: {
        "team": w.people.team.pk,
        "kind": "runs",
        "file": b"Date,Time\n2026-03-15,10:20\n",
    },
    "put imports/{id}/columns": lambda w: {"columns": ["car", "date", "time"]},
    "post school-days": lambda w: {
        "club": w.people.club.pk,
        "day": "2027-01-09",
        "name": "First evening",
    },
    "put school-days/{id}": lambda w: {"day": "2027-01-09", "name": "First evening"},
    "post school-days/{id}/outings": lambda w: {"car": w.car.pk},
    "put outings/{id}": lambda w: {"note": "Six laps."},
    "post outings/{id}/move": lambda w: {"way": "earlier"},
    "post advice": lambda w: {"car": w.car.pk, "text": "Look at the right front spindle."},
    "post advice/{id}/replies": lambda w: {"text": "We will."},
    "post baselines/{id}/copy": lambda w: {"note": "Again."},
    "post calibration-resets": lambda w: {"car": w.car.pk, "reason": "Another frame."},
    "post cars": lambda w: {"number": "9", "team": w.people.team.pk, "chassis": w.chassis.pk},
    "put cars/{id}": lambda w: {"number": "8", "chassis": w.chassis.pk},
    "post cars/{id}/benches": lambda w: {"role": "found", "surface": "paved"},
    "post cars/{id}/move-to-baseline": lambda w: {"baseline": w.baseline.pk},
    "post cars/{id}/put-back": lambda w: {"changes": [w.track_change.pk]},
    "post cars/{id}/track-changes": lambda w: {
        **{"adjuster": "spring-seat", "spot": "RF", "amount": "0.5", "unit": "turn"}
    },
    "post cars/{id}/track-readings": lambda w: {
        "readings": [{"measure": "pressure", "spot": "RF", "typed": "11.5"}]
    },
    "post changes": lambda w: {
        **{"sheet": w.sheet.pk, "adjuster": "panhard-rod", "spot": "front"},
        **{"amount": "1", "unit": "turn"},
    },
    "post chassis": lambda w: {"club": w.people.club.pk, "name": "New"},
    "patch chassis/{id}": lambda w: {"note": "Other."},
    "patch clubs/{id}": lambda w: {"preferred_units": {"length": "mm"}},
    "post coach-links": lambda w: {
        "team": w.people.team.pk,
        "coach": w.people.unlinked_coach.pk,
    },
    "patch coach-links/{id}": lambda w: {"may_write": True},
    "post comments": lambda w: {"sheet": w.sheet.pk, "text": "Well read."},
    "post draws": lambda w: {
        **{"event": w.meeting.event.pk, "seed": "9 9 1", "count": 1, "purpose": "Ballast check"}
    },
    "post events/{id}/records/erased-words": lambda w: {"line": 10**6},
    "post driver-weights": lambda w: {
        **{"driver": w.driver.pk, "weighed_on": "2026-04-01", "mass": "79 lb"}
    },
    "post drivers": lambda w: {"team": w.people.team.pk, "display_name": "New"},
    "patch drivers/{id}": lambda w: {"display_name": "Other"},
    "put drivers/{id}/birth-date": lambda w: {"birth_date": "2015-05-05"},
    "post entries": lambda w: {
        **{"event_class": w.meeting.event_class.pk, "car": w.car.pk, "driver": w.driver.pk}
    },
    "patch entries/{id}": lambda w: {"number": "72"},
    "post entries/walk-in": lambda w: {
        **{"event_class": w.meeting.event_class.pk, "car_number": "7"},
        **{"car_id": w.car.pk},
    },
    "delete me/sign-ins/{id}": lambda w: w.sign_in().pk,
    "post entries/{id}/confirm": lambda w: {"driver": w.driver.pk},
    "post event-classes": lambda w: {
        "event": w.next_event.pk,
        "race_class": w.spare_class.pk,
    },
    "post events": lambda w: {
        **{"club": w.people.club.pk, "track": w.track.pk, "name": "August Meeting"},
        **{"starts_on": "2026-08-01", "ends_on": "2026-08-02"},
    },
    "post invitations": lambda w: {
        **{"club": w.people.club.pk, "team": w.people.team.pk, "role": "guest"}
    },
    "post invitations/accept": lambda w: {"secret": w.secret},
    "patch me": lambda w: {"name": "Other"},
    "post me/tokens": lambda w: {"name": "New", "scopes": ["read"]},
    "post parts": lambda w: {"team": w.people.team.pk, "sort": "tyre", "code": "N-1"},
    "post part-limits": lambda w: {
        **{"team": w.people.team.pk, "sort": "tyre", "per": "laps", "most": "1400"}
    },
    "put parts/{id}/start": lambda w: {"nights": 3},
    "put parts/{id}/code": lambda w: {"code": "N-2"},
    "post plans": lambda w: {
        "sheet": w.bench.pk,
        "turns": {"LF": "1", "RF": "0", "LR": "0", "RR": "0"},
        "seen": "anything",
    },
    "post own-targets": lambda w: {
        **{"car": w.car.pk, "measure": "toe", "spot": "front", "target": "1/16"},
        **{"tolerance": "1/32", "reason": "It wanders less."},
    },
    "post own-targets/{id}/withdraw": lambda w: {"reason": "It was the tyre."},
    "post prints": lambda w: {"document": "test-team-card", "subject_id": w.people.team.pk},
    "post race-classes": lambda w: {"club": w.people.club.pk, "name": "New"},
    "post rule-sets": lambda w: {"race_class": w.race_class.pk, "valid_from": "2028-01-01"},
    "put rule-sets/{id}": lambda w: {"valid_from": "2028-01-01"},
    "post rules": lambda w: {
        **{"rule_set": w.rule_draft.pk, "kind": "left_limit", "parameters": {"at_most": "58"}}
    },
    "put rules/{id}": lambda w: {"parameters": {"weight_marked": False}},
    "post runs": lambda w: {
        **{"car": w.car.pk, "kind": "heat", "finish": 3, "driver": w.driver.pk, "fuel": "0.5 gal"},
        "laps": {"times": ["7.412"], "timed_by": "transponder"},
    },
    "put runs/{id}/details": lambda w: {"kind": "main", "seen": w.run_details.pk},
    "put runs/{id}/entry": lambda w: {"entry": w.withdrawn.pk},
    "put runs/{id}/feel": lambda w: {"said_by": "handler", "exit": "loose", "seen": None},
    "put runs/{id}/laps": lambda w: {
        **{"times": ["7.5"], "marks": ["spin"], "timed_by": "hand", "seen": w.laps.pk}
    },
    "put runs/{id}/parts": lambda w: {
        "parts": [{"sort": "spring", "spot": "RF", "part": w.part.pk, "seen": None}]
    },
    "put runs/{id}/readings": lambda w: {
        "readings": [{"measure": "pressure", "spot": "RF", "typed": "13", "seen": None}]
    },
    "post runs/{id}/strike": lambda w: {"reason": "Noted twice."},
    "post scale-checks": lambda w: {
        "scale_set": w.meeting.platform.pk,
        "pads_level": True,
        "loads": [{"pad": "car", "reference": "100 kg", "indicated": "100 kg"}],
    },
    "post scale-sets/{id}/corrections": lambda w: {"applied": True},
    "post scale-sets": lambda w: {
        **{"club": w.people.club.pk, "name": "New", "division": "0.1 kg", "pads": 1}
    },
    "post sheets": lambda w: {"car": w.plain_car.pk, "role": "found", "surface": "paved"},
    "put sheets/{id}": lambda w: {"made_on": "2026-03-15", "surface": "paved"},
    # No bar has been read there: the right people are told so, and nobody else gets as far.
    "post sheets/{id}/rods": lambda w: {
        "turns": [{"side": "left", "rod": "upper", "turns": "0.5"}],
        "seen": "anything",
    },
    "post sheets/{id}/block-marks": lambda w: {
        **{"side": "left", "marks": ["2", "1"]},
        "seen": "anything",
    },
    "post sheets/{id}/ballast": lambda w: {
        "moves": [{"piece": w.shelf.pk, "mount": w.mount.pk}],
        "seen": "anything",
    },
    "post sheets/{id}/boxes": lambda w: {
        "boxes": [{"box": "caster.left", "typed": "5", "seen": None}]
    },
    "put sheets/{id}/boxes/{box}": lambda w: {"typed": "6", "seen": w.twice.pk},
    "post sheets/{id}/boxes/{box}/same-again": lambda w: {"seen": w.twice.pk},
    "post sheets/{id}/boxes/{box}/undo": lambda w: {"seen": w.twice.pk},
    "post sheets/{id}/correct": lambda w: {"reason": "Misread."},
    "put sheets/{id}/parts": lambda w: {
        "parts": [{"sort": "spring", "spot": "RF", "part": w.part.pk, "seen": None}]
    },
    "post sheets/{id}/readings": lambda w: {
        "readings": [{"measure": "caster", "spot": "left", "typed": "5", "seen": "anything"}]
    },
    "post suggestion-tables": lambda w: {"club": w.people.club.pk, "begin": "starter"},
    "post suggestion-tables/{id}/publish": lambda w: {"note": "Another row."},
    "post suggestion-tables/{id}/suggestions": lambda w: LOOSE,
    "post suggestions/{id}/move": lambda w: {"way": "down"},
    "put suggestions/{id}": lambda w: LOOSE,
    "patch team-members/{id}": lambda w: {"role": "crew"},
    "post teams": lambda w: {"club": w.people.club.pk, "name": "New"},
    "post tech-readings": lambda w: {
        **{"entry": w.meeting.entry.pk, "measure": "wheelbase", "spot": "right"},
        "length": "46 3/4",
    },
    "post tracks": lambda w: {"club": w.people.club.pk, "name": "New", "surface": "dirt"},
    "put tracks/{id}": lambda w: {"name": "Other", "surface": "dirt"},
    "post voids": lambda w: {"weigh_in": w.weigh_in.pk, "reason": "A wheel was off the pad."},
    "post weather": lambda w: {
        **{"team": w.people.team.pk, "temperature": "68 F", "humidity": "55"},
        **{"pressure": "1013 hPa", "pressure_of": "sea-level", "altitude": "900 ft"},
    },
    "put weather/{id}/correct": lambda w: {
        **{"temperature": "70 F", "humidity": "50"},
        **{"pressure": "990 hPa", "pressure_of": "place"},
    },
    "post weigh-ins": lambda w: {
        **{"entry": w.meeting.entry.pk, "scale_set": w.meeting.platform.pk, "stage": "entry"},
        **{"driver_in": True, "total": "322 lb"},
    },
}


def path_of(operation: str, world: World) -> str:
    """The address with the world's row in it."""
    path = operation.split()[1]
    find = ID_OF.get(operation) or ID[path.split("/")[0]] if "{" in path else lambda w: ""
    filled = path.replace("{id}", str(find(world))).replace("{slug}", str(find(world)))
    for name, inner in INNER.items():
        filled = filled.replace(f"{{{name}}}", inner)
    return BASE + filled + QUERY.get(operation, "")


def written(body: Any) -> dict[str, Any]:
    """The body as JSON; as a form where there is a file in it."""
    named = body.items() if isinstance(body, dict) else ()
    files = {name for name, value in named if isinstance(value, bytes)}
    if not files:
        text = json.dumps(body, default=str)
        return {"data": text, "content_type": "application/json"}
    parts = {
        name: SimpleUploadedFile(f"{name}.jpg", value) if name in files else str(value)
        for name, value in body.items()
    }
    return {"data": encode_multipart(BOUNDARY, parts), "content_type": MULTIPART_CONTENT}


def ask(client: Client, operation: str, world: World, **headers: str) -> Any:
    """Sends it; whatever it does is undone."""
    body = BODY.get(operation, lambda w: None)(world)
    sent = {"content_type": "application/json"} if body is None else written(body)
    count(PAIRS)
    with undone():
        return client.generic(
            operation.split(maxsplit=1)[0].upper(),
            path_of(operation, world),
            headers=headers,
            **sent,
        )


@pytest.fixture(scope="module")
def clients(world: World) -> dict[str, Client]:
    """Everybody's session."""
    found = {}
    for name, person in world.who().items():
        found[name] = browser_of(person) if person is not None else Client()
    return found


def secret_of(world: World, *scopes: str) -> tuple[ApiToken, str]:
    """A token of the chief's."""
    chief = world.people.chief
    with viewing_as(chief.pk):
        return make_token(by=chief, name="Test", scopes=scopes, days=1)


def test_the_table_names_every_operation() -> None:
    assert set(ANSWERS) == OPERATIONS


@pytest.mark.parametrize("operation", ANSWERS)
def test_a_stranger_finds_nothing_and_nobody_is_told_to_sign_in(operation: str) -> None:
    """The rule of the house, held against the table itself."""
    answers = ANSWERS[operation]
    assert answers["nobody"] == 401
    own = operation.split()[1].startswith(("me", "invitations/accept"))
    if "{" in operation and not operation.startswith(tuple(FOR_ANYBODY)):
        assert answers["stranger"] == 404
    elif not operation.startswith("get") and not own:
        assert answers["stranger"] in {400, 403, 404}


@pytest.mark.parametrize("operation", ANSWERS)
def test_it_answers(operation: str, world: World, clients: dict[str, Client]) -> None:
    answers = {who: ask(clients[who], operation, world) for who in PEOPLE}
    assert {who: a.status_code for who, a in answers.items()} == ANSWERS[operation]
    for who, answer in answers.items():
        if answer.status_code >= 400:
            assert answer.headers["Content-Type"] == MEDIA_TYPE, who
            assert answer.json()["status"] == answer.status_code
            assert answer.json()["detail"]


@pytest.mark.parametrize(
    "operation",
    [
        o
        for o in ANSWERS
        if o.startswith("get")
        and "{" not in o
        and o not in {"get me", "get did-it-help", "get compare", "get exports/schema"}
    ],
)
def test_a_list_is_empty_for_a_stranger(
    operation: str, world: World, clients: dict[str, Client]
) -> None:
    found = ask(clients["stranger"], operation, world).json()
    rows = found["results"] if isinstance(found, dict) else found
    assert bool(rows) == (operation in FOR_ANYBODY)


# Done by somebody who has just shown once more who it is; a token cannot.
ASK_AGAIN = {"post me/tokens", "delete drivers/{id}"}


@pytest.mark.parametrize("operation", ANSWERS)
def test_a_token_does_what_its_scopes_say(operation: str, world: World) -> None:
    """To read it takes `read`, to write `write`, around prints `print`; each alone."""
    method, path = operation.split()
    prints = path.startswith("prints") or path.endswith("/prints")
    needed = "print" if prints else "read" if method == "get" else "write"
    for scope in ApiToken.Scope.values:
        with undone():
            _, secret = secret_of(world, scope)
            answer = ask(Client(), operation, world, authorization=f"Bearer {secret}")
        if scope != needed:
            assert answer.status_code == 403, scope
        elif operation in ASK_AGAIN:
            assert answer.status_code == 403, "a token makes no token and erases nobody"
        else:
            assert answer.status_code == ANSWERS[operation]["chief"], scope


def test_a_token_that_is_over_or_unknown_opens_nothing(world: World) -> None:
    with undone():
        ended, secret = secret_of(world, "read")
        expired, old_secret = secret_of(world, "read")
        with viewing_as(world.people.chief.pk):
            end_token(by=world.people.chief, token=ended)
        bend(expired, expires_at=timezone.now() - timedelta(days=1))
        for wrong in (secret, old_secret, "not-a-token", ""):
            answer = ask(Client(), "get me", world, authorization=f"Bearer {wrong}")
            assert answer.status_code == 401
            assert answer.headers["Content-Type"] == MEDIA_TYPE
            assert answer.headers["WWW-Authenticate"].startswith("Bearer")


def test_a_token_of_somebody_who_left_opens_nothing(world: World) -> None:
    chief = world.people.chief
    with undone():
        _, secret = secret_of(world, "read")
        close_account(chief)
        answer = ask(Client(), "get me", world, authorization=f"Bearer {secret}")
        assert answer.status_code == 401


CREATES = sorted(
    f"post {path.removeprefix(BASE)}"
    for path, methods in SCHEMA["paths"].items()
    if "{" not in path and {"200", "201"} <= set(methods.get("post", {}).get("responses", {}))
)


# Another content; a note, sent where there is none, is one too.
OTHER: dict[str, dict[str, Any]] = {
    operation: {field: text}
    for field, text, operations in (
        ("name", "Another", "events me/tokens race-classes scale-sets teams tracks"),
        ("label", "Another", "ballast-pieces"),
        ("number", "98", "cars"),
        ("history", "set", "handovers"),
        ("reason", "Another.", "calibration-resets own-targets voids"),
        ("text", "Another.", "comments"),
    )
    for operation in (f"post {path}" for path in operations.split())
}


@pytest.mark.parametrize("operation", CREATES)
def test_sent_twice_it_is_made_once(
    operation: str, world: World, clients: dict[str, Client]
) -> None:
    """The same again gives the same row; other content, or another person, gives 409."""
    may = [who for who in PEOPLE if ANSWERS[operation][who] == 201]
    client = clients[may[0]]
    body = {**BODY[operation](world), "id": str(new_id())}

    def send(by: Client, **changed: Any) -> Any:
        return by.generic("POST", path_of(operation, world), **written({**body, **changed}))

    def count() -> int:
        # What a comparison prints stands among the prints.
        path = path_of(operation, world).replace("compare/prints", "prints")
        answer = client.get(f"{path}?page_size=200")
        return len(answer.json()["results"])

    with undone():
        before = count()
        made, again = send(client), send(client)
        assert (made.status_code, again.status_code) == (201, 200)
        assert made.json()["id"] == again.json()["id"] == body["id"]
        assert count() == before + 1
        assert send(client, **OTHER.get(operation, {"note": "Another."})).status_code == 409
        for who in may[1:]:
            assert send(clients[who]).status_code == 409, who
        assert count() == before + 1
