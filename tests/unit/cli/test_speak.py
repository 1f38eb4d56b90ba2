"""How the verbs speak: the bar of a long run, widths, colours."""

from __future__ import annotations

import io
import sys

import pytest

from ullage.cli import speak


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("columns", ["40", "100"])
def test_the_bar_tells_how_far_a_run_has_come(monkeypatch: pytest.MonkeyPatch, columns: str) -> None:
    """A bar that is cut off before its clock tells no one whether to wait."""
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with speak.progress("Marram: The same fill with a stuck sender", 24.0, compiles=False, quiet=False) as report:
        assert report is not None
        report(0.5)
    assert "12:00" in terminal.getvalue()


def test_no_bar_is_drawn_where_nobody_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bar in a log file is a thousand lines of noise; in JSON it is a broken document."""
    for terminal, quiet in ((io.StringIO(), False), (Terminal(), True)):
        monkeypatch.setattr(sys, "stderr", terminal)
        with speak.progress("a run", 1.0, compiles=quiet, quiet=quiet) as report:
            assert report is None
        assert terminal.getvalue() == ""


def test_a_compile_is_announced_where_lines_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half a minute of silence at the first run is taken for a hang."""
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    with speak.progress("a run", 1.0, compiles=True, quiet=False):
        pass
    assert "compiled for this machine" in sys.stderr.getvalue()  # type: ignore[attr-defined]


@pytest.mark.parametrize(("columns", "width"), [("20", 40), ("63", 63), ("300", 100)])
def test_the_width_stays_within_its_bounds(monkeypatch: pytest.MonkeyPatch, columns: str, width: int) -> None:
    """Lines of three hundred characters are not read, lines of ten are no lines."""
    monkeypatch.setenv("COLUMNS", columns)
    assert speak.width() == width


def test_colour_is_taken_away_by_wish(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Escape codes on a screen reader are read aloud."""
    monkeypatch.setenv("NO_COLOR", "1")
    speak.say(speak.ink("refused", "fault"))
    assert capsys.readouterr().out == "refused\n"
    with pytest.raises(KeyError):
        speak.ink("x", "no such ink")
