"""The other end of `measuring.in_own_process`: run one function and print its costs."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from importlib import import_module

__all__ = ["main"]


def main(order: str) -> None:
    """Do what the order says: module, function, arguments."""
    module, function, arguments = json.loads(order)
    costs = getattr(import_module(module), function)(*arguments)
    print(json.dumps({name: asdict(cost) for name, cost in costs.items()}))


if __name__ == "__main__":
    main(sys.argv[1])
