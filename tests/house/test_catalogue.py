"""The catalogue of findings: complete, used, explained, tested."""

from __future__ import annotations

import re

import pytest

from tests.house.sources import ROOT, package
from ullage.findings import catalogue

CODE = re.compile(r"\b[RNPSIMBL]\d{3}\b")


def used() -> set[str]:
    """Codes that the sources name in a string."""
    return {code for source in package() for code in re.findall(r"[\"']([RNPSIMBL]\d{3})[\"']", source.text)}


def named_by_tests() -> set[str]:
    """Codes that a test outside the house tests names."""
    texts = [path.read_text("utf8") for path in (ROOT / "tests").rglob("*.py") if path.parent.name != "house"]
    return {code for text in texts for code in CODE.findall(text)}


def test_every_code_in_use_is_in_the_catalogue() -> None:
    """A finding without an entry is an accusation without a remedy."""
    assert used()
    assert used() - set(catalogue()) == set()


def test_every_entry_is_in_use() -> None:
    """An entry that nothing reports promises a check that is not made."""
    assert set(catalogue()) - used() == set()


def test_every_entry_has_a_test() -> None:
    """A check that was never seen to find anything may find nothing."""
    assert set(catalogue()) - named_by_tests() == set()


@pytest.mark.parametrize("code", list(catalogue()))
def test_an_entry_says_what_why_and_what_to_do(code: str) -> None:
    """Half an entry leaves a person in front of a refused rig."""
    entry = catalogue()[code]
    assert entry.level in {"fault", "caution"}
    for text in (entry.why, entry.remedy):
        assert len(text) > 15
        assert text.rstrip()[-1] in ".?)`"
    assert entry.title[0].isupper()
    assert not entry.title.endswith(".")
    assert len(entry.title) <= 80
