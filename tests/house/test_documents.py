"""The documents: made from their sources, with no dead end."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
import typer

from docs import make_reference
from tests.house.sources import ROOT, tracked
from ullage.cli.app import app

DOCUMENTS = [path for path in tracked() if path.suffix == ".md"]


@pytest.mark.parametrize("name", list(make_reference.MADE))
def test_made_documents_are_up_to_date(name: str) -> None:
    """A reference that lags behind the code teaches what is refused. Remedy: python -m docs.make_reference"""
    assert (ROOT / "docs" / name).read_text("utf8") == make_reference.MADE[name]()


def test_no_field_is_explained_that_does_not_exist() -> None:
    """Words about a field that went make people look for their own mistake."""
    fields = {part.__name__: {f.alias or n for n, f in part.model_fields.items()} for part in make_reference.parts()}
    said = tomllib.loads((ROOT / "docs/fields.toml").read_text("utf8"))
    common = said.pop("*")
    assert not [name for name in said if name not in fields]
    assert not [f"{part}.{name}" for part, of in said.items() for name in of if name not in fields[part]]
    assert set(common) <= set().union(*fields.values())


def anchors(text: str) -> set[str]:
    """The anchors of the headings of a document."""
    heads = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("path", DOCUMENTS, ids=str)
def test_every_link_leads_somewhere(path: Path) -> None:
    """A dead link is the moment a reader gives up."""
    text = re.sub(r"```.*?```", "", (ROOT / path).read_text("utf8"), flags=re.DOTALL)
    for target in re.findall(r"\]\(([^)#\s]*(?:#[^)\s]*)?)\)", text):
        file, _, anchor = target.partition("#")
        goal = (ROOT / path).parent / file if file else ROOT / path
        assert goal.exists(), f"{path}: {target}"
        if anchor and goal.suffix == ".md":
            assert anchor in anchors(goal.read_text("utf8")), f"{path}: {target}"


def test_every_document_can_be_reached() -> None:
    """A document that nothing leads to is not read."""
    texts = "".join((ROOT / path).read_text("utf8") for path in DOCUMENTS)
    linked = set(re.findall(r"([\w.-]+\.md)", texts))
    assert not [
        str(path) for path in DOCUMENTS if path.name not in linked | {"README.md"} and ".head." not in path.name
    ]


def test_the_documents_name_only_verbs_that_exist() -> None:
    """A command that is not there is the first thing a newcomer would type."""
    listing = (ROOT / "run").read_text("utf8")
    verbs = set(re.findall(r"^def (\w+)\(rest\):", listing, re.MULTILINE))
    assert {"demo", "test", "night", "check", "bench", "shell"} <= verbs
    for path in DOCUMENTS:
        text = (ROOT / path).read_text("utf8")
        assert set(re.findall(r"\./run (\w+)", text)) <= verbs | {"with"}, path


def test_the_commands_have_the_options_that_are_described() -> None:
    """An option that is not described is not found; one that is only described is believed."""
    verbs = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    text = (ROOT / "docs/commands.md").read_text("utf8")
    described = {
        verb: set(re.findall(r"--[a-z]+", usage))
        for verb, usage in re.findall(r"^`ullage (\w+)([^`]*)`$", text, re.MULTILINE)
    }
    assert set(described) == set(verbs)
    for verb, command in verbs.items():
        options = {name for parameter in command.params for name in parameter.opts if name.startswith("--")}
        assert described[verb] == options - {"--help"}, verb
