"""Write and read plans, and which plan a test follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, insert, select

from ballbench.errors import Fault, NotFound
from ballbench.store.inserting import inserted
from ballbench.store.tables import ball_test, followed_plan, plan

__all__ = [
    "Follower",
    "PlanRow",
    "follow_plan",
    "followers_of",
    "has_plan",
    "plan_followed",
    "plan_of",
    "plans_kept",
    "write_plan",
]


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A plan as it was made.

    Parameters
    ----------
    id : int
        In the notebook.
    title, requirement, requirement_digest, quantity : str
        What it is for; the requirement as it was then.
    asked, result : str
        What was asked, and what came out, both as JSON.
    by, at : str
        Who made it, and when (ISO 8601 with zone).
    """

    id: int
    title: str
    requirement: str
    requirement_digest: str
    quantity: str
    asked: str
    result: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class Follower:
    """A test that follows a plan: the plan's number, and the test's number and title."""

    plan: int
    test: int
    title: str


def write_plan(connection: Connection, row: Mapping[str, Any]) -> int:
    """Write a plan, as the columns of `plan`, and give its number."""
    return inserted(connection, plan, row)


def has_plan(connection: Connection, plan_id: int) -> bool:
    """Say whether there is a plan of that number."""
    return connection.execute(select(plan.c.id).where(plan.c.id == plan_id)).first() is not None


def plan_of(connection: Connection, plan_id: int) -> PlanRow:
    """Give a plan.

    Raises
    ------
    NotFound
        There is none of that number.
    """
    row = connection.execute(select(plan).where(plan.c.id == plan_id)).one_or_none()
    if row is None:
        missing = f"no plan {plan_id}"
        raise NotFound(Fault("notebook", missing, "a plan of this notebook", "choose one from the list of plans"))
    return PlanRow(*(getattr(row, name) for name in PlanRow.__slots__))


def plans_kept(connection: Connection, most: int = 200, *, followed: bool | None = None) -> tuple[PlanRow, ...]:
    """Give plans, the newest first.

    Parameters
    ----------
    most : int
        At most so many.
    followed : bool or None
        Those that a test follows, or that none does; None: whether or not.
    """
    chosen = select(plan).order_by(plan.c.id.desc()).limit(most)
    if followed is not None:
        has_test = plan.c.id.in_(select(followed_plan.c.plan_id))
        chosen = chosen.where(has_test if followed else ~has_test)
    return tuple(PlanRow(*(getattr(row, name) for name in PlanRow.__slots__)) for row in connection.execute(chosen))


def follow_plan(connection: Connection, test_id: int, plan_id: int) -> None:
    """Note which plan a test follows."""
    connection.execute(insert(followed_plan).values(test_id=test_id, plan_id=plan_id))


def plan_followed(connection: Connection, test_id: int) -> PlanRow | None:
    """Give the plan that a test follows; None: it follows none."""
    chosen = select(followed_plan.c.plan_id).where(followed_plan.c.test_id == test_id)
    number = connection.execute(chosen).scalar_one_or_none()
    return None if number is None else plan_of(connection, number)


def followers_of(connection: Connection, plan_id: int) -> tuple[Follower, ...]:
    """Give the tests that follow a plan, the oldest first."""
    chosen = (
        select(followed_plan.c.plan_id, ball_test.c.id, ball_test.c.title)
        .join(ball_test, ball_test.c.id == followed_plan.c.test_id)
        .where(followed_plan.c.plan_id == plan_id)
        .order_by(ball_test.c.id)
    )
    return tuple(Follower(*row) for row in connection.execute(chosen))
