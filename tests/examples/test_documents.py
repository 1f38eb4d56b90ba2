"""Every example of the documents is run."""

from __future__ import annotations

import doctest
from contextlib import chdir
from pathlib import Path

import pytest
import yaml

from tests.examples.sessions import ROOT, Block, blocks, matches, prepare, run, steps, write

DOCUMENTS = sorted([ROOT / "README.md", *(ROOT / "docs").rglob("*.md")])
LIVE = [path for path in DOCUMENTS if any(block.language in {"console", "python"} for block in blocks(path))]


@pytest.mark.parametrize("path", LIVE, ids=lambda path: str(path.relative_to(ROOT)))
def test_what_a_document_shows_is_what_happens(path: Path, tmp_path: Path) -> None:
    """An example that no longer works is taken for a mistake of the reader's own."""
    prepare(tmp_path)
    for block in blocks(path):
        if block.language == "yaml" and block.name:
            write(block, tmp_path)
        elif block.language == "console":
            for command, promised in steps(block):
                printed = run(command, tmp_path)
                assert matches(promised, printed), f"{path.name}:{block.line}: $ {command}\n{printed}"
        elif block.language == "python":
            with chdir(tmp_path):
                play(block, path)


def play(block: Block, path: Path) -> None:
    """Run a session of the interpreter."""
    test = doctest.DocTestParser().get_doctest(block.text, {}, path.name, str(path), block.line)
    assert test.examples, f"{path.name}:{block.line}: no session"
    report: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
    runner.run(test, out=report.append)
    assert runner.summarize(verbose=False).failed == 0, "".join(report)


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_fragment_is_yaml(path: Path) -> None:
    """A fragment with a slip in it is copied with the slip."""
    for block in blocks(path):
        if block.language == "yaml":
            assert yaml.safe_load(block.text) is not None


@pytest.mark.parametrize(
    ("promised", "printed", "same"),
    [
        ("a\n", "a\n", True),
        ("a\n", "a\nb\n", False),
        ("a\n...\nc\n", "a\nb\nb\nc\n", True),
        ("a\n...\n", "a\n", True),
        ("took ... s\n", "took 0.31 s\n", True),
        ("took ... s\n", "took 0.31 h\n", False),
        ("", "", True),
        ("", "x\n", False),
        ("a", "", False),
    ],
)
def test_the_comparison_compares(promised: str, printed: str, same: bool) -> None:
    """If everything matched, every document would be right."""
    assert matches(promised, printed) is same
