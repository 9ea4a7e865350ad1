"""The mechanics of a small solid-axle oval car: plain Python, numpy and scipy, no I/O.

Lengths mm, masses and loads kg, rates N/mm, angles degrees unless a docstring says
otherwise; corners always LF, RF, LR, RR. README.md beside this file explains the model.
"""

# The public face; add a name here when a page or an action needs it. Modules whose
# functions have everyday names (air.density, rods.tilt, turning.lead) are taken whole.
from cars.mechanics import air as air
from cars.mechanics import drift as drift
from cars.mechanics import fuel as fuel
from cars.mechanics import gearing as gearing
from cars.mechanics import kingpin as kingpin
from cars.mechanics import rods as rods
from cars.mechanics import springs as springs
from cars.mechanics import turning as turning
from cars.mechanics.ballast import plan_ballast as plan_ballast
from cars.mechanics.ballastplan import BallastOutOfReach as BallastOutOfReach
from cars.mechanics.ballastplan import BallastPlan as BallastPlan
from cars.mechanics.ballastplan import Mount as Mount
from cars.mechanics.ballastplan import Piece as Piece
from cars.mechanics.ballastplan import ShareTargets as ShareTargets
from cars.mechanics.blocks import BlockChart as BlockChart
from cars.mechanics.blocks import BlockReading as BlockReading
from cars.mechanics.calibration import Calibrated as Calibrated
from cars.mechanics.calibration import Prior as Prior
from cars.mechanics.calibration import calibrate as calibrate
from cars.mechanics.chassis import STANDARD_GRAVITY as STANDARD_GRAVITY
from cars.mechanics.chassis import Chassis as Chassis
from cars.mechanics.chassis import Response as Response
from cars.mechanics.chassis import response as response
from cars.mechanics.corners import CORNER_NAMES as CORNER_NAMES
from cars.mechanics.corners import Corners as Corners
from cars.mechanics.errors import BadInput as BadInput
from cars.mechanics.errors import MechanicsError as MechanicsError
from cars.mechanics.errors import OutOfReach as OutOfReach
from cars.mechanics.errors import Singular as Singular
from cars.mechanics.errors import TooThin as TooThin
from cars.mechanics.goals import Goal as Goal
from cars.mechanics.helped import Conditions as Conditions
from cars.mechanics.helped import Help as Help
from cars.mechanics.helped import TimedRun as TimedRun
from cars.mechanics.helped import did_it_help as did_it_help
from cars.mechanics.laps import RunLaps as RunLaps
from cars.mechanics.laps import mark_laps as mark_laps
from cars.mechanics.laps import usual_spread as usual_spread
from cars.mechanics.loads import Shares as Shares
from cars.mechanics.loads import centre_of_mass as centre_of_mass
from cars.mechanics.loads import centre_of_mass_height as centre_of_mass_height
from cars.mechanics.loads import shares as shares
from cars.mechanics.observations import Noise as Noise
from cars.mechanics.observations import Observation as Observation
from cars.mechanics.onboard import weigh_again as weigh_again
from cars.mechanics.onboard import weight_change as weight_change
from cars.mechanics.sensitivity import Multipliers as Multipliers
from cars.mechanics.turnplan import Room as Room
from cars.mechanics.turnplan import TurnPlan as TurnPlan
from cars.mechanics.turnplan import TurnTarget as TurnTarget
from cars.mechanics.turns import plan_turns as plan_turns
