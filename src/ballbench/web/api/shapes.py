"""Shapes of the answers, for the interface's description: taken from what the workflows say that they return."""

from __future__ import annotations

from types import GenericAlias
from typing import Any, Literal, get_args, get_type_hints

from pydantic import BaseModel, create_model

from ballbench.workflows.bench import bench_state
from ballbench.workflows.set_up import set_up_test

__all__ = ["BALL_TEST", "BENCH", "BENCH_STATE", "answer_shape", "part_of", "several"]

BALL_TEST: Any = get_type_hints(set_up_test)["return"]
BENCH_STATE: Any = get_type_hints(bench_state)["return"]


def part_of(record: Any, field: str) -> Any:
    """Give the type of a field of a record; of a tuple or an optional field that of what it holds."""
    found = get_type_hints(record)[field]
    return next((part for part in get_args(found) if part not in (type(None), ...)), found)


def several(kind: Any) -> Any:
    """Give the type of a list of something."""
    return GenericAlias(list, (kind,))


def answer_shape(name: str, *statuses: str, **fields: Any) -> type[BaseModel]:
    """Make the shape of a reply that the notebook keeps.

    Parameters
    ----------
    name : str
        In the description.
    statuses : str
        What its ``status`` can be; none: it has no such field.
    fields : type
        Of its other fields.
    """
    shapes: dict[str, Any] = {field: (kind, ...) for field, kind in fields.items()}
    if statuses:
        shapes["status"] = (Literal[statuses], ...)
    return create_model(name, revision=(int, ...), **shapes)


BENCH: dict[str, Any] = {
    field: part_of(BENCH_STATE, field) for field in ("balls", "places", "readings", "questions", "checks", "sitting")
}
"""What the bench's state holds: the record of one ball, place, reading, question, check and sitting."""
