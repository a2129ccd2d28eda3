"""Limits of time for a process, by what it has had of the processor where that is told (Linux)."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import NamedTuple

PATIENCE_TIMES = 3.0
_CLOSE_ENOUGH = 0.02


class ProcessorTime(NamedTuple):
    """Of one process: ``seconds`` it has had, and whether it wants more at this moment."""

    seconds: float
    is_runnable: bool


def processor_time(pid: int | None) -> ProcessorTime | None:
    """As it stands now; None where the system doesn't tell, or there is no such process.

    Source: the Linux manual, proc_pid_stat(5): state, user time and system time are fields 3, 14
    and 15.
    """
    try:
        stat = Path(f"/proc/{pid}/stat").read_bytes()
        # The program's name, in parentheses, may hold anything.
        fields = stat.rpartition(b")")[2].split()
        seconds = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
        return ProcessorTime(seconds, fields[0] == b"R")
    except (OSError, ValueError, IndexError, AttributeError):
        return None


class Allowance:
    """So much time of the processor for one piece of work of a process.

    Counted from when it is made. A process that wants the processor and does not get it, since
    the machine has other things to do, waits without using any of it up; one that waits for
    anything else has ``PATIENCE_TIMES`` as long by the clock. Where the system doesn't tell, all
    is counted by the clock.
    """

    def __init__(self, seconds: float, pid: int | None) -> None:
        self.seconds = seconds
        self._pid = pid
        self._began = time.monotonic()
        self._until = self._began + seconds
        used = processor_time(pid)
        self._before = used.seconds if used else 0.0

    def left_seconds(self) -> float:
        """How long to wait before this is asked again; 0 when all is used up."""
        now = time.monotonic()
        if now >= self._until:
            self._until = now + self._unused(now)
        return self._until - now

    def _unused(self, now: float) -> float:
        used = processor_time(self._pid)
        is_late = now >= self._began + PATIENCE_TIMES * self.seconds
        if used is None or (is_late and not used.is_runnable):
            return 0.0
        unused = self.seconds - (used.seconds - self._before)
        return unused if unused > _CLOSE_ENOUGH * self.seconds else 0.0
