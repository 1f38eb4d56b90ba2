"""The page of an account."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from ullage.report.account import CAUTION, Account, Expectation, Outcome
from ullage.report.page import STORY_LIMIT, numbered, page
from ullage.report.words import ALARM, FINE, MAIN, Sentence

SVG = (
    '<?xml version="1.0"?><svg id="figure_1"><defs><clipPath id="p1"/></defs>'
    '<g clip-path="url(#p1)" style="fill:#a3232a"/></svg>'
)


def account(**other: object) -> Account:
    fields = {
        "rig": "Marram <b>",
        "scenario": "A & B",
        "about": "",
        "facts": (("seed", "7"),),
        "outcomes": (Outcome("left by the overflow of belly", "840 mL", True), Outcome("shore water", "101 L")),
        "expectations": (
            Expectation("belly never over its overflow", False, "at 0:07:20"),
            Expectation("fill ends", True),
        ),
        "story": (
            Sentence(1000, "fine print only", FINE),
            Sentence(5000, "a turn", MAIN),
            Sentence(9000, "a harm", ALARM),
        ),
        "strips": (),
    }
    return Account(**{**fields, **other})  # type: ignore[arg-type]


class Tags(HTMLParser):
    VOID = ("meta", "br")

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.names: set[str] = set()
        self.ids: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.ids += [value or "" for name, value in attrs if name == "id"]
        self.links += [value or "" for name, value in attrs if name in ("src", "href", "srcset", "action")]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def tags(text: str) -> Tags:
    parser = Tags()
    parser.feed(text)
    assert parser.open == []
    return parser


def test_the_page_needs_nothing_but_itself() -> None:
    """A page kept on a telephone without a network must still be whole, and must tell nobody that it is read."""
    parser = tags(page(account(), [SVG, SVG]))
    assert "script" not in parser.names
    assert not [link for link in parser.links if not link.startswith("#")]
    assert not re.search(r"@import|url\((?!#)", page(account(), [SVG]))


def test_two_charts_on_one_page_do_not_share_identifiers() -> None:
    """Shared identifiers make one chart cut off the other's lines."""
    ids = tags(page(account(), [SVG, SVG])).ids
    assert len(ids) == len(set(ids)) == 4
    assert "url(#chart0-p1)" in page(account(), [SVG])


def test_what_a_person_wrote_is_shown_and_not_obeyed() -> None:
    """A rig file from a stranger must not run anything in the browser of the one who simulates it."""
    text = page(account(rig="<img src=x onerror=alert(1)>"), [])
    assert "<img" not in text
    assert "&lt;img" in text
    assert "A &amp; B" in text


def test_a_broken_expectation_is_told_in_words_beside_its_colour() -> None:
    """A red line in a black and white print says nothing."""
    text = page(account(), [])
    assert "1 of 2 expectations broken" in text
    assert "broken</td>" in text
    assert "kept</td>" in text
    assert "at 0:07:20" in text


def test_the_story_shows_turns_first_and_everything_in_the_small_print() -> None:
    """What went wrong must not hide between hundreds of valve movements, and none of those may be lost."""
    text = page(account(), [])
    before, _, after = text.partition("<details>")
    assert "fine print only" not in before
    assert "fine print only" in after
    assert before.index("a turn") < before.index("a harm")
    assert [number for number, _ in numbered(account().story)] == [1, 2]
    many = tuple(Sentence(i, f"turn {i}", MAIN) for i in range(STORY_LIMIT + 5))
    assert "5 more such happenings" in page(account(story=many), [])


def test_the_usual_caution_stands_on_every_page() -> None:
    """Somebody will drink from the tank because the simulation was fine."""
    assert CAUTION[:60] in page(account(), [])


def test_colours_follow_the_wish_of_the_reader() -> None:
    """A white page in a dark cab blinds the driver."""
    text = page(account(), [SVG])
    assert "prefers-color-scheme:dark" in text
    assert "fill:var(--limit)" in text
