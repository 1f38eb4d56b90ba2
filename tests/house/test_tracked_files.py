"""What must not get into the repository."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.house.sources import ROOT, tracked

URL = re.compile(r"https?://[\w.-]+|git\+\w+:|file:///")
REGISTRY = re.compile(
    r"pypi\.(org|python)|pythonhosted|npmjs|registry\.|deb\.debian|proxy\.golang|index-url|find-links", re.IGNORECASE
)
MACHINE = re.compile(r"/(home|Users|root|work|opt|tmp/scratch)/\w")
FILE_LIMIT = 2_000_000
"""Bytes; what is larger was built or borrowed."""


def texts() -> list[tuple[Path, str]]:
    """All tracked text files but this one, which has to name what it looks for."""
    found = []
    for path in tracked():
        raw = (ROOT / path).read_bytes()
        if b"\0" not in raw[:8000] and path.name != Path(__file__).name:
            found.append((path, raw.decode("utf8")))
    return found


def lines_with(pattern: re.Pattern[str], only: str = "") -> list[str]:
    """Tracked lines that match."""
    return [
        f"{path}:{number}: {line.strip()[:80]}"
        for path, text in texts()
        if str(path).startswith(only)
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]


def test_no_registry_is_named() -> None:
    """A lock that names a host sends everybody who installs to that host."""
    assert not lines_with(REGISTRY)


def test_locks_hold_names_and_hashes_only() -> None:
    """An address in a lock would be fetched without anybody having chosen it."""
    assert not lines_with(URL, "requirements/")
    assert not lines_with(re.compile(r"^\s*(-|[^#\s]+ @ )(?!-hash)"), "requirements/")


def test_no_machine_is_named() -> None:
    """A path of one machine is a file that all others do not have."""
    assert not lines_with(MACHINE)


@pytest.mark.parametrize("group", ["run", "work"])
def test_every_locked_package_has_a_hash(group: str) -> None:
    """A package without a hash may be another one tomorrow."""
    text = (ROOT / f"requirements/{group}.txt").read_text("utf8").replace("\\\n", " ")
    packages = [line for line in text.splitlines() if "==" in line]
    assert len(packages) > 20
    assert not [line for line in packages if "--hash=sha256:" not in line]


def test_the_locks_hold_every_dependency() -> None:
    """A dependency that is not locked makes the demo fail on every machine but ours."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf8"))
    groups = project["dependency-groups"]
    wanted = {"run": project["project"]["dependencies"] + groups["run"]}
    wanted["work"] = wanted["run"] + [entry for entry in groups["work"] if isinstance(entry, str)]
    for group, entries in wanted.items():
        text = (ROOT / f"requirements/{group}.txt").read_text("utf8").lower()
        locked = {name.replace("_", "-").replace(".", "-") for name in re.findall(r"^([\w.-]+)==", text, re.MULTILINE)}
        names = {re.split(r"[<>=~!\[; ]", entry)[0].lower().replace("_", "-").replace(".", "-") for entry in entries}
        assert names <= locked


def test_nothing_built_is_tracked() -> None:
    """A built file in git is the one nobody builds anew."""
    built = re.compile(r"(^|/)(\.venv|node_modules|dist|__pycache__|out)/|uv\.lock$|\.(pyc|so|whl)$")
    assert not [str(path) for path in tracked() if built.search(str(path))]
    assert not [str(path) for path in tracked() if (ROOT / path).stat().st_size > FILE_LIMIT]
