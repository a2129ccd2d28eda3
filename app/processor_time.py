"""What a process has had of the processor, where the system tells it (Linux)."""

from __future__ import annotations

import os
from pathlib import Path
from typing import NamedTuple


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
