"""A bench with a test whose rebound a sound can give, and files sent to it as a page sends them."""

from __future__ import annotations

import uuid
from typing import Any

from servers import Answer, Running, act

from ballbench.workflows.opening import Notebook
from ballbench.workflows.set_up import BoxPlan, InstrumentPlan, MakePlan, QuantityPlan, SetUp, set_up_test

__all__ = ["RULE", "STATED", "bounce_test", "in_parts", "places_of", "send_file", "sent_recording"]

RULE = """id = "league-bounce"
sport = "table tennis"
title = "League ball (invented)"
edition = "2026"
source = { document = "Invented for the tests", seen = "own" }
[[clause]]
id = "rebound"
text = "Dropped from 305 mm onto a steel block a ball rises to between 220 mm and 260 mm."
quantity = "rebound"
ball = "mean"
sample = "each"
lower = "220 mm"
upper = "260 mm"
conditions = { drop_height = "305 mm", surface = "steel block" }
[[clause]]
id = "restitution"
text = "The coefficient of restitution is 0.85 to 0.94."
quantity = "bounce_restitution"
ball = "mean"
sample = "each"
lower = "0.85"
upper = "0.94"
"""
STATED = {"ball": "40 mm, 2.7 g", "drop_height": "305 mm"}


def bounce_test(
    notebook: Notebook, *, balls: int = 2, blind: bool = False, repeats: int = 2, outline: bool = False
) -> int:
    """Set up a test of invented balls of two makes: rebound and restitution with a phone, form if it is asked for."""
    makes = tuple(MakePlan(make, (BoxPlan(f"{make[0]}-1", balls),)) for make in ("Curlew", "Dunlin"))
    quantities = (
        QuantityPlan("rebound", (), repeats, "phone"), QuantityPlan("bounce_restitution", (), 1, "phone, as a ratio"),
        *((QuantityPlan("outline_form", (), 1, "camera"),) if outline else ()),
    )  # fmt: skip
    instruments = (
        InstrumentPlan("phone", "rebound", "mm", 0.1, 0.8, 20.0),
        InstrumentPlan("phone, as a ratio", "bounce_restitution", "1", 0.001, 0.003, 20.0),
        *((InstrumentPlan("camera", "outline_form", "mm", 0.001, 0.002, 20.0),) if outline else ()),
    )
    sent = act()
    request = SetUp(
        str(uuid.uuid4()), sent["client"], sent["by"], sent["at"], RULE, makes, quantities, instruments,
        title="Winter league (invented)", blind=blind, invented=True, seed=1,
        conditions={"drop_height": "305 mm", "surface": "steel block"},
    )  # fmt: skip
    return set_up_test(notebook, request).id


def in_parts(fields: dict[str, str], name: str, content: bytes) -> bytes:
    """Write a form with a file as RFC 7578 has it."""
    parts = [
        f'--b\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{text}\r\n'.encode()
        for key, text in fields.items()
    ]
    head = f'--b\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\nContent-Type: audio/wav\r\n\r\n'
    return b"".join([*parts, head.encode(), content, b"\r\n--b--\r\n"])


def send_file(server: Running, path: str, fields: dict[str, str], content: bytes, name: str = "drop.wav") -> Answer:
    """Send a form with a file as one of the bench's own pages does."""
    own = {"Origin": f"http://{server.host}", "Content-Type": "multipart/form-data; boundary=b"}
    return server.ask("POST", path, own, in_parts(fields, name, content))


def sent_recording(server: Running, test: int, content: bytes, name: str = "drop.wav") -> str:
    """Keep a recording with a test, and give its digest."""
    told = act()
    fields = {"key": told["key"], "by": "E", "client": told["client"], "at": told["at"]}
    answer = send_file(server, f"/api/tests/{test}/recordings", fields, content, name)
    assert answer.status == 200, answer.body
    return str(answer.json()["digest"])


def places_of(server: Running, test: int, quantity: str) -> list[dict[str, Any]]:
    """Give the places of a quantity that hold no reading yet."""
    state = server.ask("GET", f"/api/tests/{test}/bench").json()
    return [one for one in state["places"] if one["quantity"] == quantity and not one["filled"]]
