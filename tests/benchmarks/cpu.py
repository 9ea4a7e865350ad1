"""How long a process worked, whatever else the machine did."""

import ctypes
import time


class ProcessClock:
    """CPU of another process in ns, as `clock_getcpuclockid` of POSIX.1-2017 gives it."""

    def __init__(self, pid: int) -> None:
        clock = ctypes.c_int()
        if failed := ctypes.CDLL(None).clock_getcpuclockid(pid, ctypes.byref(clock)):
            raise OSError(failed, "clock_getcpuclockid")
        self._clock = clock.value

    def ms(self) -> float:
        return time.clock_gettime_ns(self._clock) / 1e6
