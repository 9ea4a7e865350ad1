"""The mechanics of a small solid-axle oval car: plain Python, numpy and scipy, no I/O.

Lengths mm, masses and loads kg, rates N/mm, angles degrees unless a docstring says
otherwise; corners always LF, RF, LR, RR. README.md beside this file explains the model.
"""

# The public face of every module; add a name here when a page or an action needs it.
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
from cars.mechanics.loads import Shares as Shares
from cars.mechanics.loads import centre_of_mass as centre_of_mass
from cars.mechanics.loads import centre_of_mass_height as centre_of_mass_height
from cars.mechanics.loads import shares as shares
from cars.mechanics.observations import Noise as Noise
from cars.mechanics.observations import Observation as Observation
from cars.mechanics.sensitivity import Multipliers as Multipliers
