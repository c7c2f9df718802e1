"""Reads the cases in `tests/cases`: recipes as people type them, and what must be told of them."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "cases"
KNOWN_LOOPS = (
    "tin-roof",
    "wet-cardboard",
    "slow-tide",
    "paper-lantern",
    "rice-jar",
    "gull-song",
    "quay-rain",
)


@dataclass
class Case:
    """One file of `tests/cases/mistakes`; see the README there."""

    name: str
    raw: bytes = b""
    told: set[tuple[int, str]] = field(default_factory=set)
    times: Counter[int] = field(default_factory=Counter)  # how many things are told of each line
    read_on: bool = True
    draft: bool | None = None
    meant: list[tuple[str, str]] = field(default_factory=list)
    words: str = ""


def read_case(path: Path) -> Case:
    text = path.read_bytes().decode("utf-8")
    fence = re.search(r"^(```+)yaml\n(.*?)^\1\n", text, re.DOTALL | re.MULTILINE)
    assert fence, path.name
    case = Case(path.stem)
    head, tail = text[: fence.start()], text[fence.end() :]
    tail, _, case.words = tail.partition("## Words\n")
    case.raw = _bytes(fence[2], re.search(r"^bytes: (.*)$", head, re.MULTILINE))
    for line in tail.splitlines():
        key, _, value = line.partition(": ")
        if key == "told" and value != "nothing":
            told = re.match(r"line (\d+): (advice|mistake):", value)
            assert told, (path.name, line)
            case.told.add((int(told[1]), told[2]))
            case.times[int(told[1])] += 1
        elif key == "read on":
            case.read_on = value == "yes"
        elif key == "draft":
            case.draft = value == "yes"
        elif key == "meant":
            where, _, what = value.partition(": ")
            case.meant.append((where, what))
    return case


def _bytes(text: str, how: re.Match[str] | None) -> bytes:
    said = how[1].strip() if how else ""
    if said.startswith("hex "):
        return bytes.fromhex(said[4:])
    if "CRLF" in said:
        text = text.replace("\n", "\r\n")
    elif re.search(r"\bCR\b", said):
        text = text.replace("\n", "\r")
    lowered = said.lower()
    if "bom" in lowered and "utf-16" not in lowered:
        return text.encode("utf-8-sig")
    for name in ("utf-16-le", "utf-16-be", "utf-16", "windows-1252", "cp1252", "latin-1"):
        if name in lowered or name.replace("-", "") in lowered.replace("-", ""):
            return text.encode(name)
    return text.encode("utf-8")
