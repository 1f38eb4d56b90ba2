"""Running a function once for every answer that it may get."""

from __future__ import annotations

from ullage.prove.answers import all_paths


def test_each_path_is_run_once_and_tells_what_it_read() -> None:
    """A path left out is a behaviour of the law that no proof has seen; one run twice doubles the work."""

    def run(asked: list[int], other: list[int]) -> str:
        if asked[0] == 0:
            return "stays"
        if other[3] == 2:
            return "goes" if asked[1] else "waits"
        return "turns"

    options = {"asked": {0: (0, 1), 1: (0, 1)}, "other": {3: (1, 2)}}
    found = sorted(all_paths({"asked": 4, "other": 4}, options, run))
    assert found == [
        ([("asked", 0, 0)], "stays"),
        ([("asked", 0, 1), ("other", 3, 1)], "turns"),
        ([("asked", 0, 1), ("other", 3, 2), ("asked", 1, 0)], "waits"),
        ([("asked", 0, 1), ("other", 3, 2), ("asked", 1, 1)], "goes"),
    ]


def test_an_entry_that_is_read_again_answers_the_same() -> None:
    """A guard that is true and false in one scan would let a chart be in two places."""

    def run(asked: list[int]) -> bool:
        return asked[0] == asked[0]

    assert [same for _, same in all_paths({"asked": 1}, {"asked": {0: (0, 1, 2)}}, run)] == [True, True, True]


def test_what_is_not_open_can_be_written_and_read() -> None:
    """The law writes into its scratch; what it wrote must be what it reads."""

    def run(asked: list[int]) -> int:
        asked[2] = 7
        return asked[2] + sum(asked[2:3])

    assert [value for _, value in all_paths({"asked": 3}, {"asked": {}}, run)] == [14]
