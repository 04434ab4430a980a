"""What a report was measured on: without it a number of seconds says nothing."""

from __future__ import annotations

import os
import platform
from importlib.metadata import version
from pathlib import Path

__all__ = ["surroundings"]

LIBRARIES = ("ballbench", "numpy", "scipy", "polars", "typer")


def surroundings() -> list[str]:
    """Say which machine, Python and libraries these are, and how busy the machine is with other work."""
    lines = [
        f"machine: {_processor()}, {os.cpu_count()} processors, {_memory()}, {platform.system()} {platform.machine()}",
        f"Python {platform.python_version()}; {', '.join(f'{name} {version(name)}' for name in LIBRARIES)}",
    ]
    if hasattr(os, "getloadavg"):
        lines.append(f"load before the first case: {os.getloadavg()[0]:.1f} processes wanting to run")
    return lines


def _processor() -> str:
    """Name of the processor, as far as the system tells."""
    listing = Path("/proc/cpuinfo")
    if listing.is_file():
        for line in listing.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or "a processor without a name"


def _memory() -> str:
    """Give the installed memory."""
    try:
        size = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, ValueError, OSError):
        return "memory unknown"
    return f"{size / 2**30:.1f} GiB of memory"
