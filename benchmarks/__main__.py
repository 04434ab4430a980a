"""`python -m benchmarks` runs every case, `python -m benchmarks NAME ...` some, `--list` names them."""

from __future__ import annotations

import argparse
import inspect
import sys
from collections.abc import Callable, Iterator, Sequence

from benchmarks.coverage_at_size import coverage_at_size
from benchmarks.growth import growth
from benchmarks.judging_products import judge_hundred_products, judge_one_product
from benchmarks.measuring import Line
from benchmarks.million_readings import million_readings
from benchmarks.minimum_zone_speed import minimum_zone_speed
from benchmarks.notebook_speed import notebook_speed
from benchmarks.photo_speed import photo_speed
from benchmarks.planning_surface import planning_surface
from benchmarks.posterior_core import posterior_core
from benchmarks.sound_speed import sound_speed
from benchmarks.starting import help_start
from benchmarks.surroundings import surroundings

__all__ = ["main"]

CASES: dict[str, Callable[[], Iterator[Line]]] = {
    case.__name__: case
    for case in (
        help_start,
        judge_one_product,
        judge_hundred_products,
        posterior_core,
        planning_surface,
        growth,
        million_readings,
        notebook_speed,
        photo_speed,
        minimum_zone_speed,
        coverage_at_size,
        sound_speed,
    )
}


def main(arguments: Sequence[str]) -> int:
    """Run cases and print their lines; 1 when a case did not measure what it should, else 0."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"one of {', '.join(CASES)}; all when left out")
    parser.add_argument("--list", action="store_true", help="name the cases and leave")
    options = parser.parse_args(arguments)
    unknown = [name for name in options.names if name not in CASES]
    if unknown:
        parser.error(f"no case {', '.join(unknown)}; there are {', '.join(CASES)}")
    if options.list:
        for name, case in CASES.items():
            print(f"{name}: {inspect.getdoc(case)}")
        return 0
    print("\n".join(surroundings()), flush=True)
    return max([_run(name) for name in options.names or CASES])


def _run(name: str) -> int:
    """Run one case; a case that fails says so, and the others still run."""
    print(f"\n{name}: {inspect.getdoc(CASES[name])}", flush=True)
    try:
        for line in CASES[name]():
            print(f"  {line}", flush=True)
    except Exception as error:
        print(f"  {name} failed: {type(error).__name__}: {error}", file=sys.stderr, flush=True)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
