"""Docstrings, annotations and the one word per thing."""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator

from tests.house.sources import PACKAGE, ROOT, Function, Source, functions, package, tracked


def public(source: Source) -> Iterator[tuple[str, ast.ClassDef | Function]]:
    """Public classes, functions and methods of a file with their dotted names."""

    def walk(body: list[ast.stmt], prefix: str) -> Iterator[tuple[str, ast.ClassDef | Function]]:
        for node in body:
            if isinstance(node, ast.ClassDef | Function) and not node.name.startswith("_"):
                yield prefix + node.name, node
                if isinstance(node, ast.ClassDef):
                    yield from walk(node.body, f"{prefix}{node.name}.")

    return walk(source.tree.body, "")


def overloaded(node: ast.ClassDef | Function) -> bool:
    """Whether it only repeats a signature for the type checker."""
    return any(getattr(decorator, "id", "") == "overload" for decorator in node.decorator_list)


def test_every_module_says_what_it_is_for() -> None:
    """Without it the next person puts things where they do not belong."""
    assert not [str(source.path) for source in package() if not ast.get_docstring(source.tree)]


def test_every_public_thing_has_a_docstring() -> None:
    """A function whose units are not written is called with litres where it meant cubic metres."""
    missing = [
        f"{source.at(node)} {name}"
        for source in package()
        for name, node in public(source)
        if not overloaded(node) and not ast.get_docstring(node)
    ]
    assert not missing


def test_everything_is_annotated() -> None:
    """An argument without a type is the one that gets a string from the rig file."""
    bare = []
    for source in package():
        for name, function in functions(source.tree):
            arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
            arguments += [a for a in (function.args.vararg, function.args.kwarg) if a is not None]
            missing = [a.arg for a in arguments if a.annotation is None and a.arg not in {"self", "cls"}]
            if missing or function.returns is None:
                bare.append(f"{source.at(function)} {name} {missing}")
    assert not bare


def test_the_glossary_is_in_order_and_each_word_stands_once() -> None:
    """Two entries for one word are two meanings of it."""
    words = re.findall(r"^\*\*(.+?)\*\*", (ROOT / "docs/glossary.md").read_text("utf8"), re.MULTILINE)
    assert len(words) > 40
    assert words == sorted(set(words), key=str.lower)


def avoided() -> dict[str, str]:
    """Words that the glossary rules out, with the word to use."""
    text = (ROOT / "docs/glossary.md").read_text("utf8")
    return dict(re.findall(r"^\| (\w+) +\| (.+?) +\|$", text.split("| --- | --- |")[1], re.MULTILINE))


def names_in(source: Source) -> Iterator[tuple[ast.AST, str]]:
    """All names that a file gives: functions, classes, arguments, variables, attributes."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.ClassDef | Function):
            yield node, node.name
        elif isinstance(node, ast.arg):
            yield node, node.arg
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node, node.id


def test_the_code_obeys_the_glossary() -> None:
    """Where one thing has two words, somebody wires the one and tests the other."""
    ruled_out = avoided()
    assert len(ruled_out) >= 10
    faults = [
        f"{source.at(node)} {name}: say {ruled_out[word]}"
        for source in package()
        for node, name in names_in(source)
        for word in re.findall(r"[a-z]+", re.sub(r"([A-Z])", r"_\1", name).lower())
        if word in ruled_out and name != "model_config"  # pydantic names that one
    ]
    assert not faults


NAMED = re.compile(r"`(ullage(?:\.\w+)+)`")


def stands_for_something(dotted: str) -> bool:
    """Whether a dotted name leads to a module, or to what a module or one of its classes holds."""
    thing: object = importlib.import_module("ullage")
    trail = "ullage"
    for part in dotted.split(".")[1:]:
        trail += f".{part}"
        if (PACKAGE.parent / trail.replace(".", "/")).is_dir() or is_module(trail):
            thing = importlib.import_module(trail)
        elif part in getattr(thing, "__annotations__", {}):
            return True  # a field of a class, of which there need be no value
        elif hasattr(thing, part):
            thing = getattr(thing, part)
        else:
            return False
    return True


def is_module(dotted: str) -> bool:
    """Whether a dotted name is that of a file."""
    return (PACKAGE.parent / dotted.replace(".", "/")).with_suffix(".py").is_file()


def test_names_in_backticks_exist() -> None:
    """A reference to a module that was renamed sends the reader to search for what is not there."""
    texts = {path: (ROOT / path).read_text("utf8") for path in tracked() if path.suffix in (".py", ".md", ".toml")}
    named = [(path, name) for path, text in texts.items() for name in NAMED.findall(text)]
    assert len(named) > 20
    assert not [f"{path}: {name}" for path, name in named if not stands_for_something(name)]


def test_the_look_out_for_names_sees() -> None:
    """It has to be able to fail: at a module, at a function, at a field."""
    assert stands_for_something("ullage.rig.view.View.law")
    assert not any(
        map(stands_for_something, ("ullage.plant.rig_tables", "ullage.rig.view.sight_of", "ullage.rig.view.View.x"))
    )
