from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import pytest

from ballbench.errors import BadRequest, BadRequirement
from ballbench.specs import Clause, Limit, catalogue_ids, find_requirement, lint

GRADES = {"official", "quoted", "paraphrased", "memory", "practice"}


def clause(req: str, name: str) -> Clause:
    """Find a clause of a requirement of the catalogue."""
    return next(c for c in find_requirement(req).clauses if c.id == name)


def written(limit: Limit | None) -> str:
    """Write a limit as its source does; empty for none."""
    return "" if limit is None else f"{limit.text} {limit.unit}"


@pytest.mark.parametrize("name", catalogue_ids())
def test_a_requirement_bears_the_name_of_its_file(name: str) -> None:
    """Id and file name are one, and each number has a grade that the catalogue may give."""
    req = find_requirement(name)
    assert req.id == name
    assert {c.source.seen for c in req.clauses} <= GRADES
    assert all(c.source.document for c in req.clauses)


@pytest.mark.parametrize("name", [name for name in catalogue_ids() if name != "table-tennis-law"])
def test_the_lint_has_nothing_to_remark_on(name: str) -> None:
    """Apart from nominal values, the catalogue is free of the slips that the lint knows."""
    assert lint(find_requirement(name)) == ()


def test_the_law_of_table_tennis_gives_nominal_values_only() -> None:
    """Laws of Table Tennis, Laws 2.3.1 and 2.3.2: 40 mm and 2.7 g without a tolerance, so no decision."""
    req = find_requirement("table-tennis-law")
    assert [(written(c.nominal), c.decides, c.source.seen) for c in req.clauses] == [
        ("40 mm", False, "quoted"),
        ("2.7 g", False, "quoted"),
    ]
    assert [remark.clause for remark in lint(req)] == ["diameter", "mass"]


# Common practice of the trade, no source: reductions, lower, upper, strict, grade; plastic and celluloid ball.
APPROVAL = {
    "diameter-smallest": ("min", "each", ("40.00 mm", ""), ("39.50 mm", ""), False, "practice"),
    "diameter-largest": ("max", "each", ("", "40.60 mm"), ("", "40.50 mm"), False, "practice"),
    "diameter-sample-mean": ("midrange", "mean", ("40.00 mm", "40.50 mm"), ("39.60 mm", "40.40 mm"), False, "practice"),
    "diameter-sample-sd": ("midrange", "sd", ("", "0.06 mm"), ("", "0.06 mm"), False, "practice"),
    "variation-each": ("range", "each", ("", "0.25 mm"), ("", "0.35 mm"), True, "practice"),
    "variation-sample-mean": ("range", "mean", ("", "0.20 mm"), ("", "0.25 mm"), False, "practice"),
    "variation-sample-sd": ("range", "sd", ("", "0.06 mm"), ("", "0.06 mm"), False, "memory"),
    "mass": ("mean", "each", ("2.67 g", "2.77 g"), ("2.67 g", "2.77 g"), False, "paraphrased"),
    "mass-sample-mean": ("mean", "mean", ("2.69 g", "2.76 g"), ("2.69 g", "2.76 g"), False, "paraphrased"),
    "rebound": ("mean", "each", ("24 cm", "26 cm"), ("24 cm", "26 cm"), False, "practice"),
    "veer-positive": ("max", "each", ("", "175 mm"), ("", "175 mm"), False, "memory"),
    "veer-negative": ("min", "each", ("-175 mm", ""), ("-175 mm", ""), False, "memory"),
}


@pytest.mark.parametrize(("name", "column"), [("table-tennis-plastic", 2), ("table-tennis-celluloid", 3)])
def test_the_approval_limits_of_table_tennis_are_those_of_the_trade(name: str, column: int) -> None:
    """Every number of the trade's common practice, typed by hand; SDs of ranges and veer from memory.

    Mass: the approval tests as a local league's page retells them, read 2026-11-25, with one ball of 24 outside.
    """
    req = find_requirement(name)
    found = {}
    for c in req.clauses:
        (reading,) = c.readings
        pair = (written(reading.lower), written(reading.upper))
        found[c.id] = (reading.ball, reading.sample, pair, reading.strict, c.source.seen)
    assert found == {key: (row[0], row[1], row[column], row[4], row[5]) for key, row in APPROVAL.items()}
    assert (req.axes, req.sample_size) == (4, 24)
    assert clause(name, "mass").readings[0].allowed_outside == 1


@pytest.mark.parametrize("name", ["table-tennis-plastic", "table-tennis-celluloid"])
def test_the_often_quoted_sd_limit_is_noted_and_not_used(name: str) -> None:
    """0.6 mm stands in the note of the SD clause, from memory, and in no limit."""
    c = clause(name, "variation-sample-sd")
    assert "0.6 mm" in c.source.note
    assert [written(reading.upper) for reading in c.readings] == ["0.06 mm"]


def test_celluloid_carries_its_transport_class_and_plastic_does_not() -> None:
    """Cellulose nitrate is UN 2000, class 4.1 (UN model regulations, dangerous goods list)."""
    assert any("UN 2000, class 4.1" in text for text in find_requirement("table-tennis-celluloid").cautions)
    assert not any("UN 2000" in text for text in find_requirement("table-tennis-plastic").cautions)


# id, clause, lower, upper, both in the unit of computation, grade. The source stands in front of each group.
SAMPLE = [
    # ITF Rules of Tennis, Appendix I b, metric-first table, quoted
    ("tennis-type-1", "mass", 56.0, 59.4, "quoted"),
    ("tennis-type-1", "diameter", 65.4, 68.6, "quoted"),
    ("tennis-type-1", "rebound", 1350, 1470, "quoted"),
    ("tennis-type-1", "deformation-forward", 4.95, 6.00, "quoted"),
    ("tennis-type-1", "deformation-return", 6.70, 9.15, "quoted"),
    ("tennis-type-1", "deformation-forward-spread", None, 0.76, "quoted"),  # note 4
    ("tennis-type-2", "deformation-forward", 5.60, 7.40, "quoted"),
    ("tennis-type-2", "deformation-return", 8.00, 10.80, "quoted"),
    ("tennis-type-3", "diameter", 70.0, 73.0, "quoted"),
    ("tennis-high-altitude", "rebound", 1220, 1350, "quoted"),
    # FIP Regulations of the game, p. 15, quoted; deformation of a newer edition, paraphrased
    ("padel", "diameter", 63.5, 67.7, "quoted"),
    ("padel", "rebound", 1350, 1450, "quoted"),
    ("padel", "deformation-return", 8.0, 10.8, "paraphrased"),
    # USA Pickleball, Equipment Standards, quoted; hardness from memory, holes paraphrased
    ("pickleball", "diameter", 72.9, 75.4, "quoted"),
    ("pickleball", "mass", 22.1, 26.5, "quoted"),
    ("pickleball", "rebound", 762, 864, "quoted"),
    ("pickleball", "hardness", 40, 50, "memory"),
    ("pickleball", "holes", 26, 40, "paraphrased"),
    # WSF ball specification, paraphrased; the rest from memory
    ("squash", "diameter", 39.5, 40.5, "paraphrased"),
    ("squash", "mass", 23.0, 25.0, "paraphrased"),
    ("squash", "stiffness", 2.8, 3.6, "memory"),
    ("squash", "seam-strength", 6.0, None, "memory"),
    ("squash", "resilience-cold", 12, None, "memory"),
    # Rules of Golf 2016, Appendix III, 2 and 3, official
    ("golf", "mass", None, 45.93, "official"),
    ("golf", "diameter", 42.67, None, "official"),
    # MCC Laws, 2000 Code, Laws 5.1 and 5.6, quoted
    ("cricket-men", "mass", 155.9, 163, "quoted"),
    ("cricket-men", "circumference", 224, 229, "quoted"),
    ("cricket-women", "mass", 140, 151, "quoted"),
    ("cricket-women", "circumference", 210, 225, "quoted"),
    ("cricket-under-13", "mass", 133, 144, "quoted"),
    ("cricket-under-13", "circumference", 205, 220, "quoted"),
    # FIH Field and Equipment Specifications 3.1, quoted
    ("field-hockey", "circumference", 224, 235, "quoted"),
    ("field-hockey", "mass", 156, 163, "quoted"),
    # NCAA Men's Lacrosse, Section 16, quoted: 7 3/4 to 8 in, 5 to 5 1/4 oz, 43 to 51 in
    ("lacrosse-men", "circumference", 196.85, 203.2, "quoted"),
    ("lacrosse-men", "mass", 141.747615625, 148.83499640625, "quoted"),
    ("lacrosse-men", "rebound", 1092.2, 1295.4, "quoted"),
    # NCAA Women's Lacrosse 2008, Rule 2 section 5, quoted
    ("lacrosse-women", "circumference", 200, 203, "quoted"),
    ("lacrosse-women", "mass", 142, 149, "quoted"),
    ("lacrosse-women", "rebound", 1100, 1300, "quoted"),
    # WPA Tournament Table and Equipment Specifications, 16, quoted
    ("pool", "diameter", 57.15, 57.277, "quoted"),
    ("pool", "mass", 156, 170, "quoted"),
    # IBSF and WPBSA rules, Section 1, 2, quoted
    ("snooker", "diameter", 52.45, 52.55, "quoted"),
    ("snooker", "mass-spread", None, 3, "quoted"),
    # Croquet Association, championship ball specification (a), (b), (d), quoted
    ("croquet", "diameter", 91.3, 92.9, "quoted"),
    ("croquet", "out-of-round", None, 0.8, "quoted"),
    ("croquet", "diameter-spread", None, 1.2, "quoted"),
    ("croquet", "rebound", 940, None, "quoted"),
    ("croquet", "rebound-spread", None, 50.8, "quoted"),
    ("croquet", "mass", 446.5, 460.7, "quoted"),
    # IFAB Laws of the Game 2023-24, Law 2.1, official; an atmosphere is 101.325 kPa exactly
    ("football-law", "circumference", 680, 700, "official"),
    ("football-law", "mass", 410, 450, "official"),
    ("football-law", "pressure", 60.795, 111.4575, "official"),
    # FIFA Quality Programme for Footballs, limits table, paraphrased
    ("football-mark-upper", "circumference", 685, 695, "paraphrased"),
    ("football-mark-upper", "mass", 420, 445, "paraphrased"),
    ("football-mark-upper", "roundness", None, 1.5, "paraphrased"),
    ("football-mark-upper", "rebound", 1350, 1550, "paraphrased"),
    ("football-mark-upper", "rebound-spread", None, 100, "paraphrased"),
    ("football-mark-upper", "water-uptake", None, 10, "paraphrased"),
    ("football-mark-upper", "pressure-loss", None, 20, "paraphrased"),
    ("football-mark-upper", "kept-circumference", -15, 15, "paraphrased"),
    ("football-mark-upper", "kept-roundness", None, 1.5, "paraphrased"),
    ("football-mark-upper", "kept-pressure", -10, 10, "paraphrased"),
    ("football-mark-lower", "circumference", 680, 700, "paraphrased"),
    ("football-mark-lower", "mass", 410, 450, "paraphrased"),
    ("football-mark-lower", "roundness", None, 2.0, "paraphrased"),
    ("football-mark-lower", "rebound", 1250, 1550, "paraphrased"),
    ("football-mark-lower", "water-uptake", None, 15, "paraphrased"),
    ("football-mark-lower", "pressure-loss", None, 25, "paraphrased"),
    # FIVB Official Volleyball Rules 3.1 and Beach Volleyball Rules, Rule 3, quoted; kgf/cm2 = 98.0665 kPa exactly
    ("volleyball-indoor", "circumference", 650, 670, "quoted"),
    ("volleyball-indoor", "mass", 260, 280, "quoted"),
    ("volleyball-indoor", "pressure", 29.41995, 31.8716125, "quoted"),
    ("volleyball-beach", "circumference", 660, 680, "quoted"),
    ("volleyball-beach", "pressure", 17.1, 22.1, "quoted"),
    # IHF Rules of the Game 3:2, quoted
    ("handball-1", "circumference", 500, 520, "quoted"),
    ("handball-1", "mass", 290, 330, "quoted"),
    ("handball-2", "circumference", 540, 560, "quoted"),
    ("handball-2", "mass", 325, 375, "quoted"),
    ("handball-3", "circumference", 580, 600, "quoted"),
    ("handball-3", "mass", 425, 475, "quoted"),
]


@pytest.mark.parametrize(("req", "name", "lower", "upper", "seen"), SAMPLE)
def test_limits_and_grades_are_those_of_the_rule_books(
    req: str, name: str, lower: float | None, upper: float | None, seen: str
) -> None:
    """Limits in mm, g, kPa, % or counts, typed by hand from the rule books named beside them."""
    c = clause(req, name)
    first = c.readings[0]
    for limit, value in ((first.lower, lower), (first.upper, upper)):
        assert (None if limit is None else limit.value) == (value if value is None else pytest.approx(value, rel=1e-12))
    assert c.source.seen == seen
    assert not first.strict


# ISO 3290-1:2014 as suppliers copy it, micrometres: VDws, tDw, VDwL.
BEARINGS = {
    "g3": (0.08, 0.08, 0.13),
    "g5": (0.13, 0.13, 0.25),
    "g10": (0.25, 0.25, 0.5),
    "g16": (0.4, 0.4, 0.8),
    "g20": (0.5, 0.5, 1),
    "g24": (0.6, 0.6, 1.2),
    "g28": (0.7, 0.7, 1.4),
    "g40": (1, 1, 2),
    "g60": (1.5, 1.5, 3),
    "g100": (2.5, 2.5, 5),
    "g200": (5, 5, 10),
}


def test_bearing_grades_end_where_the_table_ends() -> None:
    """ISO 3290-1:2014 lists eleven grades from G3 to G200; G500 and above stand in another series."""
    assert {name for name in catalogue_ids() if name.startswith("bearing-")} == {f"bearing-{g}" for g in BEARINGS}


@pytest.mark.parametrize("grade", BEARINGS)
def test_bearing_limits_are_those_of_the_table(grade: str) -> None:
    """ISO 3290-1:2014 (suppliers' copies): upper limits only, in micrometres, computed in millimetres."""
    req = find_requirement(f"bearing-{grade}")
    rows = [(c.quantity, c.readings[0].ball, c.readings[0].sample) for c in req.clauses]
    assert rows == [("diameter", "range", "each"), ("outline_form", "max", "each"), ("diameter", "midrange", "range")]
    for c, micrometres in zip(req.clauses, BEARINGS[grade], strict=True):
        upper = c.readings[0].upper
        assert upper is not None
        assert c.readings[0].lower is None
        assert upper.value == pytest.approx(micrometres / 1000, rel=1e-12)
        assert (c.unit, c.source.seen) == ("um", "paraphrased")
    assert any("Two-point readings cannot see it" in note for note in req.notes)


# Texts that can be read in several ways: the first reading, then its variants, in the unit of computation.
AMBIGUOUS = [
    ("pool", "diameter", [(57.15, 57.277), (57.023, 57.277)]),  # a plus alone, or plus and minus 0.127 mm
    ("pickleball", "out-of-round", [(None, 1.02), (None, 0.51)]),  # +-0.51 mm about the mean, or max - min
    ("squash", "resilience-warm", [(25, 30), (26, 33)]),  # newer and older edition, from memory
    ("cricket-men", "circumference", [(224, 229), (223.8375, 228.6)]),  # cm, and 8 13/16 to 9 in
    ("lacrosse-women", "circumference", [(200, 203), (196.85, 203)]),  # 20 cm, and 7 3/4 in
    ("football-mark-lower", "water-uptake", [(None, 15), (None, 20)]),
    # atm, gf/cm2 (98.0665 Pa exactly), psi
    ("football-law", "pressure", [(60.795, 111.4575), (58.8399, 107.87315), (58.605437, 107.558214)]),
]


@pytest.mark.parametrize(("req", "name", "pairs"), AMBIGUOUS)
def test_texts_that_can_be_read_in_several_ways_have_variants(
    req: str, name: str, pairs: list[tuple[float | None, float | None]]
) -> None:
    """Every reading of an ambiguous text is there, and no other."""
    readings = clause(req, name).readings
    found = [tuple(None if x is None else x.value for x in (r.lower, r.upper)) for r in readings]
    assert len(found) == len(pairs)
    for got, expected in zip(found, pairs, strict=True):
        assert got == tuple(None if x is None else pytest.approx(x, rel=1e-7) for x in expected)
    others = {c.id for c in find_requirement(req).clauses if len(c.readings) > 1}
    assert others == {name}


def test_the_ring_gauge_of_golf_is_a_count() -> None:
    """Rules of Golf, Appendix III, 2 (copy of 2009, quoted): falls through in fewer than 25 of 100 positions."""
    c = clause("golf", "ring-gauge")
    assert c.count is not None
    assert (c.count.answer, c.count.at_least, c.count.at_most, c.count.out_of) == (True, None, 24, 100)
    assert c.source.seen == "quoted"
    assert "protocol" in c.source.note


def test_padel_leaves_out_the_pressure_and_says_so() -> None:
    """The unit "kg per 2.54 cm2" cannot be used, so there is no such clause and a note."""
    req = find_requirement("padel")
    assert all("pressure" not in c.quantity for c in req.clauses)
    assert any("left out" in note and "pressure" in note for note in req.notes)


@pytest.mark.parametrize(
    ("req", "name", "drop"),
    [
        ("table-tennis-plastic", "rebound", "305 mm"),  # 30.5 cm
        ("tennis-type-2", "rebound", "254 cm"),  # 100 in
        ("pickleball", "rebound", "198.1 cm"),  # 78 in
        ("lacrosse-men", "rebound", "72 in"),
        ("lacrosse-women", "rebound", "1.8 m"),
        ("croquet", "rebound", "1524 mm"),  # 60 in
        ("football-mark-upper", "rebound", "2 m"),
    ],
)
def test_a_rebound_is_tied_to_its_drop_height_and_surface(req: str, name: str, drop: str) -> None:
    """A rebound limit holds for one drop height on one surface, those of its rule book."""
    conditions = clause(req, name).conditions
    assert conditions["drop_height"] == drop
    assert conditions["surface"]


@pytest.mark.parametrize(
    ("word", "names"),
    [
        ("no over-inflation", ("tennis-type-1", "padel", "football-law", "volleyball-beach", "handball-3")),
        ("eye protection", ("golf", "cricket-men", "field-hockey", "lacrosse-men", "pool", "snooker", "croquet")),
        ("water bath", ("squash",)),
    ],
)
def test_cautions_stand_where_they_concern_the_ball(word: str, names: tuple[str, ...]) -> None:
    """Inflated, hard and warmed balls carry their caution (house rule)."""
    for name in names:
        assert any(word in caution for caution in find_requirement(name).cautions), name


def test_no_file_holds_a_web_address() -> None:
    """A document and its clause are the source, never a page's address (house rule)."""
    for file in resources.files("ballbench.specs.catalogue").iterdir():
        if file.name.endswith(".toml"):
            text = file.read_text(encoding="utf-8")
            assert not re.search(r"https?:|www\.|\.(com|org|net|html?)\b", text), file.name


def test_an_unknown_id_is_answered_with_the_nearest() -> None:
    """Shared words come first, then likeness; nothing near gives the way to the list."""
    with pytest.raises(BadRequest, match="try table-tennis-celluloid, table-tennis-law, table-tennis-plastic"):
        find_requirement("table tennis")
    with pytest.raises(BadRequest, match="try tennis-high-altitude, tennis-type-1"):
        find_requirement("Tennis")
    with pytest.raises(BadRequest, match="try pickleball"):
        find_requirement("pickelball")
    with pytest.raises(BadRequest, match="list the ids with: ballbench specs"):
        find_requirement("zzzz")


def test_a_path_is_read_and_an_id_goes_before_a_file_of_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file named golf in the folder does not hide the catalogue's golf, and ./golf finds it."""
    (tmp_path / "golf").write_text("id = 1")
    monkeypatch.chdir(tmp_path)
    assert find_requirement("golf").title == "Golf ball"
    with pytest.raises(BadRequirement):
        find_requirement("./golf")
