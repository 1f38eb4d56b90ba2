"""The page of an account."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from tests.unit.report.made import account
from ullage.report.account import CAUTION
from ullage.report.charts import _LOOKS
from ullage.report.page import STORY_LIMIT, numbered, page
from ullage.report.words import MAIN, Sentence

SVG = (
    '<?xml version="1.0"?><svg id="figure_1"><defs><clipPath id="p1"/></defs>'
    '<g clip-path="url(#p1)" style="fill:#a3232a"/></svg>'
)


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
    assert len(ids) == len(set(ids))
    assert len([name for name in ids if name.startswith("chart")]) == 4
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
    assert "(at most 141.2\u00a0L)" in text


def test_the_story_shows_turns_first_and_everything_in_the_small_print() -> None:
    """What went wrong must not hide between hundreds of valve movements, and none of those may be lost."""
    text = page(account(), [])
    before, _, after = text.partition("<details>")
    assert "fine print only" not in before
    assert "fine print only" in after
    assert before.index(">a turn<") < before.index("</b> a harm<")
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


def test_harms_are_told_before_anything_else() -> None:
    """Whoever reads one line on a telephone reads the first, and it must be the litres on the floor."""
    text = page(account(), [])
    assert text.index("Harm: left by overflows, outdoors (0.84") < text.index("What was expected")
    told = page(account(about="Half way through the fill."), [])
    assert told.index("Harm: ") < told.index("Half way")  # a screen of 320 x 240 shows four lines
    assert text.index("<h3>Harm</h3>") < text.index("<h3>Water</h3>") < text.index("<h3>Tanks [L]</h3>")
    calm = page(account(outcomes=()), [])
    assert "No harm: no water indoors, no overflow, no pump ran dry." in calm


def test_a_number_is_never_parted_from_its_unit() -> None:
    """'at most 141' at the end of one line and 'L' on the next is read as two things on a small screen."""
    text = page(account(story=(Sentence(0, "belly holds 1.84 L after 4 min 20 s", MAIN),)), [])
    assert "1.84\u00a0L after 4\u00a0min 20\u00a0s" in text


def test_a_page_in_us_units_shows_no_metric_figure() -> None:
    """Two systems on one page are added up by somebody."""
    text = page(account(system="us"), [])
    words = re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)
    assert not re.search(r"\d\s?(L|mL|bar|mm)\b", words.replace("\u00a0", " "))
    assert "<h3>Tanks [gal]</h3>" in text
    assert "29.1\u00a0gal" in text  # 110.1 L / 3.785411784 L (exact by definition of the US gallon)
    assert "(at most 37.3\u00a0gal)" in text  # 141.2 L


def test_the_legend_names_every_look_of_the_charts() -> None:
    """Red, pale and dotted without a word are guessed at, and the guess is believed."""
    text = page(account(), [])
    lines = ("line water", "line reading", "line limit", "line wish", "line sign")
    for look in (*_LOOKS, *lines):
        assert re.search(rf'<i class="{look}"></i>\w', text), look
    # The numbers of the row "happenings" lead to the list that they are those of.
    assert 'href="#happened"' in text
    assert '<h2 id="happened">What happened</h2>' in text
