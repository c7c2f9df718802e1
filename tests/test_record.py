"""Records behave as the standard library's frozen data classes, which are made of the same fields for comparison."""

from __future__ import annotations

import copy
import dataclasses
import importlib
import inspect
import pickle
import pkgutil
from dataclasses import field

import pytest

import mixer
from mixer.record import record, replace


@record
class Shell:
    name: str
    turns: int = 3
    lines: list[str] = field(default_factory=list)
    note: str = field(default="", compare=False, repr=False)

    @property
    def twice(self) -> int:
        return 2 * self.turns


@dataclasses.dataclass(frozen=True)
class Twin:
    name: str
    turns: int = 3
    lines: list[str] = field(default_factory=list)
    note: str = field(default="", compare=False, repr=False)


@record
class Nothing:
    pass


@record
class Weight:  # noqa: PLW1641 - records have one
    grams: int

    def __eq__(self, other):
        return isinstance(other, Weight)


def test_it_is_filled_as_its_twin():
    for given, named in (((), {"name": "a"}), (("a", 4), {}), (("a", 4, ["b"], "c"), {}), (("a",), {"note": "n"})):
        assert dataclasses.asdict(Shell(*given, **named)) == dataclasses.asdict(Twin(*given, **named))
    assert Shell("a").lines is not Shell("a").lines
    assert inspect.signature(Shell).parameters.keys() == inspect.signature(Twin).parameters.keys()
    for wrong in ((), (1, 2, 3, 4, 5)):
        with pytest.raises(TypeError):
            Shell(*wrong)


def test_it_is_shown_as_its_twin():
    assert repr(Shell("a", note="hidden")) == repr(Twin("a", note="hidden")).replace("Twin", "Shell")


def test_what_is_to_be_done_after_filling_is_done():
    @record
    class Grown:
        at: list[int]

        def __post_init__(self):
            self.at.append(1)

    assert Grown([]).at == [1]


def test_equal_is_what_is_compared():
    assert Shell("a", note="x") == Shell("a", note="y")
    assert Shell("a") != Shell("b")
    assert Shell("a") != Twin("a")
    assert Nothing() == Nothing()
    nan = float("nan")
    assert (Shell("a", nan) == Shell("a", nan)) is (Twin("a", nan) == Twin("a", nan)) is True


def test_it_is_a_key_where_its_values_are():
    assert len({Shell("a", lines=(), note=note) for note in "xy"}) == 1
    with pytest.raises(TypeError, match="unhashable"):
        hash(Shell("a"))
    assert Weight(1) == Weight(2)
    assert hash(Weight(1)) == hash(Weight(1)) != hash(Weight(2))


def test_it_cannot_be_changed():
    shell = Shell("a")
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot assign to field 'turns'"):
        shell.turns = 5
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot delete field 'turns'"):
        del shell.turns
    assert shell.turns == 3


def test_the_standard_library_takes_it_for_its_own():
    shell = Shell("a", lines=["b"])
    assert dataclasses.is_dataclass(shell)
    assert [one.name for one in dataclasses.fields(Shell)] == [one.name for one in dataclasses.fields(Twin)]
    assert replace(shell, turns=7) == Shell("a", 7, ["b"]) == dataclasses.replace(shell, turns=7)
    assert (copy.deepcopy(shell), pickle.loads(pickle.dumps(shell))) == (shell, shell)  # noqa: S301 - our own
    match shell:
        case Shell(name, turns):
            assert (name, turns) == ("a", 3)


def _records():
    for module in pkgutil.walk_packages(mixer.__path__, "mixer."):
        if module.name.endswith("__main__"):
            continue
        for one in vars(importlib.import_module(module.name)).values():
            if isinstance(one, type) and one.__module__ == module.name and hasattr(one, "__dataclass_fields__"):
                yield one


def test_every_record_of_the_program_keeps_to_what_records_know():
    found = list(_records())
    assert len(found) > 100
    for one in found:
        known = dataclasses.fields(one)
        assert [field.name for field in known] == list(one.__annotations__), one
        assert all(field.init and field.hash is None and not field.kw_only for field in known), one
        assert not any(hasattr(base, "__dataclass_fields__") for base in one.__mro__[1:]), one
