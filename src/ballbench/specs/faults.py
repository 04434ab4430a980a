"""From a shape that does not fit to faults a person can act on: where, what was found, what is allowed, what to do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import Any

from pydantic import BaseModel, ValidationError

from ballbench.errors import Fault
from ballbench.specs.shape import (
    ClauseShape,
    ClauseSourceShape,
    CountShape,
    QuantityShape,
    RequirementShape,
    SourceShape,
    VariantShape,
)

__all__ = ["clause_place", "nearest", "one_line", "quoted", "shape_faults"]

_SHAPES: dict[tuple[str, ...], type[BaseModel]] = {
    (): RequirementShape,
    ("source",): SourceShape,
    ("quantity", "*"): QuantityShape,
    ("clause",): ClauseShape,
    ("clause", "source"): ClauseSourceShape,
    ("clause", "count"): CountShape,
    ("clause", "variant"): VariantShape,
}
_SLUG = "lower-case letters and digits, parts joined by single hyphens, such as diameter-largest"
_NAME = "lower-case letters, digits and underscores, a letter first, such as deformation_forward"
_AMOUNT = 'a number with its unit, in quotes, such as "40.60 mm"'
_ALLOWED: dict[str, str] = {
    "lower": _AMOUNT,
    "upper": _AMOUNT,
    "nominal": _AMOUNT,
    "id": _SLUG,
    "quantity": _NAME,
    "answer": '"yes", "no", "passed" or "failed"',
    "conditions": 'a table of texts in quotes, such as { drop_height = "305 mm" }',
    "source": 'a table such as { document = "...", clause = "...", seen = "own" }',
    "count": 'a table such as { answer = "yes", at_most = 24, out_of = 100 }',
    "unit": 'a unit in quotes, such as "kPa"',
}
_BY_TYPE: dict[str, str] = {
    "bool_type": "true or false, without quotes",
    "int_type": "a whole number, without quotes",
    "string_type": "a text in quotes",
    "list_type": "a list in brackets",
    "dict_type": "a table",
    "model_type": "a table",
    "too_short": "at least one",
    "string_too_short": "a text that is not empty",
}
_FROM_ONE = ("sample_size", "axes", "out_of")
_LISTS: dict[str, str] = {
    "clause": "[[clause]] tables, at least one",
    "variant": "[[clause.variant]] tables",
    "notes": 'a list of texts, such as ["..."]',
    "cautions": 'a list of texts, such as ["..."]',
}


def nearest(word: str, allowed: Iterable[str], cutoff: float = 0.6) -> str | None:
    """Give the allowed word that `word` most likely means, or None."""
    matches = get_close_matches(word.lower(), list(allowed), n=1, cutoff=cutoff)
    return matches[0] if matches else None


def one_line(text: str) -> str:
    """Put a blank in place of every character that does not print."""
    return "".join(c if c.isprintable() else " " for c in text)


def quoted(value: object) -> str:
    """Write a value of the file as the person wrote it, cut after 60 characters."""
    if isinstance(value, str):
        text = '"' + one_line(value) + '"'
    elif isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, dict):
        text = "a table"
    elif isinstance(value, list):
        text = f"a list of {len(value)}"
    else:
        text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def clause_place(where: str, data: object, index: int) -> str:
    """Name a clause: file and id, or its number where it has no usable id."""
    clauses = data.get("clause") if isinstance(data, dict) else None
    raw = clauses[index] if isinstance(clauses, list) and index < len(clauses) else None
    name = raw.get("id") if isinstance(raw, dict) else None
    usable = isinstance(name, str) and name.isprintable() and 0 < len(name) <= 80
    return f"{where}, clause {name if usable else index + 1}"


def shape_faults(error: ValidationError, data: object, where: str) -> list[Fault]:
    """Turn everything that the shape objects to into faults, in the order of the file.

    Parameters
    ----------
    error : pydantic.ValidationError
        From `RequirementShape`.
    data : object
        The file's content as TOML gave it.
    where : str
        The file's name.

    Returns
    -------
    list of Fault
        One for each objection.
    """
    return [_fault(item, data, where) for item in error.errors(include_url=False)]


def _fault(item: Any, data: object, where: str) -> Fault:
    loc: tuple[int | str, ...] = item["loc"]
    key = next((one_line(part) for part in reversed(loc) if isinstance(part, str) and part != "[key]"), "")
    place = _place(loc, data, where)
    kind: str = item["type"]
    if kind == "extra_forbidden":
        return _unknown_key(place, key, loc)
    if kind == "missing":
        allowed = _LISTS.get(key) or _ALLOWED.get(key) or "a text in quotes"
        todo = "add a [[clause]] table" if key == "clause" else f"add {key} = ..."
        return Fault(place, f'no key "{key}"', allowed, todo)
    if kind == "literal_error":
        return _not_one_of(place, item, loc, key)
    return Fault(place, quoted(item["input"]), _rule(kind, key, item), f"correct {key}")


def _place(loc: Sequence[int | str], data: object, where: str) -> str:
    """Name the place: file, clause id, variant number, key."""
    parts = [where]
    for before, part in zip((None, *loc), loc, strict=False):
        if before == "clause" and isinstance(part, int):
            parts = [clause_place(where, data, part)]
        elif isinstance(part, int):
            parts.append(f"{before} {part + 1}")
    keys = [one_line(part) for part in loc if isinstance(part, str) and part not in {"clause", "variant", "[key]"}]
    if keys or loc == ("clause",):
        parts.append(f"key {'.'.join(keys or ['clause'])}")
    return ", ".join(parts)


def _shape_at(loc: Sequence[int | str]) -> type[BaseModel] | None:
    """Give the shape that holds the key at `loc`."""
    names = tuple(str(part) for part in loc[:-1] if isinstance(part, str))
    if names[:1] == ("quantity",) and len(names) > 1:
        names = ("quantity", "*")
    return _SHAPES.get(names)


def _unknown_key(place: str, key: str, loc: Sequence[int | str]) -> Fault:
    shape = _shape_at(loc)
    allowed = sorted(shape.model_fields) if shape is not None else []
    guess = nearest(key, allowed)
    todo = f'write "{guess}"' if guess is not None else f'remove "{key}"'
    return Fault(place, f'an unknown key "{key}"', "the keys " + ", ".join(allowed), todo)


def _not_one_of(place: str, item: Any, loc: Sequence[int | str], key: str) -> Fault:
    shape = _shape_at(loc)
    annotation = shape.model_fields[key].annotation if shape is not None else None
    allowed = _choices(annotation)
    found = item["input"]
    guess = nearest(found, allowed) if isinstance(found, str) else None
    todo = f'write "{guess}"' if guess is not None else f"choose one of them for {key}"
    return Fault(place, quoted(found), ", ".join(allowed), todo)


def _choices(annotation: Any) -> list[str]:
    """Give the words of a ``Literal``, also inside an ``| None``."""
    words: list[str] = []
    for part in getattr(annotation, "__args__", ()):
        words.extend([part] if isinstance(part, str) else _choices(part))
    return words


def _rule(kind: str, key: str, item: Any) -> str:
    """Say what is allowed at a key, from the kind of objection."""
    if kind in {"greater_than_equal", "less_than_equal"}:
        return f"a whole number from {1 if key in _FROM_ONE else 0} to 1000000"
    if item["loc"] == ("quantity",):
        return 'tables such as [quantity.pressure] with unit = "kPa"'
    general = _NAME if kind == "string_pattern_mismatch" else _BY_TYPE.get(kind, str(item["msg"]))
    if kind == "string_too_short":
        return general
    own = _ALLOWED.get(key) or (None if isinstance(item["loc"][-1], int) else _LISTS.get(key))
    return own or general
