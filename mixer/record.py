"""Values that cannot be changed: the standard library's frozen data classes, made in a fraction of the time.

A program that is started for every song makes its hundred kinds of value every time. `dataclasses.dataclass` writes and
compiles six functions for each kind: half of the time in which our own modules were loaded. Here only `__init__` is
written, when the first one is made; the rest is the same for all. To whoever reads, writes or checks types a record is
a data class: `field`, `fields` and `asdict` of the standard library work, since its own description is made when it is
asked for.
"""

from __future__ import annotations

import dataclasses
from dataclasses import MISSING, Field
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from typing_extensions import dataclass_transform
else:

    def dataclass_transform(**_: object) -> Callable[[T], T]:
        """Do nothing: only checkers of types read it, and Python 3.10 has none."""
        return lambda decorator: decorator


T = TypeVar("T")
Fields = dict[str, "Field[Any]"]


@dataclass_transform(frozen_default=True, field_specifiers=(dataclasses.field,))
def record(cls: type[T]) -> type[T]:
    """Make a class with annotated fields a record, as `dataclass(frozen=True)` would make it a data class.

    It knows no fields taken over from another record, no `ClassVar`, and of what `field` takes only `default`,
    `default_factory`, `compare` and `repr`.
    """
    given = {name: vars(cls)[name] for name in cls.__annotations__ if name in vars(cls)}
    fields = {name: _field(given.get(name, MISSING)) for name in cls.__annotations__}
    for name in given:
        if fields[name].default is MISSING:
            delattr(cls, name)
        else:
            setattr(cls, name, fields[name].default)
    compared = [name for name, field in fields.items() if field.compare]
    shown = [name for name, field in fields.items() if field.repr]
    methods: dict[str, object] = {
        "__init__": _first_init(cls, fields),
        "__match_args__": tuple(fields),
        "__dataclass_fields__": _Described(given),
        "__eq__": _equal(compared),
        "__hash__": _hashed(compared),
        "__repr__": _shown(shown),
        "__setattr__": _not_set,
        "__delattr__": _not_deleted,
    }
    own = dict(vars(cls))
    for name, method in methods.items():
        if own.get(name) is None:  # a class with its own __eq__ has None for __hash__
            setattr(cls, name, method)
    return cls


def replace(value: T, /, **changes: Any) -> T:  # noqa: ANN401 - any field may change
    """Give a record like another but for some fields; as `dataclasses.replace`, but nothing is described for it."""
    names: tuple[str, ...] = type(value).__match_args__  # type: ignore[attr-defined]  # any record has it
    return type(value)(**{name: getattr(value, name) for name in names} | changes)


def _field(given: Any) -> Field[Any]:  # noqa: ANN401 - any value can be a default
    return given if isinstance(given, Field) else dataclasses.field(default=given)


def _first_init(cls: type, fields: Mapping[str, Field[Any]]) -> Callable[..., None]:
    """Fill a record for the first time: only then the function that fills it is written. Many kinds are never made."""

    def __init__(self: object, *given: object, **named: object) -> None:  # noqa: N807 - becomes a method
        init = _init(cls, fields)
        if vars(cls).get("__init__") is __init__:
            cls.__init__ = init  # type: ignore[misc]  # it takes its own place
        init(self, *given, **named)

    return __init__


def _init(cls: type, fields: Mapping[str, Field[Any]]) -> Callable[..., None]:
    """Write the function that fills a new record."""
    names: dict[str, Any] = {"_set": object.__setattr__, "_none_given": object()}
    asked, lines = ["self"], []
    for name, field in fields.items():
        if field.default is not MISSING:
            names[f"_default_{name}"] = field.default
            asked.append(f"{name}=_default_{name}")
            lines.append(f" _set(self, {name!r}, {name})")
        elif field.default_factory is not MISSING:
            names[f"_make_{name}"] = field.default_factory
            asked.append(f"{name}=_none_given")
            lines.append(f" _set(self, {name!r}, _make_{name}() if {name} is _none_given else {name})")
        else:
            asked.append(name)
            lines.append(f" _set(self, {name!r}, {name})")
    lines.append(" self.__post_init__()" if hasattr(cls, "__post_init__") else " pass")
    text = "\n".join([f"def __init__({', '.join(asked)}):", *lines])
    exec(text, names)  # noqa: S102 - only the names of fields are in it
    init: Callable[..., None] = names["__init__"]
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    return init


class _Described:
    """The standard library's description of a record's fields, made when it is asked for."""

    def __init__(self, given: Mapping[str, object]) -> None:
        self._given = given

    def __get__(self, _: object, cls: type) -> Fields:
        inside = {"__annotations__": cls.__annotations__, "__module__": cls.__module__, **self._given}
        found: Fields = vars(dataclasses.dataclass(type(cls.__name__, (), inside)))["__dataclass_fields__"]
        setattr(cls, "__dataclass_fields__", found)  # noqa: B010 - in place of this
        return found


def _equal(compared: list[str]) -> Callable[[object, object], bool]:
    def __eq__(self: object, other: object) -> bool:  # noqa: N807 - becomes a method
        if type(other) is not type(self):
            return NotImplemented
        return [getattr(self, name) for name in compared] == [getattr(other, name) for name in compared]

    return __eq__


def _hashed(compared: list[str]) -> Callable[[object], int]:
    def __hash__(self: object) -> int:  # noqa: N807 - becomes a method
        return hash(tuple([getattr(self, name) for name in compared]))

    return __hash__


def _shown(shown: list[str]) -> Callable[[object], str]:
    def __repr__(self: object) -> str:  # noqa: N807 - becomes a method
        return f"{type(self).__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in shown)})"

    return __repr__


def _not_set(_self: object, name: str, _value: object) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _not_deleted(_self: object, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")
