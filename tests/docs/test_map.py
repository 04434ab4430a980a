from __future__ import annotations

import importlib
import re
import tomllib

import pytest
import typer
from doc_pages import ROOT, flat, page, section

import ballbench
from ballbench.cli.main import app
from ballbench.specs import catalogue_ids, find_requirement
from ballbench.workflows.demo import SCENARIO

README, HOUSE, CHANGES = page("README.md"), page("CONTRIBUTING.md"), page("CHANGELOG.md")
MAKEFILE = page("Makefile")
SOURCE = ROOT / "src" / "ballbench"


def test_the_readme_lists_the_commands_that_exist() -> None:
    """Its table of commands is the program's own list."""
    group = typer.main.get_command(app)
    table = section(README, "What it can do today")
    assert set(re.findall(r"^\| `ballbench (\w+)`", table, re.MULTILINE)) == {*group.commands}  # type: ignore[attr-defined]
    assert f"Version {ballbench.__version__}" in table


def test_the_two_commands_are_targets_of_the_makefile() -> None:
    """`make open` opens the bench, `make demo` runs the demo that the README shows, `make test` runs pytest."""
    for target, ends in (("open", "ballbench open"), ("demo", "ballbench demo"), ("test", "-m pytest")):
        assert f"make {target}" in section(README, "Two commands")
        recipe = re.search(rf"^{target}:.*\n((?:\t.*\n)+)", MAKEFILE, re.MULTILINE)
        assert recipe is not None
        assert ends in recipe[1].rstrip().splitlines()[-1]


def test_the_python_that_the_readme_asks_for_is_what_the_package_asks_for() -> None:
    """3.11 in both."""
    wanted = tomllib.loads(page("pyproject.toml"))["project"]["requires-python"]
    assert f"Python {wanted.removeprefix('>=')} or later" in flat(README)


def test_an_installed_package_has_the_data_of_the_demo() -> None:
    """As the README says of `pip install .`: the wheel holds the folder where the demo looks for it."""
    assert "with the demo's invented data" in flat(README)
    wheel = tomllib.loads(page("pyproject.toml"))["tool"]["hatch"]["build"]["targets"]["wheel"]
    (inside,) = [
        place for source, place in wheel["force-include"].items() if (ROOT / source / "readings.csv").is_file()
    ]
    assert inside == f"ballbench/examples/{SCENARIO}"


def test_the_import_in_the_readme_works() -> None:
    """The public names that it shows are there."""
    (line,) = re.findall(r"`from ballbench import ([\w, ]+)`", README)
    for name in line.split(", "):
        assert hasattr(importlib.import_module("ballbench"), name)


def test_the_number_of_requirements_is_right() -> None:
    """README and changelog count the catalogue, and its sports."""
    ids = catalogue_ids()
    sports = {find_requirement(identity).sport for identity in ids} - {"rolling bearings"}
    assert f"requirements: {len(ids)} of them" in flat(README)
    assert f"a catalogue of {len(ids)} requirements for balls of {len(sports)} sports and for bearing balls" in flat(
        CHANGES
    )


def test_the_changelog_has_the_version() -> None:
    """Its newest entry is the version of the package, with a date."""
    newest = re.search(r"^## (\S+), (?:unreleased, )?(\d{4}-\d{2}-\d{2})$", CHANGES, re.MULTILINE)
    assert newest is not None
    assert newest[1] == ballbench.__version__


def test_the_cautions_of_the_readme_are_complete() -> None:
    """Each danger of the trade is named."""
    text = section(README, "Cautions")
    for word in (
        "Celluloid",
        "UN 2000",
        "Squash",
        "Pressurised",
        "eye protection",
        "fingers",
        "not an approval",
        "legal",
    ):
        assert word in text


def test_every_package_of_the_house_has_its_paragraph() -> None:
    """The table of the house names the packages that exist, and the files that it names are in them."""
    rows = dict(re.findall(r"^\| \d \| `(\w+)` \| (.*) \|$", section(HOUSE, "The house"), re.MULTILINE))
    packages = {path.name for path in SOURCE.iterdir() if (path / "__init__.py").is_file()} | {"errors"}
    assert set(rows) == packages
    for package, text in rows.items():
        for file in re.findall(r"`([a-z_]+\.py)`", text):
            assert (SOURCE / package / file).is_file(), f"{package} has no {file}"
        for folder in re.findall(r"`([a-z_]+)/`", text):
            assert (SOURCE / package / folder).is_dir()


def test_the_order_of_the_house_is_the_one_that_is_checked() -> None:
    """Layers in the table run as in the import contract."""
    contract = tomllib.loads(page("pyproject.toml"))["tool"]["importlinter"]["contracts"][0]["layers"]
    wanted = [name for layer in contract for name in layer.split(" | ")]
    assert re.findall(r"^\| \d \| `(\w+)` \|", section(HOUSE, "The house"), re.MULTILINE) == wanted


@pytest.mark.parametrize("target", re.findall(r"`make (\w+)`", HOUSE))
def test_commands_for_contributors_exist(target: str) -> None:
    """Each make target that the page names is in the Makefile."""
    assert re.search(rf"^{target}:", MAKEFILE, re.MULTILINE)


@pytest.mark.parametrize("path", sorted(set(re.findall(r"`([\w.]+/[\w./]*)`", HOUSE))))
def test_paths_for_contributors_exist(path: str) -> None:
    """Each path that the page names is in the checkout, seen from its root, the package or a layer."""
    homes = [ROOT, SOURCE, *(SOURCE / layer for layer in ("presentation", "records", "specs", "store", "web"))]
    assert any((home / path).exists() for home in homes)
